import { comparisonChart } from "../charts/comparison_chart.ts";
import { editionChart } from "../charts/edition_chart.ts";
import { fitChart } from "../charts/fit_chart.ts";
import { metricPairChart } from "../charts/metric_pair_chart.ts";
import { shortlistChart } from "../charts/shortlist_chart.ts";
import { standingChart } from "../charts/standing_chart.ts";
import { wearChart } from "../charts/wear_chart.ts";
import { CantAnswer } from "../records/cant_answer.ts";
import type { Bench } from "../records/types.ts";
import { catalogueStanding } from "../studies/comparison/catalogue_standing.ts";
import { isOn } from "../studies/comparison/compared_on.ts";
import { editionHistory } from "../studies/comparison/edition_history.ts";
import { footFit } from "../studies/comparison/foot_fit.ts";
import { metricPair } from "../studies/comparison/metric_pair.ts";
import { type ShoeComparison, shoeComparison } from "../studies/comparison/shoe_comparison.ts";
import { shortlist } from "../studies/comparison/shortlist.ts";
import { wearChange } from "../studies/wear/wear_change.ts";
import { sayCantAnswer } from "../words/cant_answer_words.ts";
import type { Question } from "./answer_call.ts";
import { componentNoise } from "./component_noise.ts";
import type { DrawnAnswer } from "./drawn_answer.ts";
import { answerMore } from "./answer_more.ts";
import { CallError } from "./task_calls.ts";

/**
 * Answers a question on a bench.
 *
 * @throws {CallError} in words when it can't be answered as asked
 */
export function answerQuestion(bench: Bench, question: Question, seed: number): DrawnAnswer {
  try {
    return answer(bench, question, seed);
  } catch (error) {
    // Any other error is a fault, and looks like one.
    if (error instanceof CantAnswer) {
      throw new CallError(`${sayCantAnswer(error)}.`.replace(/([.?])\.$/, "$1"));
    }
    throw error;
  }
}

function answer(bench: Bench, question: Question, seed: number): DrawnAnswer {
  const noiseOf = componentNoise(bench, seed);
  switch (question.kind) {
    case "comparison": {
      const result = shoeComparison(bench, {
        shoes: question.shoes,
        metrics: question.metrics ?? undefined,
        attributes: question.attributes,
        reliability: noiseOf(question.metrics ?? undefined),
      });
      refuseUnanswered(result, question);
      return {
        answer: result,
        chart: (room) => comparisonChart(result, room),
        things: result.compared_on.length,
        pictures: 2,
      };
    }
    case "catalogue": {
      const { metric, shoes } = question;
      const result = catalogueStanding(bench, { metric, shoes, reliability: noiseOf([metric]) });
      return {
        answer: result,
        chart: (room) => standingChart(result, room),
        things: Math.max(1, shoes.length),
        pictures: 2,
      };
    }
    case "wear": {
      const { metric, shoes } = question;
      const result = wearChange(bench, { metric, shoes, reliability: noiseOf([metric]) });
      const things = Math.min(40, result.pairs.length + 1);
      return { answer: result, chart: (room) => wearChart(result, room), things };
    }
    case "pair": {
      const { metrics, shoes } = question;
      const result = metricPair(bench, { metrics, shoes, reliability: noiseOf(metrics), seed });
      return {
        answer: result,
        chart: (room) => metricPairChart(result, room),
        things: Math.max(1, shoes.length),
      };
    }
    case "editions": {
      const { shoe, metric } = question;
      const result = editionHistory(bench, { shoe, metric, reliability: noiseOf([metric]) });
      return { answer: result, chart: (room) => editionChart(result, room), things: 1 };
    }
    case "shortlist": {
      const { conditions } = question;
      const metrics = conditions.flatMap((condition) =>
        "metric" in condition ? condition.metric : []
      );
      const result = shortlist(bench, {
        conditions,
        reliability: noiseOf(metrics),
        seed,
      });
      return {
        answer: result,
        chart: (room) => shortlistChart(result, room),
        things: Math.min(40, Math.max(3, result.on_the_list + result.cant_tell)),
        pictures: 2,
      };
    }
    case "fit": {
      const { foot_length_mm, foot_width_mm, least_width_room_mm, shoes } = question;
      const [inside_length, inside_width] = question.metrics ?? ["inside-length", "inside-width"];
      const result = footFit(bench, {
        foot_length_mm,
        foot_width_mm,
        least_width_room_mm,
        shoes,
        metrics: { inside_length, inside_width: foot_width_mm === null ? null : inside_width },
        reliability: noiseOf([inside_length, inside_width]),
      });
      return {
        answer: result,
        chart: (room) => fitChart(result, room),
        things: Math.min(4, result.shoes.length),
      };
    }
    default:
      return answerMore(bench, question, seed);
  }
}

/** What was asked by name is answered or refused; it is not passed over in a note. */
function refuseUnanswered(
  { compared_on, comparisons }: ShoeComparison,
  { metrics, attributes }: Extract<Question, { kind: "comparison" }>,
): void {
  for (const on of compared_on) {
    const named = on.metric === null ? attributes.includes(on.attribute!) : metrics !== null;
    const own = comparisons.filter((pair) => isOn(pair, on));
    if (!named || own.some((pair) => pair.difference.estimate !== null)) continue;
    throw new CantAnswer(
      { code: "not-comparable", shoes: [] },
      `${on.title} can't be compared`,
      own.flatMap((pair) => pair.difference.estimate_reason ?? []),
    );
  }
}
