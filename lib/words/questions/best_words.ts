import type { BestShoe, BestShoes } from "../../studies/questions/best_shoes.ts";
import { measured } from "../comparison/answer_words.ts";
import { answerCautions } from "../comparison/comparison_notes.ts";
import { aboutOf, saidOf, type Told } from "../comparison/told.ts";
import { sayReason } from "../reasons.ts";
import { choiceWords } from "./choice_words.ts";
import { counted, listed, midSentence } from "../phrases.ts";

/** Who is first, with all that can't be told from it, in words. */
export function bestWords(result: BestShoes): Told {
  const sentence = saidOf(bestSentence(result), result);
  const { on, shoes, first, told_in_reason, told_in, open, confidence } = result;
  const shown = shoes.filter(({ word }) => word !== "not among them");
  return {
    sentence,
    alt: `${sentence} ${
      shown.slice(0, 8).map((shoe) => `${shoe.name} ${measured(shoe.value, on, shoe)}`).join("; ")
    }.`,
    notes: [
      ...(result.noise_known
        ? [
          `${
            first === 1
              ? "A shoe may be first unless another is shown to be ahead of it"
              : `A shoe may be among the first ${first} unless ${first} or more others are shown to be ahead of it`
          }; that holds at ${Math.round(100 * confidence)}% for all tests together.`,
        ]
        : []),
      ...(told_in_reason === null || told_in === "places" || !result.noise_known ? [] : [
        `This test is fit for ${
          told_in === "tiers" ? "thirds" : "halves"
        } of the catalogue, not for single places: ${
          sayReason(told_in_reason)
        }. Who may be first is told, an order among them is not.`,
      ]),
      ...(open === 0 ? [] : [
        `Of ${counted(open, "other shoe")} it can't be told whether ${
          open === 1 ? "it meets" : "they meet"
        } what is asked; ${open === 1 ? "it is" : "they are"} left out.`,
      ]),
      ...(result.conditions.some(({ kind }) => kind === "surface")
        ? ["The court is the one a shoe is sold for; the bench itself has one surface."]
        : []),
      ...(result.played_on === null
        ? []
        : [`Only ratings given on ${result.played_on} count here.`]),
      ...(result.price_below === null ? [] : ["Prices are those on record, which may have moved."]),
    ],
    cautions: answerCautions([on]),
    ...aboutOf(result),
  };
}

/** Which shoes are asked about, such as `8 shoes (wide, up to 120 EUR)`. */
export function amongWords(result: BestShoes): string {
  const limits = amongLimits(result);
  return `${counted(result.shoes.length, "shoe")}${limits === "" ? "" : ` (${limits})`}`;
}

function amongLimits(result: BestShoes): string {
  return [
    ...choiceWords(result),
    ...(result.played_on === null ? [] : [`played on ${result.played_on}`]),
  ].join(", ");
}

function bestSentence(result: BestShoes): string {
  const { on, shoes, first, order } = result;
  const title = midSentence(on.title);
  const lead = on.better === "none" || (on.better === "lower") !== (order === "lowest")
    ? order
    : "best";
  const [top] = shoes;
  if (!result.noise_known) {
    const tied = shoes.filter(({ value }) => value === top.value);
    return `Can't tell which shoe is ${lead} on ${title}, since the noise is unknown: ${
      listed(tied.map(({ name }) => name), 3)
    } ${tied.length === 1 ? "reads" : "read"} ${lead}, ${measured(top.value, on, top)}.`;
  }
  if (shoes.length === 1) {
    const limits = amongLimits(result);
    return `Nothing to set beside ${top.name}: it alone was read on ${title}${
      limits === "" ? "" : ` (${limits})`
    }, ${measured(top.value, on, top)}.`;
  }
  const [sure, open] = (["among them", "may be"] as const).map((word) =>
    shoes.filter((shoe) => shoe.word === word)
  );
  return first === 1 ? firstPlace(result, { lead, sure, open }) : severalPlaces(result, sure, open);
}

function firstPlace(
  result: BestShoes,
  { lead, sure, open }: {
    readonly lead: string;
    readonly sure: readonly BestShoe[];
    readonly open: readonly BestShoe[];
  },
): string {
  const { on, shoes: [top] } = result;
  const title = midSentence(on.title);
  const start = `On ${title} ${top.name} reads ${lead} of ${amongWords(result)}, ${
    measured(top.value, on, top)
  }`;
  if (sure.length > 0) return `${start}, and no other can be first.`;
  const others = open.filter((shoe) => shoe !== top);
  return `${start}, but ${
    others.length <= 3
      ? `${listed(others.map(({ name }) => name))} can't be told from it`
      : `${others.length} others can't be told from it`
  }.`;
}

function severalPlaces(
  result: BestShoes,
  sure: readonly BestShoe[],
  open: readonly BestShoe[],
): string {
  const title = midSentence(result.on.title);
  const places = `the first ${result.first} by ${title}`;
  const certain = sure.length === 0
    ? `No shoe is sure to be among ${places}`
    : sure.length <= result.first && sure.length <= 5
    ? `${listed(sure.map(({ name }) => name))} ${
      sure.length === 1 ? "is" : "are"
    } sure to be among ${places}`
    : `${sure.length} shoes are sure to be among ${places}`;
  return `${certain} of ${amongWords(result)}${
    open.length === 0 ? "" : `; ${counted(open.length, sure.length > 0 ? "other" : "shoe")} may be`
  }.`;
}
