import { type ComparedOn, isOn } from "../../studies/comparison/compared_on.ts";
import type { Comparison } from "../../studies/comparison/settle_pairs.ts";
import type { ShoeComparison } from "../../studies/comparison/shoe_comparison.ts";
import { sayReason } from "../reasons.ts";
import { answerCautions } from "./comparison_notes.ts";
import { comparisonSentence } from "./comparison_sentence.ts";
import { type NotebookSummary, notebookSummary } from "../summary_words.ts";
import { asSentence, counted, midSentence } from "../phrases.ts";

/** More visits than this for one answer are not worth a plan. */
const MOST = 30;

/**
 * What may be said of the shoes, and what would settle the rest?
 *
 * The number of visits or testers is that at which the interval would be short enough if the difference is
 * what it is here, since its half-length falls with the square root of them: a guess to plan by.
 */
export function comparisonSummary(
  comparison: Pick<
    ShoeComparison,
    "comparisons" | "compared_on" | "values" | "shoes" | "bounded"
  >,
): NotebookSummary {
  const open = comparison.comparisons.filter(({ word }) => word === "can't tell");
  const several = comparison.shoes.length > 2;
  return notebookSummary([
    comparisonSentence(comparison),
    ...answerCautions(comparison.compared_on),
  ], [
    ...(open.length < comparison.comparisons.length
      ? ["Say what the words bear and no more; the picture below can be published with them."]
      : []),
    ...open.slice(0, 4).map((pair) => settleWords(pair, comparison, several)),
    ...(open.length > 4
      ? [`${open.length - 4} more comparisons are open; the table lists them.`]
      : []),
  ]);
}

function settleWords(
  pair: Comparison,
  { compared_on, values, shoes }: Pick<ShoeComparison, "compared_on" | "values" | "shoes">,
  several: boolean,
): string {
  const on = compared_on.find(({ metric, attribute }) =>
    metric === pair.metric && attribute === pair.attribute
  )!;
  const label = (id: string) => shoes.find(({ shoe_id }) => shoe_id === id)!.label;
  const subject = asSentence(midSentence(on.title)) +
    (several ? `, ${label(pair.a)} and ${label(pair.b)}` : "");
  const { estimate, estimate_reason, lower, upper } = pair.difference;
  if (estimate === null || lower === null || upper === null) {
    return `${subject}: can't tell, since ${sayReason(estimate_reason!)}.`;
  }
  const now = occasions(pair, values);
  const needed = occasionsNeeded(now, Math.abs(estimate), (upper - lower) / 2, on);
  const noun = on.metric === null ? "tester" : "visit";
  if (needed === null || needed > MOST) {
    return `${subject}: can't tell; they lie so close that more than ${MOST} ${noun}s would be needed.`;
  }
  return `${subject}: can't tell; about ${
    counted(needed, noun)
  } of each would settle it if the difference is what it is here.`;
}

/** Visits or testers of each shoe: where the two differ, the equal number that is worth as much. */
function occasions(pair: Comparison, values: ShoeComparison["values"]): number {
  const [a, b] = [pair.a, pair.b].map((id) =>
    values.find((row) => row.shoe_id === id && isOn(row, pair))!.occasions
  );
  return 2 / (1 / a + 1 / b);
}

/** Either the difference comes out, or it is shown to be too small to feel; whichever needs less. */
function occasionsNeeded(
  now: number,
  difference: number,
  half: number,
  { smallest_difference }: Pick<ComparedOn, "smallest_difference">,
): number | null {
  const room = smallest_difference === null ? 0 : smallest_difference - difference;
  const reach = Math.max(difference, room);
  return reach > 0 ? Math.ceil(now * (half / reach) ** 2 * (1 + 1e-9)) : null;
}
