import * as option from "../options.ts";
import { requireAbove } from "./domain.ts";
import type { MetricValue } from "./metric_value.ts";
import { propagate } from "./propagate.ts";

/**
 * How long until half of it is gone, when the time constant is known?
 *
 * τ ln 2, for cooling and clearing that follow an exponential.
 *
 * @param time_constant_s above 0
 * @param options `u_time_constant_s` its standard uncertainty
 * @returns the half time in seconds
 * @throws {RangeError} if the time constant is not above 0
 * @see Newton's law of cooling
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { metrics } from "bench-to-court";
 * assert.equal(metrics.halfTimeFromTimeConstant(185).value.toFixed(2), "128.23");
 * ```
 */
export function halfTimeFromTimeConstant(
  time_constant_s: number,
  { u_time_constant_s }: { readonly u_time_constant_s?: number } = {},
): MetricValue {
  option.check("metrics.halfTimeFromTimeConstant", arguments[1], {
    u_time_constant_s: option.notNegative,
  });
  requireAbove("time_constant_s", time_constant_s, 0);
  return {
    value: time_constant_s * Math.LN2,
    unit: "s",
    ...propagate([{ name: "u_time_constant_s", u: u_time_constant_s, slope: Math.LN2 }]),
    caution: null,
  };
}
