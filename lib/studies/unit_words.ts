import type { Metric } from "../records/types.ts";

const spelled: Readonly<Record<string, string>> = {
  "1": "",
  "deg": "°",
  "Cel": "°C",
  "[degF]": "°F",
  "[in_i]": "in",
  "[oz_av]": "oz",
  "[lbf_av]": "lbf",
  "N.m/deg": "N·m/°",
  "shore-a": "Shore A",
};

/**
 * How does a unit's code read in a sentence or a picture?
 *
 * @param unit a UCUM code, such as `N.m/deg`
 * @returns what a reader knows, such as `N·m/°`; empty for a plain ratio
 */
export function unitWords(unit: string): string {
  return spelled[unit] ?? unit;
}

/**
 * How does a value of a metric read in a sentence?
 *
 * @returns the value with the metric's decimals and unit, such as `2.1 cm`; two significant digits
 * where the metric's decimals would make it 0
 */
export function inUnit(
  value: number,
  { unit, decimals }: Pick<Metric, "unit" | "decimals">,
): string {
  const rounded = value.toFixed(decimals);
  const tooSmall = Number(rounded) === 0 && value !== 0;
  const digits = (tooSmall ? String(Number(value.toPrecision(2))) : rounded).replace(/^-/, "−");
  const words = unitWords(unit);
  return words === "" ? digits : words.startsWith("°") ? `${digits}${words}` : `${digits} ${words}`;
}
