import { plainName } from "./import_cells.ts";
import type { ImportMapping } from "./import_mapping.ts";
import { slugOf } from "./import_shoe_names.ts";
import { quoted } from "./problem.ts";
import { nearestName } from "../similar_names.ts";

/** What a name other than a shoe's belongs to. */
export type NameKind = "operators" | "rigs" | "testers" | "attributes" | "metrics";

/** A name that stands in the bench in other words than in the spreadsheet. */
export type NameTaken = {
  readonly kind: NameKind;
  readonly name: string;
  readonly taken_as: string;
  readonly cells: number;
};

/** Finds what the names of people, rigs, attributes and metrics stand for, and keeps what it changed. */
export type OtherNames = {
  readonly find: (kind: NameKind, text: string) => string | { readonly why: string };
  readonly changed: () => NameTaken[];
};

/**
 * What is an operator, a rig, a tester, an attribute or a metric called in the bench?
 *
 * One that the mapping does not list is taken as it stands, an attribute as an id made of it. A metric
 * has to be known: its unit and its direction can't be made up.
 *
 * @param metricIds every metric of the mapping and of the bench
 */
export function otherNames(mapping: ImportMapping, metricIds: Iterable<string>): OtherNames {
  const listed: Record<NameKind, Map<string, string>> = {
    operators: spellings(mapping.operators),
    rigs: spellings(mapping.rigs),
    testers: spellings(mapping.testers),
    attributes: spellings(mapping.attributes),
    metrics: spellings(
      mapping.metrics.map(({ id, title, spelt }) => ({
        name: id,
        spelt: title === undefined ? spelt : [...spelt, title],
      })),
    ),
  };
  const metrics = new Set(metricIds);
  for (const id of metrics) listed.metrics.set(plainName(id), id);
  const changed = new Map<string, { kind: NameKind; name: string; taken_as: string; n: number }>();
  const lookUp = (kind: NameKind, text: string) => {
    const found = listed[kind].get(plainName(text));
    if (found !== undefined) return found;
    if (kind === "attributes") return slugOf(text) || text;
    if (kind !== "metrics") return text;
    const slug = slugOf(text);
    if (metrics.has(slug)) return slug;
    const near = nearestName(plainName(text), listed.metrics.keys());
    return {
      why: `${quoted(text)} is no metric of the mapping or the bench; list it in "metrics", or ` +
        `among the spellings ("spelt") of one` +
        (near === null ? "" : `; the nearest there is: ${quoted(near)}`),
    };
  };
  return {
    find(kind, text) {
      const found = lookUp(kind, text);
      if (typeof found === "object" || found === text) return found;
      const key = `${kind}\0${text}`;
      const entry = changed.get(key) ?? { kind, name: text, taken_as: found, n: 0 };
      entry.n++;
      changed.set(key, entry);
      return found;
    },
    changed: () => [...changed.values()].map(({ n, ...entry }) => ({ ...entry, cells: n })),
  };
}

function spellings(
  list: readonly { readonly name: string; readonly spelt: readonly string[] }[],
): Map<string, string> {
  return new Map(
    list.flatMap(({ name, spelt }) => [name, ...spelt].map((one) => [plainName(one), name])),
  );
}
