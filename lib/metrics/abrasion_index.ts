import * as option from "../options.ts";
import { dustCaution } from "./cautions.ts";
import { requireAbove, requireAtLeast } from "./domain.ts";
import type { FittedMetricValue } from "./metric_value.ts";
import { propagate } from "./propagate.ts";

/**
 * How durable is an outsole beside a control rubber sanded on the same day?
 *
 * 100 × the control's loss over the shoe's loss: 100 wears like the control, 200 lasts twice as
 * long. Use volume losses, or depth rates where both were sanded over the same area; both losses in
 * the same unit.
 *
 * @param loss the shoe's loss (mm³ or mm/min), 0 or more
 * @param options `control_loss` above 0, in the same unit; `u_…` the standard uncertainties of
 *   both, 0 for an exact one
 * @returns the index in %; null if the shoe lost nothing that could be measured
 * @throws {RangeError} if the shoe's loss is negative or the control's is not above 0
 * @see related: ISO 4649 (abrasion resistance index), from memory; no conformity claimed
 *
 * @example A control that lost 195 mg at 1.20 mg/mm³ and a shoe that lost 84 mg at 1.12 mg/mm³
 * ```ts
 * import assert from "node:assert/strict";
 * import { metrics } from "bench-to-court";
 * assert.equal(metrics.abrasionIndex(84 / 1.12, { control_loss: 195 / 1.2 }).value?.toFixed(3), "216.667");
 * ```
 */
export function abrasionIndex(
  loss: number,
  { control_loss, u_loss, u_control_loss }: {
    readonly control_loss: number;
    readonly u_loss?: number;
    readonly u_control_loss?: number;
  },
): FittedMetricValue {
  option.check("metrics.abrasionIndex", arguments[1], {
    control_loss: option.needed(option.number),
    u_loss: option.notNegative,
    u_control_loss: option.notNegative,
  });
  requireAtLeast("loss", loss, 0);
  requireAbove("control_loss", control_loss, 0);
  const about = { unit: "%", caution: dustCaution };
  if (loss === 0) {
    const reason = "the shoe lost nothing that could be measured: sand it longer";
    return {
      value: null,
      value_reason: reason,
      standard_uncertainty: null,
      standard_uncertainty_reason: reason,
      ...about,
    };
  }
  const index = (100 * control_loss) / loss;
  return {
    value: index,
    value_reason: null,
    ...propagate([
      { name: "u_loss", u: u_loss, slope: index / loss },
      { name: "u_control_loss", u: u_control_loss, slope: 100 / loss },
    ]),
    ...about,
  };
}
