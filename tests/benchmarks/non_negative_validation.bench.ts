/**
 * Non-negative least squares with 12 metrics and 60 shoes: leave-one-shoe-out and 2,000 bootstrap
 * refits, then the same with the leave-one-out nested in each refit.
 */
import { nonNegativeCrossValidation } from "../../lib/statistics/non_negative_cross_validation.ts";
import { rMatrix, rVector } from "../statistics/in_r.ts";
import { compareWithR, firstAndWarm } from "./against_r.ts";
import { inventedPredictors } from "./invented_shoes.ts";

const { X, y } = inventedPredictors(3, 60, 12);
const plain = () => nonNegativeCrossValidation(X, y, { resamples: 2000, nested: false, seed: 1 });
const nested = () => nonNegativeCrossValidation(X, y, { resamples: 2000, nested: true, seed: 1 });

const once = firstAndWarm(plain);
console.log(
  `Non-negative refits: first call ${once.first.toFixed(1)} ms, warm ${once.warm.toFixed(1)} ms`,
);
const within = firstAndWarm(nested);
console.log(
  `with validation nested: after that ${within.first.toFixed(1)} ms, warm ${
    within.warm.toFixed(1)
  } ms`,
);
compareWithR(
  "Non-negative refits",
  `suppressPackageStartupMessages(library(nnls)); X <- ${rMatrix(X)}; y <- ${
    rVector(y)
  }; set.seed(1)
   s <- system.time({
     p <- vapply(1:60, function(i) sum(X[i, ] * nnls(X[-i, ], y[-i])$x), 0)
     B <- replicate(2000, { i <- sample(60, replace = TRUE); nnls(X[i, ], y[i])$x })
   })[["elapsed"]]
   out(s); out(p)`,
  { ours: once.warm, numbers: plain().predicted },
);

Deno.bench("non-negative weights: leave-one-out, 2,000 refits, 12 metrics × 60 shoes", () => {
  plain();
});
Deno.bench("non-negative weights: the same with leave-one-out nested in each refit", () => {
  nested();
});
