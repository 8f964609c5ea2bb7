/** BCa intervals of Spearman's rho: 60 shoes × 12 metrics × 6 attributes with ties, 10,000 resamples. */
import { rankCorrelationGrid } from "../../lib/statistics/rank_correlation_grid.ts";
import { rMatrix } from "../statistics/in_r.ts";
import { compareWithR, firstAndWarm } from "./against_r.ts";
import { inventedColumns } from "./invented_shoes.ts";

const metrics = inventedColumns(1, 12, 60, 20);
const attributes = inventedColumns(2, 6, 60, 4);
const work = () =>
  rankCorrelationGrid(metrics, attributes, { resamples: 10000, permutations: 0, seed: 1 });

const { first, warm } = firstAndWarm(work);
console.log(
  `BCa of 72 rank correlations: first call ${first.toFixed(1)} ms, warm ${warm.toFixed(1)} ms`,
);
const [[{ lower, upper }]] = work().cells;
compareWithR(
  "BCa of 72 rank correlations",
  `suppressPackageStartupMessages(library(boot)); set.seed(1)
   d <- t(${rMatrix([metrics[0], attributes[0]])})
   s <- system.time({ b <- boot(d, function(d, i) cor(rank(d[i, 1]), rank(d[i, 2])), R = 10000)
     ci <- boot.ci(b, type = "bca", L = empinf(b, type = "jack"))$bca[4:5] })[["elapsed"]]
   out(s); out(ci)`,
  { share: 1 / 72, ours: warm, numbers: [lower, upper] },
);

Deno.bench("BCa of rho: 60 shoes × 12 metrics × 6 attributes, 10,000 resamples", () => {
  work();
});
