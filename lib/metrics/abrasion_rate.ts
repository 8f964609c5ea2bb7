import * as option from "../options.ts";
import { dustCaution } from "./cautions.ts";
import { requireAbove, requireAtLeast } from "./domain.ts";
import type { MetricValue } from "./metric_value.ts";
import { propagate } from "./propagate.ts";

/**
 * How fast does the outsole wear under the sander?
 *
 * Depth lost over time sanded, with the same grit, load and speed for every shoe. As common
 * practice, no source: ten seconds of coarse sanding mark a hard rubber outsole by less than 1 mm.
 *
 * @param depth_mm depth lost, 0 or more
 * @param options `seconds` sanded, above 0; `u_…` the standard uncertainties of both, 0 for an
 *   exact one
 * @returns the rate in mm/min; fresh and loaded paper differ, so change it as the method says
 * @throws {RangeError} if the depth is negative or the time is not above 0
 * @see related: ISO 4649 (abrasion of rubber on a rotating drum), no conformity claimed
 *
 * @example 0.9 mm in 12 s
 * ```ts
 * import assert from "node:assert/strict";
 * import { metrics } from "bench-to-court";
 * assert.equal(metrics.abrasionRate(0.9, { seconds: 12 }).value.toFixed(6), "4.500000");
 * ```
 */
export function abrasionRate(
  depth_mm: number,
  { seconds, u_depth_mm, u_seconds }: {
    readonly seconds: number;
    readonly u_depth_mm?: number;
    readonly u_seconds?: number;
  },
): MetricValue {
  option.check("metrics.abrasionRate", arguments[1], {
    seconds: option.needed(option.number),
    u_depth_mm: option.notNegative,
    u_seconds: option.notNegative,
  });
  requireAtLeast("depth_mm", depth_mm, 0);
  requireAbove("seconds", seconds, 0);
  const value = (depth_mm / seconds) * 60;
  return {
    value,
    unit: "mm/min",
    ...propagate([
      { name: "u_depth_mm", u: u_depth_mm, slope: 60 / seconds },
      { name: "u_seconds", u: u_seconds, slope: value / seconds },
    ]),
    caution: dustCaution,
  };
}
