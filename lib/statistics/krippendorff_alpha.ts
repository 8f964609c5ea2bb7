import * as option from "../options.ts";
import { checkReadings } from "./checks.ts";
import { type Estimate, noEstimate } from "./estimate.ts";
import { orderStatistics } from "./order_statistics.ts";
import { randomStream } from "./random_stream.ts";
import type { Reason } from "./reason.ts";
import { AGREEMENT_SEED } from "./default_seeds.ts";

/** Agreement beyond chance, with what it was made from. */
export type KrippendorffAlpha = Estimate & {
  readonly observedDisagreement: number | null;
  readonly expectedDisagreement: number | null;
  /** Units with two values or more; the others cannot be compared. */
  readonly units: number;
  readonly values: number;
  readonly level: "nominal" | "ordinal" | "interval";
};

/**
 * Do raters agree more than they would by drawing values from the same heap?
 *
 * 1 − observed over expected disagreement between values of the same unit. Any number of raters and
 * gaps. Disagreement of two values: `nominal` 1 if they differ; `interval` the squared difference;
 * `ordinal` the squared number of values that lie between them. Limits: percentiles over redrawn
 * units, which takes units as a sample and raters as they are.
 *
 * @param units one row a unit, one column a rater; null where a rater gave nothing
 * @throws {RangeError} if the level is unknown or a value is not finite
 * @see Krippendorff 2011, "Computing Krippendorff's alpha-reliability"
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { statistics } from "bench-to-court";
 * const { estimate } = statistics.krippendorffAlpha([[1, 1], [2, 2], [1, 2], [3, 3]], { level: "nominal" });
 * assert.equal(estimate?.toFixed(4), "0.6667");
 * ```
 */
export function krippendorffAlpha(
  units: readonly (readonly (number | null)[])[],
  { level, confidence = 0.95, resamples = 2000, seed = AGREEMENT_SEED }: {
    readonly level: "nominal" | "ordinal" | "interval";
    readonly confidence?: number;
    readonly resamples?: number;
    readonly seed?: number;
  },
): KrippendorffAlpha {
  option.check("statistics.krippendorffAlpha", arguments[1], {
    level: option.needed(option.oneOf("nominal", "ordinal", "interval")),
    confidence: option.share,
    resamples: option.resamples,
    seed: option.seed,
  });
  if (!["nominal", "ordinal", "interval"].includes(level)) {
    throw new RangeError(`Unknown level ${level}, expected "nominal", "ordinal" or "interval"`);
  }
  checkReadings(units.flat(), "compare raters");
  const paired = units.map((row) => row.filter((x) => x !== null) as number[])
    .filter((row) => row.length > 1);
  const distinct = [...new Set(paired.flat())].sort((a, b) => a - b);
  const place = new Map(distinct.map((value, i) => [value, i]));
  const coded = paired.map((row) => Int32Array.from(row, (value) => place.get(value)!));
  const values = paired.reduce((total, row) => total + row.length, 0);
  const warnings: Reason[] = [];
  if (paired.length < units.length) {
    warnings.push({
      code: "left-out",
      of: "units",
      because: "one-value",
      left: units.length - paired.length,
      all: units.length,
    });
  }
  const about = {
    confidence,
    n: values,
    method: `coincidences, limits from ${resamples} resamples of units (percentiles)`,
    warnings,
  };
  const shared = { units: paired.length, values, level };
  const whole = disagreements(coded, null, distinct, level);
  if (paired.length === 0 || whole.expected === 0) {
    const reason: Reason = paired.length === 0
      ? { code: "no-repeats", subjects: units.length }
      : { code: "constant", which: "ratings" };
    return {
      ...noEstimate(reason, about),
      observedDisagreement: null,
      expectedDisagreement: paired.length === 0 ? null : 0,
      ...shared,
    };
  }
  const draws = new Float64Array(Math.max(0, resamples));
  let used = 0;
  const drawn = new Int32Array(coded.length);
  const random = randomStream(seed);
  for (let b = 0; b < resamples && coded.length > 1; b++) {
    random.fillIntegers(drawn, coded.length);
    const { observed, expected } = disagreements(coded, drawn, distinct, level);
    if (expected > 0) draws[used++] = 1 - observed / expected;
  }
  let [lower, upper]: (number | null)[] = [null, null];
  if (used >= 0.5 * resamples && used >= 20) {
    const order = orderStatistics(draws.subarray(0, used));
    lower = order.quantile((1 - confidence) / 2);
    upper = order.quantile((1 + confidence) / 2);
  } else if (resamples > 0) warnings.push({ code: "no-limits" });
  return {
    estimate: 1 - whole.observed / whole.expected,
    estimate_reason: null,
    lower,
    upper,
    ...about,
    observedDisagreement: whole.observed,
    expectedDisagreement: whole.expected,
    ...shared,
  };
}

/**
 * Mean squared distance of values within units and of values at large. For ordinal values the places
 * are mid-ranks among all values used, so that the count of values between two is their difference.
 */
function disagreements(
  coded: readonly Int32Array[],
  drawn: Int32Array | null,
  distinct: readonly number[],
  level: "nominal" | "ordinal" | "interval",
): { readonly observed: number; readonly expected: number } {
  const size = drawn === null ? coded.length : drawn.length;
  const counts = new Float64Array(distinct.length);
  let n = 0;
  for (let u = 0; u < size; u++) {
    const unit = coded[drawn === null ? u : drawn[u]];
    for (let i = 0; i < unit.length; i++) counts[unit[i]]++;
    n += unit.length;
  }
  if (level === "nominal") {
    let equalAtLarge = 0;
    for (const count of counts) equalAtLarge += count * (count - 1);
    let differing = 0;
    for (let u = 0; u < size; u++) {
      const unit = coded[drawn === null ? u : drawn[u]];
      let pairs = 0;
      for (let i = 0; i < unit.length; i++) {
        for (let j = 0; j < i; j++) if (unit[i] !== unit[j]) pairs += 2;
      }
      differing += pairs / (unit.length - 1);
    }
    return { observed: differing / n, expected: 1 - equalAtLarge / (n * (n - 1)) };
  }
  const at = new Float64Array(distinct.length);
  let before = 0;
  for (let v = 0; v < at.length; v++) {
    at[v] = level === "ordinal" ? before + counts[v] / 2 : distinct[v] - distinct[0];
    before += counts[v];
  }
  let [sum, squares] = [0, 0];
  for (let v = 0; v < at.length; v++) sum += counts[v] * at[v];
  const centre = sum / n;
  for (let v = 0; v < at.length; v++) squares += counts[v] * (at[v] - centre) ** 2;
  let within = 0;
  for (let u = 0; u < size; u++) {
    const unit = coded[drawn === null ? u : drawn[u]];
    let mean = 0;
    for (let i = 0; i < unit.length; i++) mean += at[unit[i]];
    mean /= unit.length;
    let spread = 0;
    for (let i = 0; i < unit.length; i++) spread += (at[unit[i]] - mean) ** 2;
    // All ordered pairs of m values are 2m times the squares around their mean.
    within += 2 * unit.length * spread / (unit.length - 1);
  }
  return { observed: within / n, expected: 2 * squares / (n - 1) };
}
