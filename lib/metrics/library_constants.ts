import { wrong } from "./domain.ts";

/** A constant that a derived metric is computed with. */
export type LibraryConstant = {
  readonly name: string;
  /** UCUM code; null for a word. */
  readonly unit: string | null;
  readonly meaning: string;
  /**
   * Taken when the constant isn't given. Without it the constant is required, unless `optional`.
   */
  readonly default?: number | string;
  /** Left out, it only costs the standard uncertainty. */
  readonly optional?: true;
  /** Words that may stand in place of the number. */
  readonly words?: readonly string[];
  /** The words, or numbers, that are allowed. */
  readonly choices?: readonly (string | number)[];
  /** Column of shoes.csv that says it better than one constant for all shoes. */
  readonly shoe_column?: "size" | "size_system";
};

/** The given constants with defaults filled in, each of its declared kind. */
export function checkedConstants(
  name: string,
  declared: readonly LibraryConstant[],
  given: Readonly<Record<string, number | string>>,
): Record<string, number | string> {
  const names = declared.map((each) => each.name);
  const unknown = Object.keys(given).find((key) => !names.includes(key));
  if (unknown !== undefined) {
    throw new RangeError(
      `${name} takes no constant ${JSON.stringify(unknown)}, expected ${
        names.join(", ") || "none"
      }`,
    );
  }
  return Object.fromEntries(declared.flatMap((each) => {
    const found = Object.hasOwn(given, each.name) ? given[each.name] : each.default;
    if (found === undefined && each.optional) return [];
    const expected = each.choices !== undefined
      ? `one of ${each.choices.join(", ")}`
      : `a number${each.unit === "1" ? "" : ` in ${each.unit}`}${
        each.words === undefined ? "" : `, or ${each.words.join(" or ")}`
      }: ${each.meaning}`;
    const fits = each.choices?.includes(found as string | number) ??
      ((typeof found === "number" && Number.isFinite(found)) ||
        (each.words?.includes(found as string) ?? false));
    if (found === undefined) {
      throw new RangeError(`${name}: constant ${each.name} is missing, expected ${expected}`);
    }
    if (!fits) {
      throw wrong(`${name}: constant ${each.name}`, found, expected);
    }
    return [[each.name, found]];
  }));
}
