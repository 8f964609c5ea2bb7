import { sizeCaution } from "../../metrics/cautions.ts";
import type { SizeChange, SizedPair } from "../../studies/questions/size_change.ts";
import { measured } from "../comparison/answer_words.ts";
import type { Told } from "../comparison/told.ts";
import { sizeLabel } from "../size_label.ts";
import { amountLimits, asSentence, counted, listed, midSentence } from "../phrases.ts";

/** What another size changes, in words. */
export function sizeWords(result: SizeChange): Told {
  const { pairs, on, confidence } = result;
  const sentence = sizeSentence(result);
  return {
    sentence,
    alt: `${sentence} ${
      pairs.map((pair) => `${pair.name} ${stepWords(pair)}: ${changeWords(pair, on)}`).join("; ")
    }.`,
    notes: [
      "A step of size is told as the foot that the labels mean, in mm: half a UK or US size is 4.2 mm, half an EU size 3.3 mm.",
      `Intervals of ${counted(pairs.length, "pair")} hold together at ${
        Math.round(100 * confidence)
      }%. Another pair differs from the first even in the same size.`,
    ],
    cautions: [sizeCaution],
  };
}

/** From which label to which, and how much foot that is. */
export function stepWords({ size, published_size, foot_mm }: SizedPair): string {
  return `${sizeLabel(size)} against ${sizeLabel(published_size)} (${footWords({ foot_mm })})`;
}

/** How much longer or shorter a foot the other label means. */
export function footWords({ foot_mm }: Pick<SizedPair, "foot_mm">): string {
  return `foot ${Math.abs(foot_mm).toFixed(1)} mm ${foot_mm < 0 ? "shorter" : "longer"}`;
}

/** A change that is told, as an amount. */
function toldChange({ change }: SizedPair, on: SizeChange["on"]): string {
  const [nearest, furthest] = amountLimits(change.lower!, change.upper!);
  return `${measured(Math.abs(change.estimate!), on)} ${change.estimate! < 0 ? "less" : "more"} (${
    measured(nearest, on)
  } to ${measured(furthest, on)})`;
}

/** A change with its sign and interval. */
export function changeWords({ change }: SizedPair, on: SizeChange["on"]): string {
  const signed = (value: number) => `${value > 0 ? "+" : ""}${measured(value, on)}`;
  return change.lower === null || change.upper === null
    ? `${signed(change.estimate!)}, noise unknown`
    : `${signed(change.estimate!)} (${signed(change.lower)} to ${signed(change.upper)})`;
}

function sizeSentence({ pairs, on }: SizeChange): string {
  const title = midSentence(on.title);
  const found = pairs.filter(({ word }) => word === "changes");
  if (found.length === 0) {
    return `Can't tell what a step of size changes in ${title}: ${
      pairs.length === 1
        ? `${pairs[0].name} changes by ${changeWords(pairs[0], on)}`
        : `none of ${pairs.length} pairs in another size reads surely different`
    }.`;
  }
  return `${
    asSentence(`${title} is ${
      listed(
        found.map((pair) => `${toldChange(pair, on)} in ${pair.name} for a ${footWords(pair)}`),
        2,
      )
    }`)
  }${
    pairs.length === found.length
      ? ""
      : `; for ${counted(pairs.length - found.length, "other pair")} it can't be told`
  }.`;
}
