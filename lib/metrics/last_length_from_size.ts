import * as option from "../options.ts";
import { sizeCaution } from "./cautions.ts";
import { requireBetween, requireFinite, requireOneOf, wrong } from "./domain.ts";
import type { MetricValue } from "./metric_value.ts";
import { type SizeConventions, type SizeSystem, sizeSystems } from "./size_system.ts";

/**
 * How long is the last of a shoe with this size on its label?
 *
 * EU: size × 2/3 cm. UK adult: (size + 25)/3 inches. US men: (size + 24)/3 inches. US women: as
 * men, after taking off 1.5 (or 1) sizes. Mondopoint: the foot's length plus the allowance. Adult
 * scales only, lasts of 215 to 360 mm.
 *
 * @param size as labelled; Mondopoint in mm
 * @param options `size_system`, and the conventions that differ by maker, `allowance_mm` and
 *   `us_women_over_men`
 * @returns the length in mm. The standard uncertainty is that of the conventions used, each as
 *   likely anywhere in its common range (allowance 10 to 20 mm, US women 1 to 1.5); 0 where the
 *   arithmetic needs none
 * @throws {RangeError} if the size is outside the adult scale or a convention outside its common
 *   range
 * @see ISO 9407 (Mondopoint) and ISO 19407 (conversion tables), from memory; Paris point and
 *   barleycorn as trade definitions; the 25 and 24 are common practice. In some countries EU sizes
 *   are read as foot length: a conversion is a suggestion
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { metrics } from "bench-to-court";
 * assert.equal(metrics.lastLengthFromSize(42, { size_system: "eu" }).value.toFixed(6), "280.000000");
 * assert.equal(metrics.lastLengthFromSize(11, { size_system: "us-men" }).value.toFixed(1), "296.3");
 * ```
 */
export function lastLengthFromSize(
  size: number,
  { size_system, allowance_mm = 15, us_women_over_men = 1.5 }: SizeConventions & {
    readonly size_system: SizeSystem;
  },
): MetricValue {
  option.check("metrics.lastLengthFromSize", arguments[1], {
    allowance_mm: option.number,
    us_women_over_men: option.number,
    size_system: option.needed(option.oneOf("mondopoint", "eu", "us-men", "us-women", "uk")),
  });
  requireFinite("size", size);
  requireConventions({ size_system, allowance_mm, us_women_over_men });
  const value = lastOf(size, { size_system, allowance_mm, us_women_over_men });
  if (value < shortestLast_mm - 1e-9 || value > longestLast_mm + 1e-9) {
    throw wrong(
      "size",
      size,
      `an adult ${size_system} size${size_system === "mondopoint" ? " in mm" : ""} ` +
        `(last of ${shortestLast_mm} to ${longestLast_mm} mm; this one is ${value.toFixed(1)} mm)`,
    );
  }
  return {
    value,
    unit: "mm",
    standard_uncertainty: conventionUncertainty_mm(size_system),
    standard_uncertainty_reason: null,
    caution: sizeCaution,
  };
}

/** Lasts of the adult scales. */
export const shortestLast_mm = 215;
export const longestLast_mm = 360;

/** A third of an inch and two thirds of a centimetre. */
export const barleycorn_mm = 25.4 / 3;
export const parisPoint_mm = 20 / 3;

function lastOf(
  size: number,
  { size_system, allowance_mm, us_women_over_men }:
    & Required<SizeConventions>
    & { readonly size_system: SizeSystem },
): number {
  switch (size_system) {
    case "mondopoint":
      return size + allowance_mm;
    case "eu":
      return size * parisPoint_mm;
    case "uk":
      return (size + 25) * barleycorn_mm;
    case "us-men":
      return (size + 24) * barleycorn_mm;
    case "us-women":
      return (size - us_women_over_men + 24) * barleycorn_mm;
  }
}

/** Conventions within their common ranges. */
export function requireConventions(
  { size_system, allowance_mm, us_women_over_men }:
    & Required<SizeConventions>
    & { readonly size_system: SizeSystem },
): void {
  requireOneOf("size_system", size_system, sizeSystems);
  requireBetween("allowance_mm", allowance_mm, [10, 20], "common practice");
  requireBetween("us_women_over_men", us_women_over_men, [1, 1.5], "custom");
}

/** Spread of a uniform convention: range over √12, in mm of last. */
export function conventionUncertainty_mm(size_system: SizeSystem): number {
  if (size_system === "mondopoint") return 10 / Math.sqrt(12);
  return size_system === "us-women" ? (0.5 * barleycorn_mm) / Math.sqrt(12) : 0;
}
