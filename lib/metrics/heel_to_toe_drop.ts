import * as option from "../options.ts";
import { benchCaution } from "./cautions.ts";
import { requireAtLeast } from "./domain.ts";
import type { MetricValue } from "./metric_value.ts";
import { propagate } from "./propagate.ts";

/**
 * How much higher does the heel stand than the forefoot?
 *
 * Heel stack minus forefoot stack; negative when the forefoot stands higher.
 *
 * @param heel_stack_mm 0 or more
 * @param options `forefoot_stack_mm` 0 or more; `u_…` the standard uncertainties of both, 0 for an
 *   exact one
 * @returns the drop in mm
 * @throws {RangeError} if a stack is negative
 * @see common practice, no source
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { metrics } from "bench-to-court";
 * assert.equal(metrics.heelToToeDrop(31, { forefoot_stack_mm: 22 }).value, 9);
 * ```
 */
export function heelToToeDrop(
  heel_stack_mm: number,
  { forefoot_stack_mm, u_heel_stack_mm, u_forefoot_stack_mm }: {
    readonly forefoot_stack_mm: number;
    readonly u_heel_stack_mm?: number;
    readonly u_forefoot_stack_mm?: number;
  },
): MetricValue {
  option.check("metrics.heelToToeDrop", arguments[1], {
    forefoot_stack_mm: option.needed(option.number),
    u_heel_stack_mm: option.notNegative,
    u_forefoot_stack_mm: option.notNegative,
  });
  requireAtLeast("heel_stack_mm", heel_stack_mm, 0);
  requireAtLeast("forefoot_stack_mm", forefoot_stack_mm, 0);
  return {
    value: heel_stack_mm - forefoot_stack_mm,
    unit: "mm",
    ...propagate([
      { name: "u_heel_stack_mm", u: u_heel_stack_mm, slope: 1 },
      { name: "u_forefoot_stack_mm", u: u_forefoot_stack_mm, slope: -1 },
    ]),
    caution: benchCaution,
  };
}
