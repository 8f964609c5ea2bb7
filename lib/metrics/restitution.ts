import * as option from "../options.ts";
import { benchCaution } from "./cautions.ts";
import type { MetricValue } from "./metric_value.ts";
import { propagate } from "./propagate.ts";
import { type ReboundOptions, requireRebound } from "./rebound_energy_return.ts";

/**
 * How fast does a ball leave the midsole, as a share of the speed it came with?
 *
 * The coefficient of restitution, √(rebound height/drop height); its square is the energy return.
 * Air drag and spin are left out.
 *
 * @param rebound_height_cm from 0 to the drop height
 * @param options `drop_height_cm` above 0; `u_…` the standard uncertainties of both heights, 0 for
 *   an exact one
 * @returns a ratio of speeds (unit `1`); at a rebound of 0 the standard uncertainty is null, as the
 *   root has no slope there
 * @throws {RangeError} if the drop height is not above 0, or the rebound is negative or above the
 *   drop
 * @see textbook mechanics, v = √(2gh); related: ISO 4662 (rebound resilience of rubber), no
 *   conformity claimed
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { metrics } from "bench-to-court";
 * assert.equal(metrics.restitution(64, { drop_height_cm: 100 }).value, 0.8);
 * ```
 */
export function restitution(
  rebound_height_cm: number,
  { drop_height_cm, u_rebound_height_cm, u_drop_height_cm }: ReboundOptions,
): MetricValue {
  option.check("metrics.restitution", arguments[1], {
    drop_height_cm: option.needed(option.number),
    u_rebound_height_cm: option.notNegative,
    u_drop_height_cm: option.notNegative,
  });
  requireRebound(rebound_height_cm, drop_height_cm);
  const value = Math.sqrt(rebound_height_cm / drop_height_cm);
  return {
    value,
    unit: "1",
    ...propagate([
      {
        name: "u_rebound_height_cm",
        u: u_rebound_height_cm,
        slope: 1 / (2 * Math.sqrt(rebound_height_cm * drop_height_cm)),
      },
      { name: "u_drop_height_cm", u: u_drop_height_cm, slope: value / (2 * drop_height_cm) },
    ]),
    caution: benchCaution,
  };
}
