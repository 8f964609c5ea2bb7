import * as option from "../options.ts";
import { checkReadings, momentsOf } from "./checks.ts";
import { chiSquaredQuantile, chiSquaredUpperQuantile } from "./distributions.ts";
import { normalUpperQuantile, tUpperQuantile } from "./distributions.ts";
import { type Estimate, noEstimate } from "./estimate.ts";
import type { Reason } from "./reason.ts";

/** Centre and spread of paired differences, each with its interval. */
export type LimitsOfAgreement = {
  /** Mean of a minus b. */
  readonly bias: Estimate;
  /** Below and above which 1 in 40 differences is expected, at the usual coverage of 0.95. */
  readonly lower: Estimate;
  readonly upper: Estimate;
  /** SD of the differences of single readings. */
  readonly sd: number | null;
  readonly coverage: number;
  readonly n: number;
  readonly warnings: readonly Reason[];
};

/**
 * How far may two ways of reading the same subject lie apart?
 *
 * Bias ± z·SD of the differences. The limits' own intervals use s²·(1/n + z²/(2(n − 1))) and Student's
 * t; the authors' 3s²/n is a rounding of it. Look at a plot of difference against mean beside them.
 *
 * @param a one reading of each subject by the one way, in the metric's unit; null for a missing one
 * @param b the same subjects by the other way
 * @param options.coverage share of differences that the limits should hold
 * @throws {RangeError} if lengths differ or a reading is not finite
 * @see Bland & Altman 1986, 1999
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { statistics } from "bench-to-court";
 * assert.equal(statistics.limitsOfAgreement([10, 12, 14, 17], [11, 12, 13, 14]).bias.estimate, 0.75);
 * ```
 */
export function limitsOfAgreement(
  a: readonly (number | null)[],
  b: readonly (number | null)[],
  { confidence = 0.95, coverage = 0.95 }: {
    readonly confidence?: number;
    readonly coverage?: number;
  } = {},
): LimitsOfAgreement {
  option.check("statistics.limitsOfAgreement", arguments[2], {
    confidence: option.share,
    coverage: option.share,
  });
  if (a.length !== b.length) {
    throw new RangeError(
      `Pairs need equal lengths, were given ${a.length} and ${b.length} readings`,
    );
  }
  checkReadings([...a, ...b], "pair readings");
  const differences: number[] = [];
  a.forEach((x, i) => {
    const y = b[i];
    if (x !== null && y !== null) differences.push(x - y);
  });
  const n = differences.length;
  const warnings = n < a.length
    ? [{ code: "left-out", of: "pairs", because: "missing", left: a.length - n, all: a.length }]
    : [];
  const about = { confidence, n, warnings };
  const shared = { coverage, n, warnings };
  const method = "mean difference, Student's t interval";
  if (n < 2) {
    const none = noEstimate({ code: "too-few", of: "pairs", needed: 2, found: n }, {
      ...about,
      method,
    });
    return { bias: none, lower: none, upper: none, sd: null, ...shared };
  }
  const { mean, squares } = momentsOf(differences);
  const largest = Math.max(...[...a, ...b].map((x) => Math.abs(x ?? 0)));
  if (squares <= n * (4 * Number.EPSILON * largest) ** 2) {
    const none = noEstimate({ code: "constant", which: "differences" }, {
      ...about,
      method,
    });
    // The mean difference is known; what chance leaves of it is not.
    const bias = {
      ...none,
      estimate: mean,
      estimate_reason: null,
      warnings: [...warnings, { code: "constant", which: "differences" }],
    };
    return { bias, lower: none, upper: none, sd: 0, ...shared };
  }
  const sd = Math.sqrt(squares / (n - 1));
  const t = tUpperQuantile((1 - confidence) / 2, n - 1);
  const z = normalUpperQuantile((1 - coverage) / 2);
  const around = (estimate: number, error: number, how: string): Estimate => ({
    estimate,
    estimate_reason: null,
    lower: estimate - t * error,
    upper: estimate + t * error,
    method: how,
    ...about,
  });
  const error = sd * Math.sqrt(1 / n + z * z / (2 * (n - 1)));
  const how = `mean difference ± ${z.toFixed(2)} SD, Student's t interval`;
  return {
    bias: around(mean, sd / Math.sqrt(n), method),
    lower: around(mean - z * sd, error, how),
    upper: around(mean + z * sd, error, how),
    sd,
    ...shared,
  };
}

/**
 * How far may two ways of reading lie apart when each subject was read several times by each?
 *
 * The SD of a difference of single readings: that of differences of subject means, plus what averaging
 * took away of each way's own scatter, √(s_d² + (1 − 1/m_a)·s_a² + (1 − 1/m_b)·s_b²) with m the
 * harmonic mean of readings. Its limits recover the variances' own limits (Zou's MOVER).
 *
 * @param subjects readings of each subject by both ways; not paired one by one
 * @throws {RangeError} if a reading is not finite
 * @see Bland & Altman 1999, section 5; Zou 2013
 */
export function limitsOfAgreementRepeated(
  subjects: readonly { readonly a: readonly number[]; readonly b: readonly number[] }[],
  { confidence = 0.95, coverage = 0.95 }: {
    readonly confidence?: number;
    readonly coverage?: number;
  } = {},
): LimitsOfAgreement {
  option.check("statistics.limitsOfAgreementRepeated", arguments[1], {
    confidence: option.share,
    coverage: option.share,
  });
  checkReadings(subjects.flatMap(({ a, b }) => [...a, ...b]), "compare repeated readings");
  const used = subjects.filter(({ a, b }) => a.length > 0 && b.length > 0);
  const n = used.length;
  const warnings = n < subjects.length
    ? [{
      code: "left-out",
      of: "subjects",
      because: "one-way",
      left: subjects.length - n,
      all: subjects.length,
    }]
    : [];
  const about = { confidence, n, warnings };
  const method = "mean difference of subject means, Student's t interval";
  const shared = { coverage, n, warnings };
  const none = (reason: Reason): LimitsOfAgreement => {
    const estimate = noEstimate(reason, { ...about, method });
    return { bias: estimate, lower: estimate, upper: estimate, sd: null, ...shared };
  };
  if (n < 2) return none({ code: "too-few", of: "pairs", needed: 2, found: n });
  const differences = used.map(({ a, b }) => momentsOf(a).mean - momentsOf(b).mean);
  const { mean, squares } = momentsOf(differences);
  const way = (side: "a" | "b") => {
    const freedom = used.reduce((total, s) => total + s[side].length - 1, 0);
    const sum = used.reduce((total, s) => total + momentsOf(s[side]).squares, 0);
    const share = 1 - used.reduce((total, s) => total + 1 / s[side].length, 0) / n;
    return { freedom, part: freedom > 0 ? share * sum / freedom : 0 };
  };
  const parts = [{ freedom: n - 1, part: squares / (n - 1) }, way("a"), way("b")];
  const variance = parts.reduce((total, { part }) => total + part, 0);
  if (variance === 0) return none({ code: "constant", which: "differences" });
  const tail = (1 - confidence) / 2;
  let [down, up] = [0, 0];
  for (const { freedom, part } of parts) {
    if (part === 0) continue;
    down += (part * (1 - freedom / chiSquaredUpperQuantile(tail, freedom))) ** 2;
    up += (part * (freedom / chiSquaredQuantile(tail, freedom) - 1)) ** 2;
  }
  const z = normalUpperQuantile((1 - coverage) / 2);
  const sd = Math.sqrt(variance);
  const sdLow = Math.sqrt(Math.max(0, variance - Math.sqrt(down)));
  const sdHigh = Math.sqrt(variance + Math.sqrt(up));
  const reach = tUpperQuantile(tail, n - 1) * Math.sqrt(squares / (n - 1) / n);
  const how = `mean difference ± ${z.toFixed(2)} SD of single readings, MOVER interval`;
  const inner = Math.hypot(reach, z * (sd - sdLow));
  const outer = Math.hypot(reach, z * (sdHigh - sd));
  const limit = (estimate: number, below: number, above: number, m: string): Estimate => ({
    estimate,
    estimate_reason: null,
    lower: estimate - below,
    upper: estimate + above,
    method: m,
    ...about,
  });
  return {
    bias: limit(mean, reach, reach, method),
    lower: limit(mean - z * sd, outer, inner, how),
    upper: limit(mean + z * sd, inner, outer, how),
    sd,
    ...shared,
  };
}
