import * as option from "../options.ts";
import { slipCaution } from "./cautions.ts";
import { requireAbove, requireAtLeast } from "./domain.ts";
import type { MetricValue } from "./metric_value.ts";
import { propagate } from "./propagate.ts";

/**
 * How much grip does the force show at which a loaded shoe begins to slide?
 *
 * Pull over normal force. The highest pull before it moves gives static friction; the steady pull
 * afterwards, sliding friction: say which was read.
 *
 * @param pull_n level pull in newtons, 0 or more
 * @param options `normal_force_n` above 0, what presses the shoe down (`normalForceFromMass` gives
 *   it); `u_…` the standard uncertainties of both forces, 0 for an exact one
 * @returns the coefficient of friction (unit `1`)
 * @throws {RangeError} if the pull is negative or the normal force is not above 0
 * @see textbook mechanics; related: ISO 13287 (slip resistance of footwear), no conformity claimed
 *
 * @example A shoe loaded with 98.0665 N that slides at 50 N
 * ```ts
 * import assert from "node:assert/strict";
 * import { metrics } from "bench-to-court";
 * assert.equal(metrics.frictionFromPull(50, { normal_force_n: 98.0665 }).value.toFixed(4), "0.5099");
 * ```
 */
export function frictionFromPull(
  pull_n: number,
  { normal_force_n, u_pull_n, u_normal_force_n }: {
    readonly normal_force_n: number;
    readonly u_pull_n?: number;
    readonly u_normal_force_n?: number;
  },
): MetricValue {
  option.check("metrics.frictionFromPull", arguments[1], {
    normal_force_n: option.needed(option.number),
    u_pull_n: option.notNegative,
    u_normal_force_n: option.notNegative,
  });
  requireAtLeast("pull_n", pull_n, 0);
  requireAbove("normal_force_n", normal_force_n, 0);
  const value = pull_n / normal_force_n;
  return {
    value,
    unit: "1",
    ...propagate([
      { name: "u_pull_n", u: u_pull_n, slope: 1 / normal_force_n },
      { name: "u_normal_force_n", u: u_normal_force_n, slope: value / normal_force_n },
    ]),
    caution: slipCaution,
  };
}
