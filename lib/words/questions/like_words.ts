import type { LikeShoe, LikeShoes } from "../../studies/questions/like_shoes.ts";
import { answerCautions } from "../comparison/comparison_notes.ts";
import { aboutOf, saidOf, type Told } from "../comparison/told.ts";
import { boundedNotes } from "./bounded_words.ts";
import { counted, listed, midSentence } from "../phrases.ts";

/** Which shoes are like another, in words. */
export function likeWords(result: LikeShoes): Told {
  const sentence = saidOf(likeSentence(result), result);
  const { shoes, on, left_out, too_little_in_common, bounded } = result;
  return {
    sentence,
    alt: `${sentence} ${
      shoes.slice(0, 6).map((shoe) => `${shoe.name} ${shoe.distance.toFixed(1)}`).join(", ")
    }, in units of noise.`,
    notes: [
      `Distance is the root of the mean square of differences, each in units of what noise does to it: the same shoe benched twice comes to about 1. Compared on ${
        listed(on.map(({ title }) => midSentence(title)))
      }.`,
      ...(result.price_below === null ? [] : ["Prices are those on record, which may have moved."]),
      "That two shoes can't be told apart does not prove them alike: more trials may tell them apart.",
      ...(left_out.length === 0 ? [] : [
        `Left out, not fit to publish or without readings to compare: ${
          listed(left_out.map(midSentence))
        }.`,
      ]),
      ...boundedNotes(bounded, "on that test nothing is set against them"),
      ...(too_little_in_common === 0 ? [] : [
        `${
          counted(too_little_in_common, "shoe shares", "shoes share")
        } fewer than half of these metrics and ${
          too_little_in_common === 1 ? "is" : "are"
        } left out.`,
      ]),
    ],
    cautions: answerCautions(on),
    ...aboutOf(result),
  };
}

/** What tells a shoe from the one asked about. */
export function differsWords({ differs_on, word }: LikeShoe): string {
  return word === "told apart"
    ? `differs on ${listed(differs_on.map(midSentence), 2)}`
    : "can't be told apart";
}

/** The same where there is little room. */
export function differsShortly({ differs_on, word }: LikeShoe): string {
  return word === "told apart"
    ? `differs on ${counted(differs_on.length, "test")}`
    : "can't be told apart";
}

/** On how many tests these shoes were held against the one asked about. */
function testsOf(shoes: readonly LikeShoe[]): string {
  const counts = shoes.map(({ metrics }) => metrics);
  const [least, most] = [Math.min(...counts), Math.max(...counts)];
  return least === most ? counted(most, "test") : `${least} to ${most} tests`;
}

function likeSentence(
  { name, shoes, not_told_apart, on, price_below, currency }: LikeShoes,
): string {
  const limit = price_below === null ? "" : ` up to ${price_below} ${currency ?? ""}`.trimEnd();
  const all = `${counted(shoes.length, "other shoe")}${limit}`;
  if (shoes.length === 0) {
    return `No other shoe${limit} has enough readings in common with ${name}.`;
  }
  const near = shoes.filter(({ word }) => word !== "told apart");
  const metrics = near.length === 0 ? counted(on.length, "test") : testsOf(near);
  const [nearest] = shoes;
  if (near.length === 0) {
    return `None of ${all} is like ${name}: each differs on at least one of ${metrics}; nearest is ${nearest.name}, ${
      nearest.distance.toFixed(1)
    } times the noise away.`;
  }
  if (near.length === shoes.length) {
    return `No other shoe${limit} can be told from ${name} on ${metrics}: nearest of ${all} is ${nearest.name}.`;
  }
  return `${
    near.length <= 3
      ? listed(near.map((shoe) => shoe.name))
      : `${near[0].name} and ${not_told_apart - 1} more of ${all}`
  } can't be told from ${name} on ${metrics}${
    near.length <= 3
      ? `; ${shoes.length - near.length} ${
        shoes.length - near.length === 1 ? "other" : "others"
      }${limit} ${shoes.length - near.length === 1 ? "differs" : "differ"}`
      : ""
  }.`;
}
