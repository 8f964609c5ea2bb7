import * as option from "../options.ts";
import { checkReadings } from "./checks.ts";
import { individualsChart } from "./individuals_chart.ts";
import type { Reason } from "./reason.ts";

/** A chart of exponentially weighted moving averages. */
export type Ewma = {
  /** The average after each value. */
  readonly averages: readonly number[];
  /** Limits at each value, which widen toward the steady ones. */
  readonly lower: readonly number[];
  readonly upper: readonly number[];
  readonly steadyLower: number | null;
  readonly steadyUpper: number | null;
  readonly target: number | null;
  readonly sd: number | null;
  readonly reason: Reason | null;
  /** Positions among the values given. */
  readonly signals: readonly number[];
  /** Position of each average among the values given. */
  readonly index: readonly number[];
  readonly lambda: number;
  readonly width: number;
  readonly n: number;
};

/**
 * Does a value that should stay the same creep away, a little at a time?
 *
 * Each average is λ·value + (1 − λ)·the one before, from the target on; its limits are
 * target ± width·SD·√(λ/(2 − λ)·(1 − (1 − λ)^2i)).
 *
 * @param values in order of time; null for a missing one, which is passed over
 * @param options.lambda weight of the newest value, above 0 and at most 1
 * @param options.target where the value should be; the mean of the values if not given
 * @param options.sd SD of a single value; from the mean moving range if not given
 * @throws {RangeError} if lambda is out of range or a value is not finite
 * @see Roberts 1959; Lucas & Saccucci 1990; NIST/SEMATECH e-Handbook 6.3.2.4
 */
export function ewma(
  values: readonly (number | null)[],
  { lambda = 0.2, target, sd, width = 3 }: {
    readonly lambda?: number;
    readonly target?: number;
    readonly sd?: number;
    readonly width?: number;
  } = {},
): Ewma {
  option.check("statistics.ewma", arguments[1], {
    lambda: option.number,
    target: option.number,
    sd: option.number,
    width: option.positive,
  });
  checkReadings(values, "chart values");
  if (!(lambda > 0 && lambda <= 1)) {
    throw new RangeError(`lambda is above 0 and at most 1, was given ${lambda}`);
  }
  if (sd !== undefined && !(sd > 0 && sd < Infinity)) {
    throw new RangeError(`An SD is above 0, was given ${sd}`);
  }
  const index = [...values.keys()].filter((i) => values[i] !== null);
  const readings = index.map((i) => values[i] as number);
  const chart = individualsChart(readings);
  const centre = target ?? chart.centre;
  const spread = sd ?? chart.sd;
  const about = { target: centre, sd: spread, lambda, width, index, n: readings.length };
  if (centre === null) {
    return {
      averages: [],
      lower: [],
      upper: [],
      steadyLower: null,
      steadyUpper: null,
      reason: { code: "too-few", of: "values", needed: 2, found: 0 },
      signals: [],
      ...about,
    };
  }
  let last = centre;
  const averages = readings.map((x) => last += lambda * (x - last));
  if (spread === null) {
    return {
      averages,
      lower: [],
      upper: [],
      steadyLower: null,
      steadyUpper: null,
      reason: chart.reason,
      signals: [],
      ...about,
    };
  }
  const steady = width * spread * Math.sqrt(lambda / (2 - lambda));
  const reach = readings.map((_, i) => steady * Math.sqrt(1 - (1 - lambda) ** (2 * (i + 1))));
  return {
    averages,
    lower: reach.map((r) => centre - r),
    upper: reach.map((r) => centre + r),
    steadyLower: centre - steady,
    steadyUpper: centre + steady,
    reason: null,
    signals: index.filter((_, i) => Math.abs(averages[i] - centre) > reach[i]),
    ...about,
  };
}
