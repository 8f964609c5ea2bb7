import { plainName } from "./import_cells.ts";
import { slugOf } from "./import_shoe_names.ts";
import { nearestName } from "../similar_names.ts";

/** A guessed shoe with the names that may mean it, as it stands in a mapping. */
export type GuessedShoe = {
  readonly shoe_id: string;
  readonly spelt: readonly string[];
  readonly maker?: string;
  readonly model: string;
  readonly edition?: string;
  readonly guess?: string;
};

/** A guessed name with its spellings, as it stands in a mapping. */
export type GuessedName = {
  readonly name: string;
  readonly spelt: readonly string[];
  readonly guess: string;
};

/**
 * Which of these names may mean one shoe?
 *
 * Joins spellings that differ in capitals, marks, numerals (II and 2), or in a maker that is left out or
 * shortened to its first letters. Names that differ in a letter or two stay apart, and say which is near:
 * Drift and Swift are two shoes.
 *
 * @param makers those that a column of their own names
 * @param parts maker, model and edition, where columns of their own give them, by the plain name
 */
export function suggestShoes(
  names: readonly string[],
  makers: readonly string[] = [],
  parts: ReadonlyMap<string, ShoeParts> = new Map(),
): GuessedShoe[] {
  const groups: { id: string; spelt: string[] }[] = [];
  const digits = (id: string) => id.replace(/\D/g, "");
  const named = names.map((name) => ({ name, id: arabic(slugOf(name)) }))
    .filter(({ id }) => id !== "");
  // Whole names first, so that a short one meets every shoe that it may stand for.
  const isShort = (id: string) => /^[a-z]{1,2}-/.test(id);
  for (
    const { name, id } of [...named].sort((a, b) => Number(isShort(a.id)) - Number(isShort(b.id)))
  ) {
    const same = groups.filter((group) => digits(group.id) === digits(id)).map((group) => group.id);
    const near = same.find((other) => other === id) ??
      (parts.has(plainName(name))
        ? null
        : onlyOne(same.filter((other) => isShortFor(id, other) || isShortFor(other, id))));
    const group = groups.find((one) => one.id === near);
    if (group === undefined) groups.push({ id, spelt: [name] });
    else {
      group.spelt.push(name);
      if (isShortFor(group.id, id)) group.id = id;
    }
  }
  for (const { spelt } of groups) spelt.sort((a, b) => names.indexOf(a) - names.indexOf(b));
  const firstWords = groups.map(({ id }) => id.split("-")[0]);
  const order = (spelt: readonly string[]) => Math.min(...spelt.map((name) => names.indexOf(name)));
  const ids = groups.map(({ id }) => id);
  return groups.sort((a, b) => order(a.spelt) - order(b.spelt)).map(({ id, spelt }) => {
    const known = spelt.map((name) => parts.get(plainName(name))).find((one) => one !== undefined);
    const alike = ids.filter((one) => digits(one) === digits(id) && !differsByCode(one, id));
    const near = nearestName(id, alike);
    const apart = near === null ? "" : `Near to ${near}: one shoe? Then join the spellings. `;
    if (known?.model !== undefined) {
      const { maker, model, edition } = known;
      const guess = apart.trim();
      return {
        shoe_id: id,
        spelt,
        ...(maker === undefined ? {} : { maker }),
        model,
        ...(edition === undefined ? {} : { edition }),
        ...(guess === "" ? {} : { guess }),
      };
    }
    const [first, ...rest] = id.split("-");
    const isMaker = rest.length > 0 && first.length > 2 &&
      (firstWords.filter((one) => one === first).length > 1 ||
        spelt.some((name) => isShortFor(arabic(slugOf(name)), id)));
    // Of the whole spellings the one with a capital, to take the words from.
    const whole = spelt.filter((name) => arabic(slugOf(name)) === id);
    const shown = whole.find((name) => /^\p{Lu}/u.test(name)) ?? whole[0] ?? spelt[0];
    const joined = (spelt.length > 1 ? "One shoe? Take apart what are two. " : "") + apart;
    const maker = makers.find((one) => plainName(shown).startsWith(`${plainName(one)} `));
    if (!isMaker && maker === undefined) {
      const guess = `${joined}Write "maker", and leave the maker out of "model".`;
      return { shoe_id: id, spelt, model: shown, guess };
    }
    const all = shown.trim().split(/\s+/);
    const long = maker === undefined ? 1 : maker.trim().split(/\s+/).length;
    const words = [all.slice(0, long).join(" "), ...all.slice(long)];
    const edition = words.length > 2 && /^(\d+|[ivx]+)$/i.test(words.at(-1)!)
      ? id.split("-").at(-1)
      : undefined;
    const model = words.slice(1, edition === undefined ? undefined : -1).join(" ");
    return {
      shoe_id: id,
      spelt,
      maker: capital(words[0]),
      model: model === "" ? shown : model,
      ...(edition === undefined ? {} : { edition }),
      guess: `${joined}Check maker, model and edition.`,
    };
  });
}

/** Names that are one in all but capitals, points and spaces (`MB`, `m.b.`); those spelt one way are left out. */
export function suggestNames(names: readonly string[]): GuessedName[] {
  const groups = new Map<string, string[]>();
  for (const name of names) {
    const key = slugOf(name).replaceAll("-", "");
    if (key === "") continue;
    const group = groups.get(key) ?? [];
    if (!group.some((one) => plainName(one) === plainName(name))) group.push(name);
    groups.set(key, group);
  }
  return [...groups].filter(([, spelt]) => spelt.length > 1)
    .map(([name, spelt]) => ({ name, spelt, guess: "One name? Take apart what are two." }));
}

/** What the rows of a long sheet call their metrics: each with the spellings that may mean it. */
export function suggestMetricNames(names: readonly string[]): { id: string; spelt: string[] }[] {
  const groups: { id: string; spelt: string[] }[] = [];
  for (const name of names) {
    const id = slugOf(name.replace(/[([][^)\]]*[)\]]/g, " ")) || slugOf(name);
    if (id === "") continue;
    const ids = groups.map((group) => group.id);
    const near = ids.includes(id) ? id : nearestName(id, ids);
    const group = groups.find((one) => one.id === near);
    if (group === undefined) groups.push({ id, spelt: [name] });
    else if (!group.spelt.some((one) => plainName(one) === plainName(name))) group.spelt.push(name);
  }
  return groups;
}

/** Are two ids apart in a word of a letter or two? Such a word tells models apart, and is no slip. */
function differsByCode(a: string, b: string): boolean {
  if (a === b) return false;
  const [left, right] = [a.split("-"), b.split("-")];
  return left.length === right.length &&
    left.every((word, i) => word === right[i] || word.replace(/\d/g, "").length <= 2);
}

function onlyOne(names: readonly string[]): string | null {
  return names.length === 1 ? names[0] : null;
}

/** `alder` and `t-alder` for `tarnwick-alder`: the maker left out, or its first letters. */
function isShortFor(short: string, long: string): boolean {
  const [a, b] = [short.split("-"), long.split("-")];
  const [maker, ...model] = b;
  if (maker.length < 3 || model.join("").length < 3) return false;
  if (a.join("-") === model.join("-")) return true;
  const [initial, ...rest] = a;
  return initial.length <= 2 && maker.startsWith(initial) && rest.join("-") === model.join("-");
}

/** An id with its edition in digits: `alder-ii` is `alder-2`. */
function arabic(id: string): string {
  const numerals = ["ii", "iii", "iv", "v", "vi", "vii", "viii", "ix"];
  return id.replace(/-([ivx]+)$/, (all, numeral) => {
    const at = numerals.indexOf(numeral);
    return at < 0 ? all : `-${at + 2}`;
  });
}

function capital(word: string): string {
  return word.charAt(0).toUpperCase() + word.slice(1);
}

/** The parts of one shoe's name. */
export type ShoeParts = {
  readonly maker?: string;
  readonly model?: string;
  readonly edition?: string;
};
