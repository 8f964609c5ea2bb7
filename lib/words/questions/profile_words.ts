import { betterDirection } from "../../statistics/percentile.ts";
import type { ProfileStrip, ShoeProfile } from "../../studies/questions/shoe_profile.ts";
import { measured } from "../comparison/answer_words.ts";
import { answerCautions, otherSizeWords } from "../comparison/comparison_notes.ts";
import { aboutOf, saidOf, type Told } from "../comparison/told.ts";
import { hasCode } from "../../statistics/reason.ts";
import { sayReason } from "../reasons.ts";
import { counted, listed, midSentence } from "../phrases.ts";

/** What one shoe is like, in words. */
export function profileWords(result: ShoeProfile): Told {
  const sentence = saidOf(profileSentence(result), result);
  const { strips, confidence, divides, looked_at, name, other_sizes } = result;
  const withheld = strips.filter(({ value_reason }) => value_reason !== null);
  const unfit = withheld.filter(({ value_reason }) => hasCode(value_reason, "not-fit-to-publish"));
  return {
    sentence,
    alt: `${sentence} ${
      strips.flatMap((strip) =>
        strip.value === null
          ? []
          : `${strip.on.title} ${measured(strip.value, strip.on, strip)}, ${standsWords(strip)}`
      ).join("; ")
    }.`,
    notes: [
      `It stands out where it is shown to be in the best or the last third, at ${
        Math.round(100 * confidence)
      }% for everything looked at together.`,
      looked_at === 0
        ? `Whether ${name} divides the panel can't be told: no impression of it has three testers.`
        : divides.length === 0
        ? `It is not shown to divide the panel on any of ${counted(looked_at, "impression")}.`
        : `Testers part over it on ${listed(divides.map(({ title }) => midSentence(title)))}.`,
      ...(other_sizes.length === 0 ? [] : [
        `Beside the published size, in no figure with it: ${
          listed(other_sizes.map((row) => `${midSentence(row.title)} ${otherSizeWords(row, row)}`))
        }.`,
      ]),
      ...(unfit.length === 0 ? [] : [
        `Left out, not fit to publish: ${listed(unfit.map(({ on }) => midSentence(on.title)))}.`,
      ]),
      ...withheld.filter((strip) => !unfit.includes(strip))
        .map(({ on, value_reason }) => `${on.title}: ${sayReason(value_reason)}.`),
    ],
    cautions: answerCautions(strips.map(({ on }) => on)),
    ...aboutOf(result),
  };
}

/** Where a strip's shoe stands, in two or three words. */
export function standsWords({ on, word }: Pick<ProfileStrip, "on" | "word">): string {
  if (betterDirection(on.better) !== 0) {
    return word === "neither" ? "not told from the middle" : word;
  }
  switch (word) {
    case "best third":
      return "highest third";
    case "last third":
      return "lowest third";
    case "neither":
      return "not told from the middle";
    case "can't tell":
      return word;
  }
}

function profileSentence({ name, strips, divides }: ShoeProfile): string {
  const titles = (word: ProfileStrip["word"], directed: boolean) =>
    strips.filter((strip) =>
      strip.word === word && (betterDirection(strip.on.better) !== 0) === directed
    ).map(({ on }) => midSentence(on.title));
  const parts = [
    [titles("best third", true), "in the best third on"],
    [titles("last third", true), "in the last third on"],
    [titles("best third", false), "in the highest third on"],
    [titles("last third", false), "in the lowest third on"],
  ] as const;
  // A value of unknown noise stands nowhere for sure, and is not one of those looked at.
  const known = strips.filter(({ value, word }) => value !== null && word !== "can't tell").length;
  const untold = strips.filter(({ value, word }) => value !== null && word === "can't tell").length;
  const rest = untold === 0 ? "" : `; on ${untold} more its place can't be told`;
  if (known === 0) {
    return `Whether ${name} stands out can't be told on any of ${
      counted(untold, "test or impression", "tests and impressions")
    }.`;
  }
  const said = parts.flatMap(([on, where]) => on.length === 0 ? [] : `${where} ${listed(on, 4)}`);
  const parting = divides.length === 0
    ? ""
    : `; it divides the panel on ${listed(divides.map(({ title }) => midSentence(title)))}`;
  return said.length === 0
    ? `${name} is not shown to stand out on any of ${
      counted(known, "test or impression", "tests and impressions")
    }${rest}${parting}.`
    : `Of ${counted(known, "test or impression", "tests and impressions")} ${name} is ${
      listed(said)
    }${rest}${parting}.`;
}
