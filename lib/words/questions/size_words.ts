import { sizeCaution } from "../../metrics/cautions.ts";
import type { SizeChange, SizedPair } from "../../studies/questions/size_change.ts";
import { measured } from "../comparison/answer_words.ts";
import type { Told } from "../comparison/told.ts";
import { asSentence, counted, listed, midSentence, withSign } from "../phrases.ts";

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
  return `${size} against ${published_size} (${signedFoot({ foot_mm })} of foot)`;
}

function signedFoot({ foot_mm }: Pick<SizedPair, "foot_mm">): string {
  return `${withSign(foot_mm, 1)} mm`;
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
    asSentence(`${title} changes by ${
      listed(
        found.map((pair) =>
          `${changeWords(pair, on)} for ${signedFoot(pair)} of foot in ${pair.name}`
        ),
        2,
      )
    }`)
  }${
    pairs.length === found.length
      ? ""
      : `; for ${counted(pairs.length - found.length, "other pair")} it can't be told`
  }.`;
}
