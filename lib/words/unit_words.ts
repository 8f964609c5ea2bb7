import type { Metric } from "../records/types.ts";

/** Parts of a code whose everyday form differs from the code. */
const spelled: Readonly<Record<string, string>> = {
  "deg": "°",
  "Cel": "°C",
  "[degF]": "°F",
  "[in_i]": "in",
  "[ft_i]": "ft",
  "[oz_av]": "oz",
  "[lb_av]": "lb",
  "[lbf_av]": "lbf",
  "[psi]": "psi",
  "[ppth]": "‰",
  "um": "µm",
};

/** Codes that are no product of parts. */
const whole: Readonly<Record<string, string>> = {
  "1": "",
  "/min": "per min",
  "shore-a": "Shore A",
  "shore-d": "Shore D",
};

/**
 * How does a unit's code read in a sentence or a picture?
 *
 * @param unit a UCUM code, such as `N.m/deg`
 * @returns what a reader knows, such as `N·m/°`; empty for a plain ratio
 */
export function unitWords(unit: string): string {
  if (Object.hasOwn(whole, unit)) return whole[unit];
  return unit.split("/").map((side) => side.split(".").map(part).join("·")).join("/");
}

/** One factor of a unit: `mm2` as `mm²`. */
function part(code: string): string {
  if (Object.hasOwn(spelled, code)) return spelled[code];
  return code.replace(/(?<=[a-z])[23]$/i, (power) => power === "2" ? "²" : "³");
}

/**
 * Decimals that a figure of noise (an SD, SEM, MDC, the half of an interval) deserves: two significant digits.
 *
 * @see JCGM 100 (GUM), 7.2.6: at most two significant digits are usually enough (from memory)
 */
export function noiseDecimals(noise: number): number {
  if (noise === 0 || !Number.isFinite(noise)) return 0;
  // Rounded first: 0.0996 has its two digits as 0.10.
  const rounded = Math.abs(Number(noise.toPrecision(2)));
  return Math.max(0, 1 - Math.floor(Math.log10(rounded)));
}

/** How does a figure of noise read in a sentence? Two significant digits, such as `2.3 cm` or `0.037`. */
export function noiseInUnit(noise: number, { unit }: Pick<Metric, "unit">): string {
  return inUnit(noise, { unit, decimals: noiseDecimals(noise) });
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
