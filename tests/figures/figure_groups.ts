// Figures in groups, each with a sum that tells whether any of them moved.
import { createHash } from "node:crypto";

/** One number, truth value or word of a result, and where it stands in it. */
export type Figure = { readonly at: string; readonly value: string };

/** Group → how many figures it has and their sum, as it is kept. */
export type Groups = ReadonlyMap<string, string>;

/** Every figure of a result: numbers to seven digits; sentences are left out, other tests hold them. */
export function* figuresOf(at: string, value: unknown): Generator<Figure> {
  if (typeof value === "number") yield { at, value: String(Number(value.toPrecision(7))) };
  else if (typeof value === "string") {
    if (value.length < 40) yield { at, value };
  } else if (value instanceof Map || value instanceof Set) yield* figuresOf(at, [...value]);
  else if (ArrayBuffer.isView(value)) yield* figuresOf(at, Array.from(value as Float64Array));
  else if (typeof value === "object" && value !== null) {
    for (const [key, part] of Object.entries(value)) yield* figuresOf(`${at} › ${key}`, part);
  } else yield { at, value: String(value) };
}

/** The figures of several results by the first two steps of where they stand. */
export function groupsOf(results: Readonly<Record<string, unknown>>): Groups {
  const figures = Object.entries(results).flatMap(([name, result]) => [...figuresOf(name, result)]);
  const byGroup = Map.groupBy(figures, ({ at }) => at.split(" › ").slice(0, 2).join(" › "));
  return new Map([...byGroup].map(([group, own]) => {
    const sum = createHash("sha256");
    for (const { at, value } of own) sum.update(`${at}\t${value}\n`);
    return [group, `${own.length} ${sum.digest("hex").slice(0, 12)}`];
  }));
}

/** As they are kept, a group a line. */
export function groupsText(groups: Groups): string {
  return [...groups].map(([group, sum]) => `${sum} ${group}\n`).join("");
}

/** Groups that came, went or moved. */
export function movedGroups(kept: string, now: Groups): string[] {
  const before = new Map(
    kept.trimEnd().split("\n").map((line) => {
      const [, sum, group] = /^(\d+ [0-9a-f]+) (.*)$/.exec(line)!;
      return [group, sum] as const;
    }),
  );
  return [...new Set([...before.keys(), ...now.keys()])]
    .filter((group) => before.get(group) !== now.get(group));
}
