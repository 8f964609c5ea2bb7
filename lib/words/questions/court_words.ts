import { benchCaution } from "../../metrics/cautions.ts";
import type { CourtGap } from "../../studies/questions/court_gap.ts";
import { answerCautions } from "../comparison/comparison_notes.ts";
import type { Told } from "../comparison/told.ts";
import { counted, listed, midSentence } from "../phrases.ts";

/** Why it can't be told who is best on a court, and what to bench so that it can. */
export function courtWords(result: CourtGap): Told {
  const { on, court, courts } = result;
  const sentence = `Which shoe is best on ${courtName(result)}${
    on === null ? "" : `, by ${midSentence(on.title)},`
  } can't be told: ${whyNot(result)}.`;
  return {
    sentence,
    alt: `${sentence} Ratings by court: ${
      courts.length === 0 ? "none" : courts.map((row) => `${row.court} ${row.ratings}`).join(", ")
    }; ${court} ${courts.find((row) => row.court === court)?.ratings ?? "none"}.`,
    notes: [
      ...(result.tests.length === 0 ? [] : [
        `${listed(result.tests.map(({ title }) => title))} ${
          result.tests.length === 1 ? "names" : "name"
        } this court: ask for it without a court.`,
      ]),
      ...benchPlan(result),
      "The court that a shoe is sold for says nothing of how it plays there.",
    ],
    cautions: on === null ? [benchCaution] : answerCautions([on]),
  };
}

/** What to bench first, for those who see the picture. */
export function benchFirst(result: CourtGap): string {
  return `To bench: ${
    testOf(result)
  } on ${result.court} ground, five shoes, three readings each, on two days.`;
}

function testOf({ on }: CourtGap): string {
  return on === null || on.metric === null ? "a test" : midSentence(on.title);
}

/** What to bench, for who benches. */
function benchPlan(result: CourtGap): string[] {
  const { court, is_known } = result;
  const test = testOf(result);
  return [
    `To bench: ${test} on ${court} ground as a metric of its own in metrics.json, with the ground in its method (what lies on it, how much, how it is laid anew).`,
    "Begin with five shoes, three readings each, on two days: their noise says how many more readings tell shoes apart (deno task retest).",
    is_known
      ? `Or to rate: two testers or more on the same eight shoes on this court, blind, with "${court}" as the surface in impressions.csv.`
      : `Ratings know the courts hard, clay, grass, indoor and all-court; "${court}" is none of them, so it takes the test.`,
  ];
}

function courtName({ court, is_known }: CourtGap): string {
  return is_known || /^\p{L}+$/u.test(court) ? `${court} courts` : `a court called "${court}"`;
}

function whyNot({ on, court, courts }: CourtGap): string {
  const there = courts.find((row) => row.court === court);
  if (on?.attribute != null) return `nobody has rated ${midSentence(on.title)} there`;
  const bench = on === null
    ? "the index is of tests on the bench"
    : "that test is read on the bench, not there";
  return there === undefined
    ? `${bench}, and nobody has rated a shoe there`
    : `${bench}; ${counted(there.ratings, "rating")} from there can be asked for by impression`;
}
