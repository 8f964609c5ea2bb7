import * as option from "../options.ts";
import { checkReadings } from "./checks.ts";
import type { Reason } from "./reason.ts";

/** A control chart of single values. */
export type IndividualsChart = {
  readonly centre: number | null;
  readonly lower: number | null;
  readonly upper: number | null;
  readonly reason: Reason | null;
  readonly meanMovingRange: number | null;
  /** Mean moving range over 1.128: the SD from one value to the next. */
  readonly sd: number | null;
  readonly movingRanges: readonly number[];
  readonly movingRangeUpper: number | null;
  readonly signals: readonly {
    readonly index: number;
    readonly rule: "beyond the limits" | "eight in a row on one side" | "moving range";
  }[];
  readonly factor: number;
  readonly n: number;
};

/**
 * Did a value that should stay the same move more than it does from one time to the next?
 *
 * Centre ± factor · mean moving range of neighbours. 2.66 is the table's rounding of 3/1.128; give
 * `factor` for another. A moving range above 3.267 times their mean is signalled as well.
 *
 * @param values in order of time; null for a missing one, whose neighbours are then compared
 * @throws {RangeError} if a value is not finite
 * @see ISO 7870-2; NIST/SEMATECH e-Handbook 6.3.2.2. The run of eight is common practice
 */
export function individualsChart(
  values: readonly (number | null)[],
  { factor = 2.66 }: { readonly factor?: number } = {},
): IndividualsChart {
  option.check("statistics.individualsChart", arguments[1], { factor: option.number });
  checkReadings(values, "chart values");
  if (!(factor > 0)) throw new RangeError(`A factor is above 0, was given ${factor}`);
  const places = [...values.keys()].filter((i) => values[i] !== null);
  const readings = places.map((i) => values[i] as number);
  const n = readings.length;
  const movingRanges = readings.slice(1).map((x, i) => Math.abs(x - readings[i]));
  const pivot = readings[0];
  const centre = n === 0 ? null : pivot + readings.reduce((t, x) => t + (x - pivot), 0) / n;
  const about = { movingRanges, factor, n };
  if (centre === null || n < 2 || movingRanges.every((range) => range === 0)) {
    return {
      centre,
      lower: null,
      upper: null,
      reason: n < 2
        ? { code: "too-few", of: "values", needed: 2, found: n }
        : { code: "constant", which: "values" },
      meanMovingRange: n < 2 ? null : 0,
      sd: null,
      movingRangeUpper: null,
      signals: [],
      ...about,
    };
  }
  const meanMovingRange = movingRanges.reduce((a, b) => a + b, 0) / movingRanges.length;
  const [lower, upper] = [centre - factor * meanMovingRange, centre + factor * meanMovingRange];
  const movingRangeUpper = 3.267 * meanMovingRange;
  const signals: IndividualsChart["signals"][number][] = [];
  let side = 0;
  let run = 0;
  readings.forEach((x, i) => {
    if (x < lower || x > upper) signals.push({ index: places[i], rule: "beyond the limits" });
    if (i > 0 && movingRanges[i - 1] > movingRangeUpper) {
      signals.push({ index: places[i], rule: "moving range" });
    }
    const here = Math.sign(x - centre);
    run = here !== 0 && here === side ? run + 1 : Math.abs(here);
    side = here;
    if (run === 8) signals.push({ index: places[i], rule: "eight in a row on one side" });
  });
  return {
    centre,
    lower,
    upper,
    reason: null,
    meanMovingRange,
    sd: meanMovingRange / 1.128,
    movingRangeUpper,
    signals,
    ...about,
  };
}
