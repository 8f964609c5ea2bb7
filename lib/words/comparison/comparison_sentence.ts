import { boundedWords, measured } from "./answer_words.ts";
import { betterDirection } from "../../statistics/percentile.ts";
import { hasCode } from "../../statistics/reason.ts";
import type { Estimate } from "../../statistics/estimate.ts";
import { type ComparedOn, isOn } from "../../studies/comparison/compared_on.ts";
import type { Comparison } from "../../studies/comparison/settle_pairs.ts";
import type { ShoeComparison } from "../../studies/comparison/shoe_comparison.ts";
import { sayReason } from "../reasons.ts";
import { answerCautions, comparisonNotes } from "./comparison_notes.ts";
import { aboutCompared, claimsOfPairs, ofPairs, type Told } from "./told.ts";
import { asSentence, counted, listed, midSentence } from "../phrases.ts";

/** How shoes compare, in words. */
export function comparisonWords(result: ShoeComparison): Told {
  return {
    sentence: comparisonSentence(result),
    alt: comparisonAlt(result),
    notes: comparisonNotes(result.remarks),
    cautions: answerCautions(result.compared_on),
    ...aboutCompared(result.comparisons),
  };
}

/**
 * What does a comparison come to, in one sentence that can stand above the picture?
 *
 * It says no more than the words of the comparisons do, and says so when nothing can be told.
 * Where no model had a second pair on what it claims, it begins with being said of the pairs benched.
 */
export function comparisonSentence(result: Compared): string {
  return ofPairs(plainSentence(result), claimsOfPairs(result.comparisons));
}

function plainSentence(result: Compared): string {
  const [first] = result.compared_on;
  if (result.shoes.length === 2) {
    return result.compared_on.length === 1
      ? `${pairSentence(result.comparisons[0], first, result)}.`
      : twoOnMany(result);
  }
  return result.compared_on.length === 1 ? manyOnOne(first, result) : manyOnMany(result);
}

/** What is seen in the picture, for a reader who can't see it. */
function comparisonAlt(result: Compared): string {
  const values = result.compared_on.slice(0, 6).map((on) => {
    const own = result.values.filter((row) => isOn(row, on));
    const named = own.map(({ shoe_id, value }) => ({ name: nameOf(result, shoe_id), value }));
    const bounds = result.shoes.flatMap(({ shoe_id }) => {
      const bound = boundedWords(shoe_id, on, result.bounded);
      return bound === null ? [] : `${nameOf(result, shoe_id)} ${bound}`;
    });
    return `${on.title}: ${[valuesInWords(named, on), ...bounds].filter(Boolean).join(", ")}`;
  });
  const more = result.compared_on.length - values.length;
  return `${comparisonSentence(result)} ${values.join("; ")}${
    more > 0 ? `; and ${more} more, listed beside the picture` : ""
  }. Bars are each shoe's own interval; ${
    result.shoes.length === 2
      ? "the difference has a line of its own."
      : "marks beside a value name the shoes it is shown to differ from."
  }`;
}

/** Each shoe with its value. */
export function valuesInWords(
  values: readonly {
    readonly name: string;
    readonly value: Pick<Estimate, "estimate" | "lower" | "upper">;
  }[],
  on: ComparedOn,
): string {
  return values.flatMap(({ name, value }) =>
    value.estimate === null ? [] : `${name} ${measured(value.estimate, on, value)}`
  ).join(", ");
}

/** One comparison as a clause, without a full stop. */
export function pairSentence(
  comparison: Comparison,
  on: ComparedOn,
  result: { readonly shoes: readonly Named[] },
): string {
  const [a, b] = [comparison.a, comparison.b].map((id) => nameOf(result, id));
  const title = midSentence(on.title);
  const { estimate, estimate_reason, lower, upper } = comparison.difference;
  if (estimate === null || lower === null || upper === null) {
    return comparison.word === "can't tell"
      ? `Can't tell ${a} from ${b} on ${title}: ${sayReason(estimate_reason!)}`
      : asSentence(`on ${title} ${sayReason(estimate_reason!)}`);
  }
  const size = measured(Math.abs(estimate), on, { lower, upper });
  const [near, far] = [lower, upper].map(Math.abs).sort((x, y) => x - y)
    .map((value) => measured(value, on, { lower, upper }));
  const [high, low] = estimate >= 0 ? [a, b] : [b, a];
  switch (comparison.word) {
    case "differ":
    case "differ by enough to feel": {
      const felt = feltWords(comparison, on);
      if (comparison.ahead === null) {
        return `${high} reads ${size} higher than ${low} on ${title} (${near} to ${far})${felt}`;
      }
      const winner = nameOf(result, comparison.ahead);
      const loser = winner === a ? b : a;
      const more = betterDirection(on.better) === 1 ? "more" : "less";
      return `${winner} beats ${loser} on ${title}: ${size} ${more} (${near} to ${far})${felt}`;
    }
    case "alike":
      return `${a} and ${b} are alike on ${title}: at most ${far} apart, less than a player feels`;
    case "can't tell":
      return `Can't tell ${a} from ${b} on ${title}: they read ${size} apart, and noise alone reaches ${
        measured(comparison.reach!, on, comparison.reach)
      }${togetherWords(comparison)}`;
  }
}

/** Where noise reaches farther only since more was asked. */
function togetherWords({ word, unadjusted }: Comparison): string {
  return word === unadjusted.word
    ? ""
    : ` among all that was asked together; asked alone: ${unadjusted.word}`;
}

function feltWords(comparison: Comparison, { smallest_difference: margin }: ComparedOn): string {
  if (comparison.word === "differ by enough to feel") return ", enough to feel";
  if (margin === null) return "";
  return isTooLittle(comparison, margin) ? ", too little to feel" : ", perhaps not enough to feel";
}

/** Shown to lie within what a player can't feel, whatever else it is. */
function isTooLittle({ difference }: Comparison, margin: number | null): boolean {
  const { lower, upper } = difference;
  return margin !== null && lower !== null && upper !== null && lower > -margin && upper < margin;
}

function twoOnMany(whole: Compared): string {
  const result = eachEvidenceOnce(whole);
  const [a, b] = result.shoes;
  const byWord = (test: (comparison: Comparison) => boolean) =>
    result.comparisons.filter(test).map((comparison) =>
      midSentence(sideOf(result, comparison).title)
    );
  const small = (comparison: Comparison) =>
    isTooLittle(comparison, sideOf(result, comparison).smallest_difference);
  const differs = (comparison: Comparison) =>
    (comparison.word === "differ" || comparison.word === "differ by enough to feel") &&
    !small(comparison);
  const ahead = (id: string) =>
    byWord((comparison) => comparison.ahead === id && differs(comparison));
  const [ofA, ofB] = [ahead(a.shoe_id), ahead(b.shoe_id)];
  const apart = byWord((comparison) => differs(comparison) && comparison.ahead === null);
  const alike = byWord(({ word }) => word === "alike");
  const unknown = byWord(({ word }) => word === "can't tell");
  const little = byWord((comparison) => comparison.word === "differ" && small(comparison));
  const none = ofA.length + ofB.length + apart.length === 0;
  const few = (titles: readonly string[]) =>
    titles.length <= 2 ? listed(titles) : none ? String(titles.length) : `${titles.length} others`;
  const rest = [
    ...(little.length > 0 ? [`too small a difference to feel on ${few(little)}`] : []),
    ...(alike.length > 0 ? [`alike on ${few(alike)}`] : []),
    ...(unknown.length > 0 ? [`can't tell on ${few(unknown)}${aloneWords(result)}`] : []),
  ];
  if (none) {
    return `No difference to feel is shown between ${a.name} and ${b.name}: ${rest.join(", ")}.`;
  }
  const parts = [
    ...(ofA.length > 0 ? [`${a.name} beats ${b.name} on ${listed(ofA, 3)}`] : []),
    ...(ofB.length > 0
      ? [
        ofA.length > 0
          ? `loses on ${listed(ofB, 3)}`
          : `${b.name} beats ${a.name} on ${listed(ofB, 3)}`,
      ]
      : []),
    ...(apart.length > 0
      ? [
        ofA.length + ofB.length > 0
          ? `they differ on ${listed(apart, 3)}`
          : `${a.name} and ${b.name} differ on ${listed(apart, 3)}`,
      ]
      : []),
    ...rest,
  ];
  return `${parts.join("; ")}.`;
}

/** Of what can't be told, how much a question about it alone would settle. */
function aloneWords({ comparisons }: Pick<Compared, "comparisons">): string {
  const settled =
    comparisons.filter(({ word, unadjusted }) => word === "can't tell" && unadjusted.word !== word)
      .length;
  return settled === 0
    ? ""
    : ` (${settled} of which asked alone ${settled === 1 ? "is" : "are"} told)`;
}

/** Without metrics that are computed from another one's trials: what these show, that one shows. */
function eachEvidenceOnce(result: Compared): Compared {
  const compared_on = result.compared_on.filter((on) => on.same_evidence_as === null);
  const kept = (one: Pick<ComparedOn, "metric" | "attribute">) =>
    compared_on.some((on) => isOn(on, one));
  return { ...result, compared_on, comparisons: result.comparisons.filter(kept) };
}

function manyOnOne(on: ComparedOn, result: Compared): string {
  const title = midSentence(on.title);
  const order = orderOf(on, result);
  if (order.length === 0) return `None of these shoes can be compared on ${title}.`;
  const [top] = order;
  const others = order.length - 1;
  const beaten = order.slice(1).filter((id) => isApart(top, id, on, result));
  const close = order.slice(1).filter((id) => !beaten.includes(id));
  const name = (id: string) => nameOf(result, id);
  const leads = betterDirection(on.better) === 0 ? "reads highest" : "leads";
  if (beaten.length === others) {
    return `${name(top)} ${leads} on ${title}, clear of ${
      others === 2 ? "both" : `all ${others}`
    } others.`;
  }
  const end = betterDirection(on.better) === -1 ? "below" : "above";
  const beyond = result.bounded.filter(({ metric, bound }) => metric === on.metric && end in bound);
  if (beaten.length === 0 && beyond.length > 0) {
    return `No clear leader on ${title}: ${
      listed(beyond.map(({ shoe_id }) => name(shoe_id)))
    } ran off the end of the scale, and nobody can say which reads best.`;
  }
  if (beaten.length === 0) {
    return `No clear leader on ${title}: ${
      name(top)
    } reads best, but noise could hide any order at the top.`
      .replace("reads best", betterDirection(on.better) === 0 ? "reads highest" : "reads best");
  }
  return `${name(top)} ${leads} on ${title}, clear of ${
    listed(beaten.map(name), 3)
  }, but can't be told from ${listed(close.map(name), 3)}.`;
}

function manyOnMany(whole: Compared): string {
  const result = eachEvidenceOnce(whole);
  const clear = result.compared_on.flatMap((on) => {
    const order = orderOf(on, result);
    const all = order.length > 1 && order.slice(1).every((id) => isApart(order[0], id, on, result));
    return all && betterDirection(on.better) !== 0 ? [{ on, shoe: order[0] }] : [];
  });
  const differing =
    whole.comparisons.filter(({ word }) => word === "differ" || word === "differ by enough to feel")
      .length;
  const of = `${differing} of ${counted(whole.comparisons.length, "comparison")} ${
    differing === 1 ? "shows" : "show"
  } a difference`;
  if (clear.length === 0) {
    return `No shoe of the ${result.shoes.length} stands clear of all the others on anything asked; ${of}.`;
  }
  const byShoe = [...Map.groupBy(clear, ({ shoe }) => shoe)]
    .sort(([, one], [, other]) => other.length - one.length);
  const parts = byShoe.slice(0, 3).map(([shoe, own]) =>
    `${nameOf(result, shoe)} on ${listed(own.map(({ on }) => midSentence(on.title)), 3)}`
  );
  return `Clear of all the others: ${parts.join("; ")}; ${of}.`;
}

/** Best first; highest first where more is neither good nor bad. */
function orderOf(on: ComparedOn, result: Compared): string[] {
  const direction = betterDirection(on.better) || 1;
  const at = [
    ...result.values.filter((row) => isOn(row, on))
      .map(({ shoe_id, value }) => ({ shoe_id, value: value.estimate! })),
    // At the bound: which of two ran farther off the scale nobody knows, so that no pair of them is apart.
    ...result.bounded.filter(({ metric }) => metric === on.metric)
      .map(({ shoe_id, bound }) => ({
        shoe_id,
        value: "below" in bound ? bound.below : bound.above,
      })),
  ];
  const compared = at.filter(({ shoe_id }) =>
    result.comparisons.some((pair) =>
      isOn(pair, on) && (pair.a === shoe_id || pair.b === shoe_id) &&
      (pair.difference.estimate !== null ||
        hasCode(pair.difference.estimate_reason, "bound-apart") ||
        hasCode(pair.difference.estimate_reason, "bound-in-reach"))
    )
  );
  return compared.toSorted((a, b) => direction * (b.value - a.value))
    .map(({ shoe_id }) => shoe_id);
}

function isApart(one: string, other: string, on: ComparedOn, result: Compared): boolean {
  const pair = result.comparisons.find((comparison) =>
    isOn(comparison, on) && [comparison.a, comparison.b].includes(one) &&
    [comparison.a, comparison.b].includes(other)
  );
  return pair?.word === "differ" || pair?.word === "differ by enough to feel";
}

function sideOf(result: Compared, comparison: Comparison): ComparedOn {
  return result.compared_on.find((on) => isOn(comparison, on))!;
}

type Compared = Pick<
  ShoeComparison,
  "compared_on" | "comparisons" | "values" | "shoes" | "bounded"
>;

type Named = { readonly shoe_id: string; readonly name: string };

function nameOf(result: { readonly shoes: readonly Named[] }, id: string): string {
  return result.shoes.find(({ shoe_id }) => shoe_id === id)?.name ?? id;
}
