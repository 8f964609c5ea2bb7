import type { MetricLink } from "../../studies/questions/metric_link.ts";
import { answerCautions } from "../comparison/comparison_notes.ts";
import type { Told } from "../comparison/told.ts";
import { pairSentence, unseen } from "../prediction/pair_sentence.ts";
import { sayReason } from "../reasons.ts";
import { midSentence, signed } from "../phrases.ts";

/** What a metric has to do with an impression, in words. */
export function linkWords(result: MetricLink): Told {
  const sentence = linkSentence(result);
  const { pair, verdict, verdict_reason } = result;
  return {
    sentence,
    alt:
      `${sentence} One mark for each of ${pair.points.length} shoes: the reading across, the panel's value up.`,
    notes: [
      pairSentence(pair),
      ...(verdict === "not fit to publish"
        ? [
          `The test by itself is not fit to publish${
            verdict_reason === null ? "" : `: ${sayReason(verdict_reason)}`
          }. A noisy test hides what it might have to do with play.`,
        ]
        : []),
      "That the two go together over this catalogue does not say that one causes the other.",
    ],
    cautions: answerCautions([result.metric, result.attribute]),
  };
}

function linkSentence({ metric, pair }: MetricLink): string {
  const [test, feel] = [metric.title, midSentence(pair.attribute_title)];
  const { spearman: rho, claim } = pair;
  if (rho.estimate === null) {
    return `Whether ${midSentence(test)} goes with ${feel} can't be told: ${
      sayReason(rho.estimate_reason)
    }.`;
  }
  const limits = rho.lower === null || rho.upper === null
    ? "no interval"
    : `interval ${signed(rho.lower)} to ${signed(rho.upper)}`;
  const figures = `rank correlation ${signed(rho.estimate)}, ${limits}, ${pair.n} shoes`;
  const way = rho.estimate > 0 ? "higher" : "lower";
  switch (claim) {
    case "predicts":
      return pair.goes_with === null
        ? `Yes: shoes that read higher on ${midSentence(test)} rate ${way} on ${feel} (${figures})${
          unseen(pair) ? "; not yet seen blind" : ""
        }.`
        : `${test} goes with ${feel}, but says nothing of it that ${
          midSentence(pair.goes_with.metric_title)
        } doesn't (${figures}).`;
    case "hint":
      return `Perhaps: a hint, and no more, that shoes that read higher on ${
        midSentence(test)
      } rate ${way} on ${feel} (${figures}).`;
    case "no sign of it":
      return `No sign of it: ${midSentence(test)} and ${feel} hardly go together (${figures}).`;
    case "can't tell":
      return `Can't tell whether ${midSentence(test)} goes with ${feel}: ${figures}${
        (rho.lower ?? 0) > 0 || (rho.upper ?? 0) < 0
          ? `; among ${pair.family} pairs looked at, one like it may be chance`
          : ""
      }.`;
  }
}
