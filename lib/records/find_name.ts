import { CantAnswer } from "./cant_answer.ts";
import { offerNames } from "./near_names.ts";
import { editsBetween } from "../similar_names.ts";
import type { Attribute, Bench, Metric, Shoe } from "./types.ts";

/** Something of a bench with an id, and what people call it. */
export type Named = { readonly id: string; readonly names: readonly string[] };

/** What a name means: one id, several that fit alike, or none, with the nearest there are. */
export type FoundName =
  | { readonly id: string }
  | { readonly several: readonly string[] }
  | { readonly none: true };

/**
 * Which of these does a name mean, as people write it?
 *
 * By id first; then by a name, where capitals, accents, spaces and marks don't count; then by some of its
 * words, such as "orbinel 3" for Pavrico Orbinel 3; then with one slip of a letter in one word. A number
 * is never a slip: editions differ by it. What fits best wins; where several fit alike, all are given.
 */
export function findName(typed: string, candidates: readonly Named[]): FoundName {
  const exact = candidates.find(({ id }) => id === typed.trim());
  if (exact !== undefined) return { id: exact.id };
  const wanted = wordsOf(typed);
  if (wanted.length === 0) return { none: true };
  const told = candidates.map(({ id, names }) => ({
    id,
    spellings: [id, ...names].map(wordsOf).filter((words) => words.length > 0),
  }));
  const fits: readonly ((words: readonly string[]) => boolean)[] = [
    (words) => words.join(" ") === wanted.join(" "),
    (words) => words.join("") === wanted.join(""),
    (words) => holds(words, wanted, (a, b) => a === b),
    (words) => words.length === wanted.length && words.every((word, i) => isSlip(word, wanted[i])),
    (words) => holds(words, wanted, isSlip),
  ];
  for (const fit of fits) {
    const found = told.filter(({ spellings }) => spellings.some(fit)).map(({ id }) => id);
    if (found.length === 1) return { id: found[0] };
    if (found.length > 1) return { several: found };
  }
  return { none: true };
}

/**
 * Which shoe of the bench is meant?
 *
 * @throws {RangeError} if no shoe fits (nearest names offered) or several do (all listed)
 *
 * @example By a part of its name, with a letter wrong
 * ```ts
 * import assert from "node:assert/strict";
 * import { loadBench, records } from "bench-to-court";
 * const bench = await loadBench("data-demo");
 * assert.equal(records.findShoe(bench, "orbinal 3").shoe_id, "pavrico-orbinel-3");
 * ```
 */
export function findShoe({ shoes }: Pick<Bench, "shoes">, typed: string): Shoe {
  const named = shoes.map(({ shoe_id, maker, model, edition }) => ({
    id: shoe_id,
    names: [[maker, model, edition].filter((part) => part !== null && part !== "").join(" ")],
  }));
  const id = one("shoe", typed, named);
  return shoes.find(({ shoe_id }) => shoe_id === id)!;
}

/** Which metric is meant? @throws {RangeError} as `findShoe` */
export function findMetric({ metrics }: Pick<Bench, "metrics">, typed: string): Metric {
  const id = one("metric", typed, metrics.map(({ id, title }) => ({ id, names: [title] })));
  return metrics.find((metric) => metric.id === id)!;
}

/** Which attribute is meant? @throws {RangeError} as `findShoe` */
export function findAttribute({ settings }: Pick<Bench, "settings">, typed: string): Attribute {
  const { attributes } = settings;
  const id = one("attribute", typed, attributes.map(({ id, title }) => ({ id, names: [title] })));
  return attributes.find((attribute) => attribute.id === id)!;
}

/** Which of these ids, of features or rules, is meant? @throws {RangeError} as `findShoe` */
export function findId(kind: string, typed: string, ids: readonly string[]): string {
  return one(kind, typed, ids.map((id) => ({ id, names: [] })));
}

const SHOWN = 8;

function one(kind: string, typed: string, candidates: readonly Named[]): string {
  const found = findName(typed, candidates);
  if ("id" in found) return found.id;
  if ("several" in found) {
    const all = found.several.slice(0, SHOWN).join(", ");
    const more = found.several.length > SHOWN ? ` and ${found.several.length - SHOWN} more` : "";
    throw new CantAnswer(
      { code: "several-fit", what: kind, id: typed, found: found.several },
      `"${typed}" fits ${found.several.length} ${kind}s: ${all}${more}. Write one of them.`,
    );
  }
  const ids = candidates.map(({ id }) => id);
  const offer = ids.length === 0 ? "The bench has none." : offerNames(typed, ids);
  throw new CantAnswer(
    { code: "not-on-bench", what: kind, id: typed },
    `There is no ${kind} "${typed}". ${offer}`,
  );
}

/** The words of a name: small letters without accents, and numbers apart from letters. */
function wordsOf(name: string): string[] {
  return name.normalize("NFKD").replace(/\p{M}/gu, "").toLowerCase()
    .match(/\p{L}+|\p{N}+/gu)?.map((word) => word.replace(/ß/g, "ss")) ?? [];
}

/** Is every wanted word among these, in their order? A number stands for a whole number only. */
function holds(
  words: readonly string[],
  wanted: readonly string[],
  same: (a: string, b: string) => boolean,
): boolean {
  let at = 0;
  for (const word of words) if (at < wanted.length && same(word, wanted[at])) at++;
  return at === wanted.length && wanted.some((word) => word.length > 2);
}

function isSlip(word: string, typed: string): boolean {
  if (word === typed) return true;
  // The first letter is seldom missed, and tells words apart: "weight" is no slip of "height".
  if (word[0] !== typed[0]) return false;
  if (/\d/.test(word + typed) || word.length < 4 || typed.length < 3) return false;
  return editsBetween(word, typed) <= 1;
}
