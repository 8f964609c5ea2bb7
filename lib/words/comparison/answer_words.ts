import type { ComparedOn } from "../../studies/comparison/compared_on.ts";
import { inUnit } from "../unit_words.ts";

/** A value of a metric or a rating, with its unit. */
export function measured(
  value: number,
  { unit, decimals }: Pick<ComparedOn, "unit" | "decimals">,
): string {
  if (unit === null) return `${inUnit(value, { unit: "1", decimals })} points`;
  return inUnit(value, { unit, decimals });
}
