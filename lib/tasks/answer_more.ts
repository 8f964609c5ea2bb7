import { bestChart, bestRows } from "../charts/best_chart.ts";
import { linkChart } from "../charts/link_chart.ts";
import type { Bench } from "../records/types.ts";
import { ruleInForce } from "../records/selection.ts";
import { bestShoes } from "../studies/questions/best_shoes.ts";
import { metricLink } from "../studies/questions/metric_link.ts";
import { trialReliability } from "../studies/repeatability/trial_reliability.ts";
import type { DrawnAnswer } from "./drawn_answer.ts";
import type { MoreQuestion } from "./question_readers.ts";

/** Answers a question about the catalogue as a whole, or about one shoe among all. */
export function answerMore(bench: Bench, question: MoreQuestion, seed: number): DrawnAnswer {
  // Only components are used here, so few draws do; they don't depend on the draws.
  const noiseOf = (metrics: readonly string[]) =>
    trialReliability(bench, { seed, resamples: 100, metrics: [...new Set(metrics)] });
  switch (question.kind) {
    case "link": {
      const { metric, attribute } = question;
      const result = metricLink(bench, { metric, attribute, seed });
      return {
        answer: result,
        chart: (room) => linkChart(result, room),
        things: 1,
      };
    }
    case "best": {
      const { kind: _, ...asked } = question;
      const reliability = noiseOf([
        ...(asked.on === null
          ? indexMetrics(bench)
          : "metric" in asked.on
          ? [asked.on.metric]
          : []),
        ...asked.conditions.flatMap((one) => "metric" in one ? one.metric : []),
      ]);
      const result = bestShoes(bench, { ...asked, reliability, seed });
      return {
        answer: result,
        chart: (room) => bestChart(result, room),
        things: Math.min(40, bestRows(result).length),
        pictures: 2,
      };
    }
  }
}

/** Metrics of the index in force, of which the noise is needed. */
function indexMetrics(bench: Bench): string[] {
  const today = bench.sessions.map(({ date }) => date).sort().at(-1) ?? "9999-12-31";
  return ruleInForce(bench, today)?.terms.map(({ metric }) => metric) ?? [];
}
