import type { LikeShoe, LikeShoes } from "../../studies/questions/like_shoes.ts";
import { answerCautions } from "../comparison/comparison_notes.ts";
import { aboutOf, saidOf, type Told } from "../comparison/told.ts";
import { boundedNotes } from "./bounded_words.ts";
import { counted, listed, midSentence } from "../phrases.ts";

/** Which shoes are like another, in words. */
export function likeWords(result: LikeShoes): Told {
  const sentence = saidOf(likeSentence(result), result);
  const { shoes, on, left_out, too_little_in_common, cant_tell, bounded } = result;
  return {
    sentence,
    alt: `${sentence} ${
      shoes.slice(0, 6).map((shoe) => `${shoe.name} ${shoe.distance.toFixed(1)}`).join(", ")
    }, in units of noise.${openWords(shoes)}`,
    notes: [
      `Distance is the root of the mean square of differences, each in units of what noise does to it: the same shoe benched twice comes to about 1. Compared on ${
        listed(on.map(({ title }) => midSentence(title)))
      }.`,
      ...(result.price_below === null ? [] : ["Prices are those on record, which may have moved."]),
      howTold(result),
      ...notAlike(result),
      ...(left_out.length === 0 ? [] : [
        `Left out, not fit to publish or without readings to compare: ${
          listed(left_out.map(midSentence))
        }.`,
      ]),
      ...boundedNotes(
        bounded,
        "on that test they differ only from shoes past that bound by more than noise, and count in no distance",
      ),
      ...(too_little_in_common === 0 ? [] : [
        `${
          counted(too_little_in_common, "shoe shares", "shoes share")
        } fewer than half of these metrics and ${
          too_little_in_common === 1 ? "is" : "are"
        } left out.`,
      ]),
      ...(cant_tell.length === 0 ? [] : [
        `Can't tell of ${
          listed(cant_tell.map(({ name }) => name), 12)
        }: the noise of the tests that they share is unknown.`,
      ]),
    ],
    cautions: answerCautions(on),
    ...aboutOf(result),
  };
}

/** How far shoes that can't be told apart may still be, in a sentence for who can't see the picture. */
function openWords(shoes: readonly LikeShoe[]): string {
  const open = shoes.filter(({ distance_at_most }) => distance_at_most !== null);
  if (open.length === 0) return " All are told apart.";
  return ` Can't be told apart, with how far they may still differ: ${
    open.slice(0, 6).map((shoe) => `${shoe.name} ${shoe.distance_at_most!.toFixed(1)}`).join(", ")
  }${open.length > 6 ? ` and ${open.length - 6} more` : ""}.`;
}

/** What tells a shoe apart, and at which risk. */
function howTold({ on, confidence }: LikeShoes): string {
  const risk = share(1 - confidence);
  return on.length === 1
    ? `A shoe is told apart where its difference exceeds the noise, at a ${risk} risk of a false word on any shoe (Holm).`
    : `A shoe is told apart by one test alone or by all tests together (Fisher's combination of their p-values): many small differences add up. The ${risk} risk of a false word on any shoe is halved between the two ways, and holds over all shoes (Holm); tests count as independent.`;
}

/** That shoes can't be told apart is no likeness: how much may still lie between them. */
function notAlike({ shoes, confidence }: LikeShoes): string[] {
  const limits = shoes.flatMap(({ distance_at_most }) => distance_at_most ?? []);
  if (limits.length === 0) return [];
  const [least, most] = [Math.min(...limits), Math.max(...limits)].map((limit) => limit.toFixed(1));
  return [
    `That two shoes can't be told apart does not prove them alike: with ${
      share(confidence)
    } confidence, each by itself, ${
      limits.length === 1 ? "this one lies" : `these ${limits.length} lie`
    } at most ${
      least === most ? most : `${least} to ${most}`
    } times the noise away (root mean square of the true differences). More trials may tell them apart.`,
  ];
}

const share = (of: number) => `${Number((100 * of).toFixed(1))}%`;

/** What tells a shoe from the one asked about. */
export function differsWords({ differs_on, word }: LikeShoe): string {
  if (word !== "told apart") return "can't be told apart";
  return differs_on.length === 0
    ? "differs over all tests together"
    : `differs on ${listed(differs_on.map(midSentence), 2)}`;
}

/** The same where there is little room. */
export function differsShortly({ differs_on, word }: LikeShoe): string {
  if (word !== "told apart") return "can't be told apart";
  return differs_on.length === 0
    ? "differs, all together"
    : `differs on ${counted(differs_on.length, "test")}`;
}

/** On how many tests these shoes were held against the one asked about. */
function testsOf(shoes: readonly LikeShoe[]): string {
  const counts = shoes.map(({ metrics }) => metrics);
  const [least, most] = [Math.min(...counts), Math.max(...counts)];
  return least === most ? counted(most, "test") : `${least} to ${most} tests`;
}

function likeSentence({ name, shoes, not_told_apart, price_below, currency }: LikeShoes): string {
  const limit = price_below === null ? "" : ` up to ${price_below} ${currency ?? ""}`.trimEnd();
  const all = `${counted(shoes.length, "other shoe")}${limit}`;
  if (shoes.length === 0) {
    return `No other shoe${limit} has enough readings in common with ${name}.`;
  }
  const near = shoes.filter(({ word }) => word !== "told apart");
  const metrics = testsOf(near.length === 0 ? shoes : near);
  const [nearest] = shoes;
  if (near.length === 0) {
    const together = shoes.filter(({ differs_on }) => differs_on.length === 0).length;
    return `${
      shoes.length === 1 ? `The only other shoe${limit}` : `Each of ${all}`
    } can be told from ${name} by ${metrics}${
      together === 0
        ? ""
        : together === shoes.length
        ? ", taken together"
        : `, ${together} of them only by all together`
    }; nearest is ${nearest.name}, ${nearest.distance.toFixed(1)} times the noise away.`;
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
