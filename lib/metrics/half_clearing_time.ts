import * as option from "../options.ts";
import { smokeCaution } from "./cautions.ts";
import { requireAtLeast, requireOneOf, requireSeries, wrong } from "./domain.ts";
import { fitExponentialDecay } from "./fit_exponential_decay.ts";
import type { FittedMetricValue } from "./metric_value.ts";

/** A half-clearing time and how it was found. */
export type HalfClearingTime = FittedMetricValue & {
  /** Of an exponential clearing; null when interpolated. */
  readonly time_constant_s: number | null;
  /** Readings minus fitted numbers; null when interpolated. */
  readonly degrees_of_freedom: number | null;
  readonly n: number;
  readonly method: string;
};

/**
 * How long does a shoe take to clear half of the smoke blown into it?
 *
 * `exponential`: least squares of clear + start · exp(−t/τ), half time τ ln 2, with a standard
 * uncertainty from the scatter. `interpolated`: the first time the readings pass midway between the
 * first one and clear, by a straight line between its neighbours; it needs no law, and its
 * uncertainty comes from `u_smoke_pct`.
 *
 * @param seconds times of the readings, rising
 * @param smoke_pct smoke or obscuration at each time, 0 or more; any scale proportional to smoke
 *   will do
 * @param options `model` as above; `clear_pct` the reading without smoke (default 0), or `"fitted"`
 *   with the exponential model; `u_smoke_pct` the standard uncertainty of one reading, independent
 *   from reading to reading (interpolated only)
 * @returns the time in seconds from the first reading; null with a reason if the readings do not
 *   fall to half, or show no decay
 * @throws {RangeError} if the lists differ in length or are empty, times do not rise, a reading is
 *   negative, or an option does not go with the model
 * @see common practice, no source
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { metrics } from "bench-to-court";
 * const { value } = metrics.halfClearingTime([0, 10, 20, 30], [80, 60, 30, 10], { model: "interpolated" });
 * assert.equal(value?.toFixed(3), "16.667");
 * ```
 */
export function halfClearingTime(
  seconds: readonly number[],
  smoke_pct: readonly number[],
  { model, clear_pct = 0, u_smoke_pct }: {
    readonly model: "exponential" | "interpolated";
    readonly clear_pct?: number | "fitted";
    readonly u_smoke_pct?: number;
  },
): HalfClearingTime {
  option.check("metrics.halfClearingTime", arguments[2], {
    model: option.needed(option.oneOf("exponential", "interpolated")),
    clear_pct: option.either(option.number, option.oneOf("fitted")),
    u_smoke_pct: option.notNegative,
  });
  requireOneOf("model", model, ["exponential", "interpolated"]);
  requireSeries(["seconds", seconds], ["smoke_pct", smoke_pct]);
  smoke_pct.forEach((reading, i) => requireAtLeast(`smoke_pct[${i}]`, reading, 0));
  seconds.forEach((second, i) => {
    if (i > 0 && second <= seconds[i - 1]) {
      throw wrong(`seconds[${i}]`, second, `a time after ${seconds[i - 1]}`);
    }
  });
  if (clear_pct !== "fitted") requireAtLeast("clear_pct", clear_pct, 0);
  if (model === "exponential") {
    if (u_smoke_pct !== undefined) {
      throw wrong(
        "u_smoke_pct",
        u_smoke_pct,
        "none: the exponential model takes the scatter from its fit",
      );
    }
    return exponentialHalf(seconds, smoke_pct, clear_pct);
  }
  if (clear_pct === "fitted") {
    throw wrong("clear_pct", clear_pct, "a number: only the exponential model can fit it");
  }
  if (u_smoke_pct !== undefined) requireAtLeast("u_smoke_pct", u_smoke_pct, 0);
  return interpolatedHalf(seconds, smoke_pct, clear_pct, u_smoke_pct);
}

function exponentialHalf(
  seconds: readonly number[],
  smoke_pct: readonly number[],
  clear_pct: number | "fitted",
): HalfClearingTime {
  const method = `exponential clearing by least squares, clear reading ${
    clear_pct === "fitted" ? "fitted" : "given"
  }`;
  const fit = fitExponentialDecay(seconds, smoke_pct, clear_pct);
  if (fit.reason !== null) return noHalf(fit.reason, method, seconds.length);
  const u = fit.u_time_constant_s;
  return {
    value: fit.time_constant_s * Math.LN2,
    value_reason: null,
    unit: "s",
    standard_uncertainty: u === null ? null : u * Math.LN2,
    standard_uncertainty_reason: u === null ? "no more readings than fitted numbers" : null,
    time_constant_s: fit.time_constant_s,
    degrees_of_freedom: fit.degrees_of_freedom,
    n: seconds.length,
    method,
    caution: smokeCaution,
  };
}

function interpolatedHalf(
  seconds: readonly number[],
  smoke_pct: readonly number[],
  clear_pct: number,
  u_smoke_pct: number | undefined,
): HalfClearingTime {
  const method = "straight line between the two readings about half";
  if (smoke_pct[0] <= clear_pct) {
    return noHalf("the first reading is clear already", method, seconds.length);
  }
  const half = (smoke_pct[0] + clear_pct) / 2;
  const after = smoke_pct.findIndex((reading) => reading <= half);
  if (after === -1) {
    return noHalf("the readings never fall to half: read longer", method, seconds.length);
  }
  const [above, below] = [smoke_pct[after - 1], smoke_pct[after]];
  const step_s = seconds[after] - seconds[after - 1];
  const drop = above - below;
  const value = seconds[after - 1] - seconds[0] + ((above - half) / drop) * step_s;

  // The half level moves by half of the first reading's error; that reading may also be the one above half.
  const slopeAbove = (step_s * (half - below)) / drop ** 2;
  const slopeBelow = (step_s * (above - half)) / drop ** 2;
  const slopeFirst = -step_s / (2 * drop);
  const slope = after === 1
    ? Math.hypot(slopeAbove + slopeFirst, slopeBelow)
    : Math.hypot(slopeAbove, slopeBelow, slopeFirst);
  return {
    value,
    value_reason: null,
    unit: "s",
    standard_uncertainty: u_smoke_pct === undefined ? null : slope * u_smoke_pct,
    standard_uncertainty_reason: u_smoke_pct === undefined ? "no u_smoke_pct was given" : null,
    time_constant_s: null,
    degrees_of_freedom: null,
    n: seconds.length,
    method,
    caution: smokeCaution,
  };
}

function noHalf(reason: string, method: string, n: number): HalfClearingTime {
  return {
    value: null,
    value_reason: reason,
    unit: "s",
    standard_uncertainty: null,
    standard_uncertainty_reason: reason,
    time_constant_s: null,
    degrees_of_freedom: null,
    n,
    method,
    caution: smokeCaution,
  };
}
