import * as option from "../options.ts";
import { sizeCaution } from "./cautions.ts";
import { requireBetween } from "./domain.ts";
import {
  barleycorn_mm,
  conventionUncertainty_mm,
  longestLast_mm,
  parisPoint_mm,
  requireConventions,
  shortestLast_mm,
} from "./last_length_from_size.ts";
import type { MetricValue } from "./metric_value.ts";
import type { SizeConventions, SizeSystem } from "./size_system.ts";

/**
 * Which size does a last of this length make?
 *
 * The inverse of `lastLengthFromSize`, unrounded: makers label the nearest size or half size.
 *
 * @param last_length_mm 215 to 360, the adult scales
 * @param options `size_system`, and the conventions that differ by maker, `allowance_mm` and
 *   `us_women_over_men`
 * @returns the size (unit `1`; Mondopoint in mm), with the standard uncertainty of the conventions
 *   used
 * @throws {RangeError} if the length is outside the adult scales or a convention outside its common
 *   range
 * @see ISO 9407 and ISO 19407, from memory; trade definitions as in `lastLengthFromSize`
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { metrics } from "bench-to-court";
 * assert.equal(metrics.sizeFromLastLength(280, { size_system: "uk" }).value.toFixed(3), "8.071");
 * ```
 */
export function sizeFromLastLength(
  last_length_mm: number,
  { size_system, allowance_mm = 15, us_women_over_men = 1.5 }: SizeConventions & {
    readonly size_system: SizeSystem;
  },
): MetricValue {
  option.check("metrics.sizeFromLastLength", arguments[1], {
    allowance_mm: option.number,
    us_women_over_men: option.number,
    size_system: option.needed(option.oneOf("mondopoint", "eu", "us-men", "us-women", "uk")),
  });
  requireBetween(
    "last_length_mm",
    last_length_mm,
    [shortestLast_mm - 1e-9, longestLast_mm + 1e-9],
    "the adult scales",
  );
  requireConventions({ size_system, allowance_mm, us_women_over_men });
  return {
    value: sizeOf(last_length_mm, size_system, allowance_mm, us_women_over_men),
    unit: size_system === "mondopoint" ? "mm" : "1",
    standard_uncertainty: conventionUncertainty_mm(size_system) / sizeStep_mm(size_system),
    standard_uncertainty_reason: null,
    caution: sizeCaution,
  };
}

function sizeOf(
  last_length_mm: number,
  size_system: SizeSystem,
  allowance_mm: number,
  us_women_over_men: number,
): number {
  switch (size_system) {
    case "mondopoint":
      return last_length_mm - allowance_mm;
    case "eu":
      return last_length_mm / parisPoint_mm;
    case "uk":
      return last_length_mm / barleycorn_mm - 25;
    case "us-men":
      return last_length_mm / barleycorn_mm - 24;
    case "us-women":
      return last_length_mm / barleycorn_mm - 24 + us_women_over_men;
  }
}

/** Millimetres of last for one unit of the size; Mondopoint counts in mm. */
export function sizeStep_mm(size_system: SizeSystem): number {
  if (size_system === "mondopoint") return 1;
  return size_system === "eu" ? parisPoint_mm : barleycorn_mm;
}
