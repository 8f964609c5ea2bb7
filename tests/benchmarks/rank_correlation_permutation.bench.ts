/** 10,000 permutations of 72 rank correlations, step-down max statistic per attribute. */
import { rankCorrelationGrid } from "../../lib/statistics/rank_correlation_grid.ts";
import { rMatrix } from "../statistics/in_r.ts";
import { compareWithR, firstAndWarm } from "./against_r.ts";
import { inventedColumns } from "./invented_shoes.ts";

const metrics = inventedColumns(1, 12, 60, 20);
const attributes = inventedColumns(2, 6, 60, 4);
const work = () =>
  rankCorrelationGrid(metrics, attributes, { interval: "none", permutations: 10000, seed: 1 });

const { first, warm } = firstAndWarm(work);
console.log(
  `Step-down p of 72 rank correlations: first call ${first.toFixed(1)} ms, warm ${
    warm.toFixed(1)
  } ms`,
);
compareWithR(
  "Step-down p of 72 rank correlations",
  `set.seed(1); X <- scale(apply(t(${rMatrix(metrics)}), 2, rank)) / sqrt(59)
   Y <- scale(apply(t(${rMatrix(attributes)}), 2, rank)) / sqrt(59)
   s <- system.time({
     P <- replicate(10000, sample(60))
     p <- sapply(1:6, function(a) {
       obs <- abs(drop(crossprod(X, Y[, a]))); o <- order(obs)
       S <- abs(crossprod(X, matrix(Y[P, a], 60)))[o, ]
       for (k in 2:12) S[k, ] <- pmax(S[k - 1, ], S[k, ])
       q <- (rowSums(S >= obs[o] - 1e-12) + 1) / 10001
       q[o] <- rev(cummax(rev(q))); q }) })[["elapsed"]]
   out(s); out(p)`,
  {
    ours: warm,
    numbers: attributes.flatMap((_, t) => work().cells.map((row) => row[t].p_familywise)),
  },
);

Deno.bench("step-down p: 60 shoes × 12 metrics × 6 attributes, 10,000 permutations", () => {
  work();
});
