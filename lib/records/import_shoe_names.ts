import { plainName } from "./import_cells.ts";
import type { ImportMapping } from "./import_mapping.ts";
import { quoted } from "./problem.ts";
import { nearestName } from "../similar_names.ts";

/** How a shoe's name in a sheet was understood. */
export type ShoeName = {
  readonly name: string;
  readonly shoe_id: string | null;
  readonly how: "listed in the mapping" | "in the bench already" | "taken as a new shoe" | "left";
  readonly cells: number;
};

/** Finds the shoe that a name in a cell means, and keeps what it was asked. */
export type ShoeNames = {
  readonly find: (
    name: string,
    cell: number | null,
  ) => { readonly shoe_id: string } | { readonly why: string };
  /** Is there a shoe of this name, in the mapping's list or in the bench? */
  readonly isKnown: (name: string) => boolean;
  /** Every spelling met, in the order first met. */
  readonly met: () => ShoeName[];
};

/**
 * Which shoe does a name mean?
 *
 * @param known ids of shoes that are in the bench already
 */
export function shoeNames(mapping: ImportMapping, known: readonly string[]): ShoeNames {
  const listed = new Map<string, string>();
  for (const { shoe_id, spelt } of mapping.shoes) {
    for (const name of [shoe_id, ...spelt]) listed.set(plainName(name), shoe_id);
  }
  const inBench = new Map(known.map((shoe_id) => [plainName(shoe_id), shoe_id]));
  const made = new Map<string, string>(); // the plain name that each new id was made of
  const met = new Map<string, { name: string; found: Found; cells: number }>();
  type Found = Pick<ShoeName, "shoe_id" | "how"> & { readonly why: string };

  const lookUp = (name: string): Found => {
    const plain = plainName(name);
    const taken = (shoe_id: string, how: ShoeName["how"]): Found => ({ shoe_id, how, why: "" });
    const left = (why: string): Found => ({ shoe_id: null, how: "left", why });
    const fromList = listed.get(plain);
    if (fromList !== undefined) return taken(fromList, "listed in the mapping");
    const fromBench = inBench.get(plain);
    if (fromBench !== undefined) return taken(fromBench, "in the bench already");
    const near = nearestName(plain, [...listed.keys(), ...inBench.keys(), ...made.values()]);
    const hint = near === null ? "" : `; the nearest there is: ${quoted(near)}`;
    if (mapping.unlisted_shoes === "leave") {
      return left(`the shoe ${quoted(name)} is not in the mapping's list${hint}`);
    }
    const shoe_id = slugOf(name);
    if (shoe_id === "") return left(`no id can be made of the shoe's name ${quoted(name)}`);
    if (mapping.shoes.some((shoe) => shoe.shoe_id === shoe_id)) {
      return left(
        `the shoe ${quoted(name)} would get the id ${shoe_id}, which the mapping lists; ` +
          "list its spellings",
      );
    }
    // Names that differ in marks and capitals only share an id: the bench does not keep the name
    // that an id was made of, so that a second import could not tell them apart again.
    made.set(shoe_id, plain);
    return taken(shoe_id, inBench.has(shoe_id) ? "in the bench already" : "taken as a new shoe");
  };
  return {
    find(name, _cell) {
      const entry = met.get(name) ?? { name, found: lookUp(name), cells: 0 };
      entry.cells++;
      met.set(name, entry);
      const { shoe_id, why } = entry.found;
      return shoe_id === null ? { why } : { shoe_id };
    },
    isKnown: (name) => listed.has(plainName(name)) || inBench.has(plainName(name)),
    met: () =>
      [...met.values()].map(({ name, found: { shoe_id, how }, cells }) => ({
        name,
        shoe_id,
        how,
        cells,
      })),
  };
}

/**
 * `alder-2` for `Alder 2`: small letters, digits and single hyphens; `+` and `&` are written out.
 *
 * @returns "" when a letter or digit of another script would be lost, so that two names never
 * share an id because of what was left out
 */
export function slugOf(name: string): string {
  const latin = name.normalize("NFKD").replace(/\p{M}/gu, "").toLowerCase()
    .replace(/[ßæœøłđ]/g, (letter) => LATIN[letter])
    .replaceAll("+", " plus ").replaceAll("&", " and ");
  if (/[^a-z0-9]/.test(latin.replace(/[^\p{L}\p{N}]/gu, ""))) return "";
  return latin.replace(/[^a-z0-9]+/g, "-").replace(/^-+|-+$/g, "");
}

const LATIN: Readonly<Record<string, string>> = {
  ß: "ss",
  æ: "ae",
  œ: "oe",
  ø: "o",
  ł: "l",
  đ: "d",
};
