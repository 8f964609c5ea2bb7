import type { ComparedOn } from "../../studies/comparison/compared_on.ts";
import { valueInUnit } from "../unit_words.ts";

/** A value of a metric or a rating, with its unit, no finer than its noise: its limits, or an MDC. */
export function measured(
  value: number,
  { unit, decimals }: Pick<ComparedOn, "unit" | "decimals">,
  noise: Parameters<typeof valueInUnit>[2] = null,
): string {
  if (unit === null) return `${valueInUnit(value, { unit: "1", decimals }, noise)} points`;
  return valueInUnit(value, { unit, decimals }, noise);
}
