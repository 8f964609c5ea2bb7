import * as option from "../../options.ts";
import type { BenchCoverage } from "../../studies/coverage/bench_coverage.ts";
import type { CourtPrediction } from "../../studies/prediction/types.ts";
import type { IndexScores } from "../../studies/index/index_scores.ts";
import { counted } from "../phrases.ts";

/**
 * Why do parts of a review count different numbers of shoes and metrics? Said once, with what makes the
 * difference; one sentence each, for shoes and for metrics.
 */
export function countsSentence(
  { coverage, prediction, scores }: {
    readonly coverage: Pick<BenchCoverage, "shoes" | "metrics">;
    readonly prediction: Pick<CourtPrediction, "pairs" | "kin">;
    readonly scores: Pick<IndexScores, "shoes">;
  },
): string {
  option.check("words.review.counts", arguments[0], {
    coverage: option.needed(option.thing),
    prediction: option.needed(option.thing),
    scores: option.needed(option.thing),
  });
  const references = scores.shoes.filter(({ reference }) => reference).length;
  const products = scores.shoes.filter(({ reference }) => !reference);
  const unscored = products.filter(({ score }) => score === null).length;
  const rated = prediction.kin.shoes;
  const metrics = new Set(prediction.pairs.map(({ metric }) => metric)).size;
  const computed = new Set(
    prediction.pairs.filter(({ derived_from }) => derived_from !== null).map(({ metric }) =>
      metric
    ),
  ).size;
  const shoes = [
    ...(references === 0 ? [] : [
      `${references} ${references === 1 ? "is a reference" : "are references"} and ${
        references === 1 ? "has" : "have"
      } no rank`,
    ]),
    ...(unscored === 0
      ? []
      : [`${unscored} ${unscored === 1 ? "lacks" : "lack"} a term of the index`]),
    rated === 0
      ? "none was rated"
      : `${rated} ${
        rated === 1 ? "was" : "were"
      } rated, and a picture counts those that have both its sides`,
  ];
  const lost = coverage.metrics.length - metrics;
  const told = [
    ...(computed === 0 ? [] : [
      `${computed} ${
        computed === 1
          ? "is computed from another and shares its pairs"
          : "are computed from others and share their pairs"
      }`,
    ]),
    ...(lost <= 0 || rated === 0
      ? []
      : [`${lost} ${lost === 1 ? "has" : "have"} no shoe that was rated too`]),
  ];
  return `Of ${counted(coverage.shoes.length, "shoe")} ${shoes.join("; ")}.${
    told.length === 0 ? "" : ` Of ${counted(coverage.metrics.length, "metric")} ${told.join("; ")}.`
  }`;
}
