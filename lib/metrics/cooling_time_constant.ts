import * as option from "../options.ts";
import { heatCaution } from "./cautions.ts";
import { requireAtLeast, requireSeries, wrong } from "./domain.ts";
import { fitExponentialDecay } from "./fit_exponential_decay.ts";
import type { FittedMetricValue } from "./metric_value.ts";

/** A fitted time constant and all that was fitted beside it. */
export type CoolingTimeConstant = FittedMetricValue & {
  /** Time in which half of the excess over the room is gone, τ ln 2. */
  readonly half_time_s: number | null;
  readonly half_time_standard_uncertainty_s: number | null;
  /** Fitted excess over the room at the first reading. */
  readonly amplitude_celsius: number | null;
  /** Given or fitted. */
  readonly ambient_celsius: number | null;
  /** As given; or of the fit. */
  readonly ambient_standard_uncertainty_celsius: number | null;
  readonly residual_sum_of_squares: number | null;
  /** Readings minus fitted numbers: an interval takes Student's t with as many. */
  readonly degrees_of_freedom: number | null;
  readonly n: number;
  readonly method: string;
};

/**
 * How fast does a heated upper cool down?
 *
 * Newton's law, T(t) = room + excess · exp(−t/τ), by least squares on the temperatures. The
 * standard uncertainty takes the scatter about the curve as independent and alike at all readings;
 * with a given room temperature its own uncertainty joins. An interval is τ ± t·u with Student's t
 * for `degrees_of_freedom`. As common practice, no source: a heated upper may read 159.3 °F (70.7
 * °C) at the start.
 *
 * @param seconds times of the readings, any order
 * @param celsius surface temperatures, one a time
 * @param options `ambient_celsius` the room temperature, or `"fitted"` to find it from the tail,
 *   which needs a longer series; `u_ambient_celsius` the standard uncertainty of a given one
 *   (default 0)
 * @returns τ in seconds; null with a reason if the series does not fall, a reading lies below the
 *   given room temperature, or the series is too short to tell
 * @throws {RangeError} if the lists differ in length or are empty, a time is negative, or a
 *   temperature lies below absolute zero
 * @see Newton's law of cooling
 *
 * @example Readings that follow the law with τ = 100 s in a room of 20 °C
 * ```ts
 * import assert from "node:assert/strict";
 * import { metrics } from "bench-to-court";
 * const seconds = [0, 50, 100, 150, 200];
 * const celsius = seconds.map((t) => 20 + 50 * Math.exp(-t / 100));
 * const { value } = metrics.coolingTimeConstant(seconds, celsius, { ambient_celsius: 20 });
 * assert.equal(value?.toFixed(6), "100.000000");
 * ```
 */
export function coolingTimeConstant(
  seconds: readonly number[],
  celsius: readonly number[],
  { ambient_celsius, u_ambient_celsius = 0 }: {
    readonly ambient_celsius: number | "fitted";
    readonly u_ambient_celsius?: number;
  },
): CoolingTimeConstant {
  option.check("metrics.coolingTimeConstant", arguments[2], {
    ambient_celsius: option.needed(option.either(option.number, option.oneOf("fitted"))),
    u_ambient_celsius: option.notNegative,
  });
  requireSeries(["seconds", seconds], ["celsius", celsius]);
  seconds.forEach((second, i) => requireAtLeast(`seconds[${i}]`, second, 0));
  celsius.forEach((reading, i) => requireAtLeast(`celsius[${i}]`, reading, absoluteZero_celsius));
  requireAtLeast("u_ambient_celsius", u_ambient_celsius, 0);
  const known = ambient_celsius !== "fitted";
  if (known) requireAtLeast("ambient_celsius", ambient_celsius, absoluteZero_celsius);
  if (!known && u_ambient_celsius !== 0) {
    throw wrong("u_ambient_celsius", u_ambient_celsius, "none, as ambient_celsius is fitted");
  }

  const about = {
    unit: "s",
    caution: heatCaution,
    n: seconds.length,
    method: `Newton's law by least squares, room temperature ${known ? "given" : "fitted"}`,
  };
  const below = known ? celsius.filter((reading) => reading < ambient_celsius) : [];
  const fit = below.length > 0
    ? {
      reason: `a reading of ${Math.min(...below)} lies below the room temperature of ` +
        `${ambient_celsius}: read the room again, or let it be fitted`,
    }
    : fitExponentialDecay(seconds, celsius, ambient_celsius);
  if (fit.reason !== null) {
    return {
      value: null,
      value_reason: fit.reason,
      standard_uncertainty: null,
      standard_uncertainty_reason: fit.reason,
      half_time_s: null,
      half_time_standard_uncertainty_s: null,
      amplitude_celsius: null,
      ambient_celsius: known ? ambient_celsius : null,
      ambient_standard_uncertainty_celsius: known ? u_ambient_celsius : null,
      residual_sum_of_squares: null,
      degrees_of_freedom: null,
      ...about,
    };
  }
  const u = fit.u_time_constant_s === null
    ? null
    : Math.hypot(fit.u_time_constant_s, fit.slope_of_floor * u_ambient_celsius);
  return {
    value: fit.time_constant_s,
    value_reason: null,
    standard_uncertainty: u,
    standard_uncertainty_reason: u === null ? "no more readings than fitted numbers" : null,
    half_time_s: fit.time_constant_s * Math.LN2,
    half_time_standard_uncertainty_s: u === null ? null : u * Math.LN2,
    amplitude_celsius: fit.amplitude,
    ambient_celsius: fit.floor,
    ambient_standard_uncertainty_celsius: known ? u_ambient_celsius : fit.u_floor,
    residual_sum_of_squares: fit.residual_sum_of_squares,
    degrees_of_freedom: fit.degrees_of_freedom,
    ...about,
  };
}

const absoluteZero_celsius = -273.15;
