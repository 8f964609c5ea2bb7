import { estimateInWords } from "../review/review_tables.ts";
import type { MetricPair } from "../../studies/comparison/metric_pair.ts";
import { sayReason } from "../reasons.ts";
import { answerCautions } from "./comparison_notes.ts";
import type { Told } from "./told.ts";
import { counted, midSentence, pText } from "../phrases.ts";

/** How two metrics go together, in words. */
export function metricPairWords(result: MetricPair): Told {
  const sentence = pairSentence(result);
  return {
    sentence,
    alt: `${sentence} One dot for each of ${result.shoes.length} shoes.`,
    notes: [
      ...(result.same_evidence
        ? ["One of the two is computed from the other's trials: they are the same evidence."]
        : []),
      "That two metrics go together over this catalogue does not say that one causes the other.",
    ],
    cautions: answerCautions([result.x, result.y]),
  };
}

/** The same in few enough words to stand above a picture. */
export function metricPairHeadline(result: MetricPair): string {
  return pairSentence(result, { short: true });
}

function pairSentence(
  { x, y, spearman: rho, p, lines, makers, confidence }: MetricPair,
  { short = false }: { readonly short?: boolean } = {},
): string {
  const [one, other] = [x.title, midSentence(y.title)];
  const { estimate, lower, upper, n } = rho;
  if (estimate === null || lower === null || upper === null) {
    return `${one} and ${other} can't be said to go together or not: ${
      rho.estimate_reason === null
        ? "there are too few shoes for an interval"
        : sayReason(rho.estimate_reason)
    }.`;
  }
  // A limit that is not 0 must not read as 0.00 where it decides.
  const close = Math.min(Math.abs(lower), Math.abs(upper)) < 0.005;
  const rank = `rank correlation ${estimateInWords(rho, close ? 3 : 2)}`;
  const figures = short
    ? `${rank}, ${counted(n, "shoe")}`
    : `${rank} over ${counted(n, "shoe")}, ${counted(lines, "line")} and ${
      counted(makers, "maker")
    }`;
  const beyondKin = p !== null && p < 1 - confidence;
  if ((lower > 0 || upper < 0) && !beyondKin) {
    return `Can't tell whether ${midSentence(x.title)} and ${other} go together: ${figures}${
      short
        ? ""
        : `; shoes of a line and a maker resemble each other, and what is left without that may be chance (${
          pText(p)
        })`
    }.`;
  }
  if (lower > 0) return `${one} and ${other} rise together over the catalogue: ${figures}.`;
  if (upper < 0) return `The more ${midSentence(x.title)}, the less ${other}: ${figures}.`;
  return lower > -0.3 && upper < 0.3
    ? `${one} and ${other} hardly go together: ${figures}.`
    : `Can't tell whether ${midSentence(x.title)} and ${other} go together: ${figures}.`;
}
