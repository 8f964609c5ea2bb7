import type { Bench } from "../records/types.ts";
import type { BenchCoverage } from "./bench_coverage.ts";
import type { CourtPrediction } from "./court_prediction.ts";
import type { IndexScores } from "./index_scores.ts";
import { type Provenance, provenance } from "./provenance.ts";
import type { ReviewSummary } from "./review_summary.ts";
import type { TrialReliability } from "./trial_reliability.ts";

/** The whole of a quarterly review, as its JSON file holds it. */
export type ReviewResult = Provenance & {
  readonly quarter: string;
  readonly summary: Omit<ReviewSummary, "markdown">;
  readonly coverage: BenchCoverage;
  readonly reliability: TrialReliability["metrics"];
  readonly prediction: CourtPrediction["pairs"];
  readonly index: IndexScores["shoes"];
};

/**
 * How does a review become one file?
 *
 * @returns plain data, ready for `writeResult`; the same bench and seed give the same bytes
 */
export function reviewResult(
  bench: Bench,
  { seed, coverage, reliability, prediction, scores, summary }: {
    readonly seed: number;
    readonly coverage: BenchCoverage;
    readonly reliability: TrialReliability;
    readonly prediction: CourtPrediction;
    readonly scores: IndexScores;
    readonly summary: ReviewSummary;
  },
): ReviewResult {
  return {
    ...provenance(bench, {
      kind: "review",
      seed,
      warnings: [
        ...reliability.warnings,
        ...prediction.warnings,
        ...scores.warnings,
      ],
    }),
    quarter: coverage.quarter,
    summary: { know: summary.know, act: summary.act },
    coverage,
    reliability: reliability.metrics,
    prediction: prediction.pairs,
    index: scores.shoes,
  };
}
