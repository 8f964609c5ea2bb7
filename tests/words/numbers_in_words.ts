import type { Bench } from "../../lib/records/types.ts";
import { namesOf } from "../../lib/studies/shoes/asked_shoes.ts";

/** A number as it stands in a text, and where. */
export type SaidNumber = {
  readonly value: number;
  readonly decimals: number;
  readonly text: string;
};

/**
 * Which numbers does a text say, besides those that belong to a name, a title, a date or a unit?
 *
 * @param names whatever may stand in the text with digits of its own, such as the names of shoes
 */
export function saidNumbers(text: string, names: readonly string[]): SaidNumber[] {
  const bare = names.toSorted((a, b) => b.length - a.length)
    .reduce((left, name) => left.replaceAll(name, " "), text)
    .replace(/\d{4}-\d{2}(-\d{2})?|\d{4}Q[1-4]/g, " ");
  return [...bare.matchAll(/(?<![\w.])[−-]?\d+(?:\.(\d+))?(?![\w])/g)].map((found) => ({
    value: Number(found[0].replace("−", "-")),
    decimals: found[1]?.length ?? 0,
    text: bare.slice(Math.max(0, found.index - 30), found.index + found[0].length + 15),
  }));
}

/**
 * Every number that a result holds or counts: its numbers, how long its lists are, and how many members of a
 * list share a word or lie on one side of nothing.
 */
export function heldNumbers(result: unknown): Set<number> {
  const held = new Set<number>();
  const visit = (value: unknown): void => {
    if (typeof value === "number") held.add(value);
    else if (Array.isArray(value)) {
      held.add(value.length);
      for (const count of wordCounts(value)) held.add(count);
      value.forEach(visit);
    } else if (typeof value === "object" && value !== null) Object.values(value).forEach(visit);
  };
  visit(result);
  return held;
}

/** How many members of a list have each value of each of their words, nulls and flags counted too. */
export function wordCounts(list: readonly unknown[]): number[] {
  const counts = new Map<string, number>();
  for (const member of list) {
    if (typeof member !== "object" || member === null) continue;
    for (const [key, value] of Object.entries(member)) {
      if (typeof value === "object" && value !== null) continue;
      if (typeof value === "number" && !Number.isInteger(value)) continue;
      const at = `${key} ${String(value)}`;
      counts.set(at, (counts.get(at) ?? 0) + 1);
    }
  }
  return [...counts.values()];
}

/**
 * Which numbers of a text are nowhere in the result that it is about, to the rounding of the text?
 *
 * A number also counts as found as a share in percent, without its sign, or as one of others (a count less one,
 * what is left of a total, half an interval): each of these ways is tried on numbers of the result alone.
 */
export function unfoundNumbers(
  text: string,
  result: unknown,
  { names = [], also = [] }: {
    readonly names?: readonly string[];
    /** Numbers that the words may take from elsewhere, such as a limit of the trade. */
    readonly also?: readonly number[];
  } = {},
): string[] {
  const held = [...heldNumbers(result), ...also];
  const ways = held.flatMap((value) => [
    value,
    Math.abs(value),
    100 * value,
    100 * (1 - value),
    value - 1,
  ]);
  return saidNumbers(text, names).filter(({ value, decimals }) => {
    const within = 0.5 * 10 ** -decimals + 1e-9;
    return !ways.some((way) =>
      Math.abs(way - Math.abs(value)) <= within || Math.abs(way - value) <= within
    );
  }).map(({ text }) => text);
}

/** Whatever has digits of its own: names, titles, sizes, versions. */
export function namesIn(bench: Bench): string[] {
  return [
    ...namesOf(bench.shoes),
    ...bench.shoes.flatMap(({ model, edition }) => [`${model} ${edition ?? ""}`, model]),
    ...[...bench.shoes, ...bench.pairs].flatMap(({ size, size_system }) =>
      size === null ? [] : `${size_system ?? bench.settings.size_system} ${size}`
    ),
    ...bench.metrics.flatMap(({ title, method_version }) => [
      title,
      title.toLowerCase(),
      `version ${method_version}`,
    ]),
    ...bench.rules.flatMap(({ title, version }) => [title, `version ${version}`]),
  ];
}
