import type { Metric } from "../records/types.ts";
import { decimalsOf, noiseDecimals, noiseOf } from "./digits.ts";

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
  return withUnit(tooSmall ? String(Number(value.toPrecision(2))) : rounded, unit);
}

function withUnit(digits: string, unit: string): string {
  const shown = Number(digits) === 0 ? digits.replace("-", "") : digits.replace("-", "−");
  const words = unitWords(unit);
  return words === "" ? shown : words.startsWith("°") ? `${shown}${words}` : `${shown} ${words}`;
}

/**
 * How does a value with known noise read in a sentence? As `inUnit` writes it, but no finer than the noise.
 *
 * A value too small for the metric's decimals gets more of them where it matters that it isn't 0: the noise is as
 * small, or its limits leave 0 out. Else 0 is what it comes to, -0.0042 within -0.36 and 0.35.
 *
 * @param noise the value's limits or a figure of its noise; null where it is unknown
 */
export function valueInUnit(
  value: number,
  { unit, decimals }: Pick<Metric, "unit" | "decimals">,
  noise: Parameters<typeof decimalsOf>[0],
): string {
  const sure = decimalsOf(noise, decimals);
  const isOffZero = typeof noise === "object" && noise !== null && noise.lower !== null &&
    noise.upper !== null && (noise.lower > 0 || noise.upper < 0);
  return sure === decimals && (isOffZero || noiseOf(noise) < 0.5 * 10 ** -decimals)
    ? inUnit(value, { unit, decimals })
    : withUnit(value.toFixed(sure), unit);
}

/** How does a value read of which only a bound is known? `<1 mm`, never rounded to inside the bound. */
export function boundInUnit(
  bound: { readonly below: number } | { readonly above: number },
  { unit, decimals }: Pick<Metric, "unit" | "decimals">,
): string {
  const step = 10 ** decimals;
  // 1e-9: what binary fractions add to a number that is already round.
  return "below" in bound
    ? `<${inUnit(Math.ceil(bound.below * step - 1e-9) / step, { unit, decimals })}`
    : `>${inUnit(Math.floor(bound.above * step + 1e-9) / step, { unit, decimals })}`;
}
