/** Shares over all orderings of 12 predictors, 60 shoes, 100 bootstraps. */
import { relativeImportance } from "../../lib/statistics/relative_importance.ts";
import { rMatrix, rVector } from "../statistics/in_r.ts";
import { compareWithR, firstAndWarm } from "./against_r.ts";
import { inventedPredictors } from "./invented_shoes.ts";

const { X, y } = inventedPredictors(3, 60, 12);
const work = () => relativeImportance(X, y, { resamples: 100, seed: 1 });

const { first, warm } = firstAndWarm(work);
console.log(
  `Shares of 12 predictors: first call ${first.toFixed(1)} ms, warm ${warm.toFixed(1)} ms`,
);
compareWithR(
  "Shares of 12 predictors",
  `X <- ${rMatrix(X)}; y <- ${rVector(y)}
   s <- system.time({
     S <- cov(cbind(X, y)); bits <- 2^(0:11); r2 <- numeric(4096)
     for (m in 1:4095) { a <- which(bitwAnd(m, bits) > 0); r2[m + 1] <- sum(S[a, 13] * solve(S[a, a, drop = FALSE], S[a, 13])) / S[13, 13] }
     size <- vapply(0:4095, function(m) sum(bitwAnd(m, bits) > 0), 0)
     w <- factorial(size) * factorial(pmax(11 - size, 0)) / factorial(12)
     shares <- vapply(1:12, function(j) { m <- which(bitwAnd(0:4095, bits[j]) == 0); sum(w[m] * (r2[m + bits[j]] - r2[m])) }, 0)
   })[["elapsed"]]
   out(s); out(shares)`,
  { share: 1 / 101, ours: warm, numbers: work().shares! },
);

Deno.bench("shares over all orderings: 12 predictors, 60 shoes, 100 bootstraps", () => {
  work();
});
