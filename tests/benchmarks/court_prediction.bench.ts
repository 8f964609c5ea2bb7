import { loadBench } from "../../lib/records/load_bench.ts";
import { courtPrediction } from "../../lib/studies/prediction/court_prediction.ts";
import { predictionAudit } from "../../lib/studies/audit/prediction_audit.ts";

const bench = await loadBench(new URL("../../data-demo", import.meta.url).pathname);

Deno.bench("court prediction: 13 × 6 pairs, 10,000 resamples and permutations, no models", () => {
  courtPrediction(bench, { models: false });
});

Deno.bench("court prediction: with models, shares and the ordinal check", () => {
  courtPrediction(bench);
});

Deno.bench("court prediction: audit of 200 + 3 × 60 simulated attributes", () => {
  predictionAudit(bench);
});
