import * as option from "../options.ts";
import { sizeCaution } from "./cautions.ts";
import { requireBetween } from "./domain.ts";
import type { MetricValue } from "./metric_value.ts";
import { propagate } from "./propagate.ts";

/**
 * How much wider than the foot is the shoe inside?
 *
 * Inside width at the ball minus foot width, of a person or of a Mondopoint label (260/102: 102
 * mm). Only Mondopoint writes a width in mm; width letters differ by maker and are not converted.
 * Uppers give, so a small negative figure may still be worn.
 *
 * @param inside_width_mm inside width at the ball, 40 to 200
 * @param options `foot_width_mm` 40 to 200; `u_…` the standard uncertainties of both, 0 for an
 *   exact one
 * @returns the room in mm, negative where the foot is wider
 * @throws {RangeError} if a width is implausible
 * @see related: ISO 9407 (Mondopoint), from memory; no conformity claimed
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { metrics } from "bench-to-court";
 * assert.equal(metrics.widthAllowance(94, { foot_width_mm: 102 }).value, -8);
 * ```
 */
export function widthAllowance(
  inside_width_mm: number,
  { foot_width_mm, u_inside_width_mm, u_foot_width_mm }: {
    readonly foot_width_mm: number;
    readonly u_inside_width_mm?: number;
    readonly u_foot_width_mm?: number;
  },
): MetricValue {
  option.check("metrics.widthAllowance", arguments[1], {
    foot_width_mm: option.needed(option.number),
    u_inside_width_mm: option.notNegative,
    u_foot_width_mm: option.notNegative,
  });
  requireBetween("inside_width_mm", inside_width_mm, [40, 200], "mm of a shoe");
  requireBetween("foot_width_mm", foot_width_mm, [40, 200], "mm of a foot");
  return {
    value: inside_width_mm - foot_width_mm,
    unit: "mm",
    ...propagate([
      { name: "u_inside_width_mm", u: u_inside_width_mm, slope: 1 },
      { name: "u_foot_width_mm", u: u_foot_width_mm, slope: -1 },
    ]),
    caution: sizeCaution,
  };
}
