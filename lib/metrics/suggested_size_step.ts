import * as option from "../options.ts";
import { sizeCaution } from "./cautions.ts";
import { requireBetween, requireOneOf, wrong } from "./domain.ts";
import type { MetricValue } from "./metric_value.ts";
import { sizeStep_mm } from "./size_from_last_length.ts";
import { type SizeSystem, sizeSystems } from "./size_system.ts";
import { toeAllowance } from "./toe_allowance.ts";

/** How many sizes up or down, and the room before and after. */
export type SuggestedSizeStep = MetricValue & {
  readonly toe_allowance_mm: number;
  /** If the shoe grows with its size as the last does. */
  readonly toe_allowance_after_mm: number;
  /**
   * Steps at two standard uncertainties of the lengths less and more room; equal to `value` when
   * sure, null without uncertainties.
   */
  readonly step_low: number | null;
  readonly step_high: number | null;
};

/**
 * How many sizes up or down from the measured shoe would suit this foot's length?
 *
 * The fewest half sizes (5 mm in Mondopoint) that bring the toe allowance into the wanted range; if
 * none does, those that come nearest to it. Length only: a longer shoe is no cure for a narrow one.
 *
 * @param inside_length_mm of the shoe at hand, 100 to 450
 * @param options `foot_length_mm` 100 to 400; `size_system` the steps are counted in; `wanted_mm`
 *   toe allowance (default 8 to 15, common practice, no source); `u_…` the standard uncertainties
 *   of both lengths
 * @returns sizes to add (unit `1`; mm in Mondopoint), 0 to stay, negative for a smaller one
 * @throws {RangeError} if a length is implausible or the wanted range is the wrong way round
 * @see common practice, no source; a place to start trying on, no medical advice
 *
 * @example A foot of 272 mm in a shoe of 276 mm: 4 mm is too little, half a size up brings 8.2 mm
 * ```ts
 * import assert from "node:assert/strict";
 * import { metrics } from "bench-to-court";
 * const step = metrics.suggestedSizeStep(276, { foot_length_mm: 272, size_system: "us-men" });
 * assert.equal(step.value, 0.5);
 * assert.equal(step.toe_allowance_after_mm.toFixed(1), "8.2");
 * ```
 */
export function suggestedSizeStep(
  inside_length_mm: number,
  { foot_length_mm, size_system, wanted_mm = [8, 15], u_inside_length_mm, u_foot_length_mm }: {
    readonly foot_length_mm: number;
    readonly size_system: SizeSystem;
    readonly wanted_mm?: readonly [low: number, high: number];
    readonly u_inside_length_mm?: number;
    readonly u_foot_length_mm?: number;
  },
): SuggestedSizeStep {
  option.check("metrics.suggestedSizeStep", arguments[1], {
    foot_length_mm: option.needed(option.number),
    size_system: option.needed(option.oneOf("mondopoint", "eu", "us-men", "us-women", "uk")),
    wanted_mm: option.thing,
    u_inside_length_mm: option.notNegative,
    u_foot_length_mm: option.notNegative,
  });
  requireOneOf("size_system", size_system, sizeSystems);
  wanted_mm.forEach((room, i) => requireBetween(`wanted_mm[${i}]`, room, [0, 50], "mm of room"));
  if (!(wanted_mm[0] <= wanted_mm[1])) {
    throw wrong("wanted_mm", `[${wanted_mm.join(", ")}]`, "a low end no higher than the high end");
  }
  const room = toeAllowance(inside_length_mm, {
    foot_length_mm,
    u_inside_length_mm,
    u_foot_length_mm,
  });
  const label_step = size_system === "mondopoint" ? 5 : 0.5;
  const step_mm = label_step * sizeStep_mm(size_system);
  const stepFor = (room_mm: number) => label_step * steps(room_mm, step_mm, wanted_mm);
  const value = stepFor(room.value);
  const u = room.standard_uncertainty;
  return {
    value,
    unit: size_system === "mondopoint" ? "mm" : "1",
    standard_uncertainty: null,
    standard_uncertainty_reason:
      "a choice between labels has none: see step_low and step_high for what the lengths leave open",
    toe_allowance_mm: room.value,
    toe_allowance_after_mm: room.value + value * sizeStep_mm(size_system),
    step_low: u === null ? null : stepFor(room.value + 2 * u),
    step_high: u === null ? null : stepFor(room.value - 2 * u),
    caution: sizeCaution,
  };
}

/**
 * Fewest steps into the range; where it is narrower than a step and jumped over, those that end
 * nearest to it.
 */
function steps(
  room_mm: number,
  step_mm: number,
  [low, high]: readonly [number, number],
): number {
  const slack = 1e-9;
  if (room_mm >= low - slack && room_mm <= high + slack) return 0;
  const short = room_mm < low;
  const miss = short ? low - room_mm : room_mm - high;
  const count = Math.ceil(miss / step_mm - slack);
  const past = count * step_mm - miss - (high - low);
  // One step less misses by the rest; one more overshoots the far end by `past`.
  const fewer = count - 1;
  const chosen = past > slack && miss - fewer * step_mm < past ? fewer : count;
  return chosen === 0 ? 0 : short ? chosen : -chosen;
}
