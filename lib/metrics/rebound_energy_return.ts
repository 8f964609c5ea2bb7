import * as option from "../options.ts";
import { benchCaution } from "./cautions.ts";
import { requireAbove, requireBetween } from "./domain.ts";
import type { MetricValue } from "./metric_value.ts";
import { propagate } from "./propagate.ts";

/**
 * How much of a falling ball's energy does the midsole give back?
 *
 * Rebound height over drop height, both from the same level: the lowest point of the ball at rest
 * on the sole. Air drag and spin are left out. As common practice, no source: midsoles return 26 to
 * 34 cm, the livelier foams at the top.
 *
 * @param rebound_height_cm from 0 to the drop height
 * @param options `drop_height_cm` above 0; `u_…` the standard uncertainties of both heights, 0 for
 *   an exact one
 * @returns a share (unit `1`); its standard uncertainty where both heights have one
 * @throws {RangeError} if the drop height is not above 0, or the rebound is negative or above the
 *   drop
 * @see textbook mechanics; related: ISO 8307 (ball rebound of flexible foam), ASTM F1976, no
 *   conformity claimed
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { metrics } from "bench-to-court";
 * assert.equal(metrics.reboundEnergyReturn(50, { drop_height_cm: 100 }).value, 0.5);
 * ```
 */
export function reboundEnergyReturn(
  rebound_height_cm: number,
  { drop_height_cm, u_rebound_height_cm, u_drop_height_cm }: ReboundOptions,
): MetricValue {
  option.check("metrics.reboundEnergyReturn", arguments[1], {
    drop_height_cm: option.needed(option.number),
    u_rebound_height_cm: option.notNegative,
    u_drop_height_cm: option.notNegative,
  });
  requireRebound(rebound_height_cm, drop_height_cm);
  const value = rebound_height_cm / drop_height_cm;
  return {
    value,
    unit: "1",
    ...propagate([
      { name: "u_rebound_height_cm", u: u_rebound_height_cm, slope: 1 / drop_height_cm },
      { name: "u_drop_height_cm", u: u_drop_height_cm, slope: value / drop_height_cm },
    ]),
    caution: benchCaution,
  };
}

/** What goes with a rebound height. */
export type ReboundOptions = {
  readonly drop_height_cm: number;
  /** Standard uncertainty of the rebound height. */
  readonly u_rebound_height_cm?: number;
  /** Standard uncertainty of the drop height. */
  readonly u_drop_height_cm?: number;
};

/** A drop above 0 and a rebound no higher than it. */
export function requireRebound(rebound_height_cm: number, drop_height_cm: number): void {
  requireAbove("drop_height_cm", drop_height_cm, 0);
  requireBetween("rebound_height_cm", rebound_height_cm, [0, drop_height_cm], "the drop height");
}
