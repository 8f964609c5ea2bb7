import * as option from "../options.ts";
import { normalCdf, normalDensity, normalUpper, normalUpperQuantile } from "./distributions.ts";
import { type Estimate, noEstimate } from "./estimate.ts";
import type { Reason } from "./reason.ts";

/** A reading as it was taken: its number, or the bound that is all one knows of it. */
export type CensoredReading =
  | number
  | { readonly below: number }
  | { readonly above: number };

/** Centres and common scatter of groups of readings, some of which are known by a bound only. */
export type CensoredNormal = {
  /** Mean of each group; null with a reason where all of it lies beyond a bound. */
  readonly means: Readonly<Record<string, Estimate>>;
  /** Within groups: maximum likelihood times √(n / (n − groups)), so that it is the pooled SD where nothing is censored. */
  readonly sd: Estimate;
  readonly logLikelihood: number | null;
  /**
   * Each reading's number, or what the fit expects beyond its bound; null where its group has no number.
   * Their mean over a group is the group's mean.
   */
  readonly expected: readonly (number | null)[];
  /** What each reading tells of its group's mean: 1 a number, less a bound, 0 where its group has no number. */
  readonly information: readonly number[];
  /** Readings with a number, and in all. */
  readonly read: number;
  readonly n: number;
};

/**
 * Where do readings lie, and how do they scatter, when some ran off the end of the scale?
 *
 * Each group has a mean of its own, all share one scatter. A reading "below c" says just that: it counts
 * with the chance of lying there, and is never replaced by a number. Maximum likelihood in the form in
 * which it has one summit (mean and 1 over the SD), by Newton's method. A group with no number at all has
 * no mean, and adds nothing to the scatter.
 *
 * @param readings numbers, `{ below }` or `{ above }`
 * @param options.group the group of each reading; one group by default
 * @throws {RangeError} if a number or bound is not finite or lengths differ
 * @see Tobin 1958, Econometrica 26:24; Olsen 1978, Econometrica 46:1211 (one summit); Helsel 2012
 *
 * @example Three readings and one that was below 1 mm
 * ```ts
 * import assert from "node:assert/strict";
 * import { censoredNormal } from "./censored_normal.ts";
 * const { means } = censoredNormal([1.2, 1.5, 1.1, { below: 1 }]);
 * assert.equal(means.all.estimate?.toFixed(2), "1.17");
 * ```
 */
export function censoredNormal(
  readings: readonly CensoredReading[],
  { group, confidence = 0.95 }: {
    readonly group?: readonly string[];
    readonly confidence?: number;
  } = {},
): CensoredNormal {
  option.check("statistics.censoredNormal", arguments[1], {
    group: option.listOf(option.text),
    confidence: option.share,
  });
  if (group !== undefined && group.length !== readings.length) {
    throw new RangeError(`${readings.length} readings, but a group for ${group.length}`);
  }
  const parts = readings.map((reading, i) => part(reading, group?.[i] ?? "all"));
  const names = [...new Set(parts.map(({ name }) => name))];
  const seen = names.filter((name) => parts.some((p) => p.name === name && p.kind === 0));
  const used = parts.filter(({ name }) => seen.includes(name));
  const read = parts.filter(({ kind }) => kind === 0).length;
  const about = {
    confidence,
    method: "maximum likelihood, censored normal, Wald limits",
    n: readings.length,
  };
  const nothing = (reason: Reason): CensoredNormal => ({
    means: Object.fromEntries(names.map((name) => [name, noEstimate(reason, about)])),
    sd: noEstimate(reason, about),
    logLikelihood: null,
    expected: parts.map(({ kind, value }) => kind === 0 ? value : null),
    information: parts.map(({ kind }) => kind === 0 ? 1 : 0),
    read,
    n: readings.length,
  });
  if (read === 0) return nothing({ code: "too-few", of: "readings", needed: 2, found: 0 });
  if (used.length <= seen.length) return nothing({ code: "no-repeats", subjects: seen.length });
  const shift = used.find(({ kind }) => kind === 0)!.value;
  const largest = Math.max(...used.map(({ value }) => Math.abs(value - shift)));
  if (!(largest > 0)) return nothing({ code: "constant", which: "readings" });
  const fit = summit(used, seen, shift, largest);
  if (fit === null) return nothing({ code: "no-fit" });

  const z = normalUpperQuantile((1 - confidence) / 2);
  const spread = Math.sqrt(used.length / (used.length - seen.length));
  const means = names.map((name): [string, Estimate] => {
    const at = seen.indexOf(name);
    if (at < 0) return [name, noEstimate({ code: "beyond-bounds" }, about)];
    const [value, error] = [fit.means[at], z * spread * fit.errors[at]];
    return [name, {
      estimate: value,
      estimate_reason: null,
      lower: value - error,
      upper: value + error,
      ...about,
      warnings: [],
    }];
  });
  const told = parts.map((one) => {
    const at = seen.indexOf(one.name);
    return at < 0 ? { expected: null, information: 0 } : beyond(one, fit.means[at], fit.sd);
  });
  return {
    means: Object.fromEntries(means),
    sd: {
      estimate: spread * fit.sd,
      estimate_reason: null,
      lower: spread * fit.sd * Math.exp(-z * fit.logSdError),
      upper: spread * fit.sd * Math.exp(z * fit.logSdError),
      ...about,
      warnings: [],
    },
    logLikelihood: fit.logLikelihood,
    expected: told.map(({ expected }) => expected),
    information: told.map(({ information }) => information),
    read,
    n: readings.length,
  };
}

/** Kind: 0 a number, −1 below the value, 1 above it. */
type Part = { readonly name: string; readonly value: number; readonly kind: -1 | 0 | 1 };

function part(reading: CensoredReading, name: string): Part {
  const [value, kind] = typeof reading === "number"
    ? [reading, 0 as const]
    : "below" in reading
    ? [reading.below, -1 as const]
    : [reading.above, 1 as const];
  if (!Number.isFinite(value)) throw new RangeError(`Cannot fit readings: ${value} is not finite`);
  return { name, value, kind };
}

/** Where a reading is to be expected under the fit, and what it tells of the mean. */
function beyond({ value, kind }: Part, mean: number, sd: number) {
  if (kind === 0) return { expected: value, information: 1 };
  const z = (value - mean) / sd;
  const { hazard, bend } = tail(z, kind);
  return { expected: mean - sd * hazard, information: bend };
}

/** Chance of lying beyond a bound at z, its hazard, and how the hazard bends. */
function tail(z: number, kind: -1 | 1) {
  const chance = Math.max(kind < 0 ? normalCdf(z) : normalUpper(z), 1e-300);
  const hazard = (kind < 0 ? 1 : -1) * normalDensity(z) / chance;
  return { chance, hazard, bend: hazard * (hazard + z) };
}

/** Slopes and curvatures of the log-likelihood along each group's mean over the SD, and 1 over the SD. */
type Surface = {
  readonly height: number;
  readonly slope: Float64Array;
  readonly slopeScale: number;
  /** Minus the second derivatives: of each group, of group with scale, of the scale. */
  readonly own: Float64Array;
  readonly cross: Float64Array;
  readonly scale: number;
};

function surface(
  y: readonly { readonly at: number; readonly value: number; readonly kind: -1 | 0 | 1 }[],
  delta: Float64Array,
  theta: number,
): Surface {
  const slope = new Float64Array(delta.length);
  const own = new Float64Array(delta.length);
  const cross = new Float64Array(delta.length);
  let [height, slopeScale, scale] = [0, 0, 0];
  for (const { at, value, kind } of y) {
    const z = theta * value - delta[at];
    if (kind === 0) {
      height += Math.log(theta) - 0.5 * z * z - 0.5 * Math.log(2 * Math.PI);
      slope[at] += z;
      slopeScale += 1 / theta - z * value;
      own[at] += 1;
      cross[at] -= value;
      scale += 1 / theta ** 2 + value * value;
      continue;
    }
    const { chance, hazard, bend } = tail(z, kind);
    height += Math.log(chance);
    slope[at] -= hazard;
    slopeScale += hazard * value;
    own[at] += bend;
    cross[at] -= bend * value;
    scale += bend * value * value;
  }
  return { height, slope, slopeScale, own, cross, scale };
}

function summit(
  used: readonly Part[],
  seen: readonly string[],
  shift: number,
  unit: number,
): {
  readonly means: readonly number[];
  readonly errors: readonly number[];
  readonly sd: number;
  readonly logSdError: number;
  readonly logLikelihood: number;
} | null {
  const y = used.map(({ name, value, kind }) => ({
    at: seen.indexOf(name),
    value: (value - shift) / unit,
    kind,
  }));
  let delta: Float64Array = new Float64Array(seen.length);
  let theta = 1;
  let now = surface(y, delta, theta);
  for (let round = 0; round < 200; round++) {
    // The groups do not touch each other, so they are taken out one by one.
    let [left, right] = [now.scale, now.slopeScale];
    for (let g = 0; g < delta.length; g++) {
      left -= now.cross[g] ** 2 / now.own[g];
      right -= now.cross[g] * now.slope[g] / now.own[g];
    }
    if (!(left > 0)) return null;
    const stepScale = right / left;
    const step = delta.map((_, g) => (now.slope[g] - now.cross[g] * stepScale) / now.own[g]);
    const gain = right * stepScale +
      now.slope.reduce((total, s, g) => total + s * s / now.own[g], 0);
    let size = 1;
    let next = now;
    let [nextDelta, nextTheta] = [delta, theta];
    for (; size > 1e-12; size /= 2) {
      nextTheta = theta + size * stepScale;
      if (!(nextTheta > 0)) continue;
      nextDelta = delta.map((d, g) => d + size * step[g]);
      next = surface(y, nextDelta, nextTheta);
      if (next.height >= now.height - 1e-12 * (1 + Math.abs(now.height))) break;
    }
    [delta, theta, now] = [nextDelta, nextTheta, next];
    if (theta > 1e8) return null;
    if (gain < 1e-18) break;
  }
  // Covariance of (delta, theta), then of the means delta / theta and of −ln theta.
  let left = now.scale;
  for (let g = 0; g < delta.length; g++) left -= now.cross[g] ** 2 / now.own[g];
  if (!(left > 0)) return null;
  const varTheta = 1 / left;
  const errors = Array.from(delta, (d, g) => {
    const share = now.cross[g] / now.own[g];
    const varDelta = 1 / now.own[g] + share * share * varTheta;
    const covariance = -share * varTheta;
    const variance = varDelta - 2 * d / theta * covariance + (d / theta) ** 2 * varTheta;
    return unit / theta * Math.sqrt(variance);
  });
  return {
    means: Array.from(delta, (d) => shift + unit * d / theta),
    errors,
    sd: unit / theta,
    logSdError: Math.sqrt(varTheta) / theta,
    logLikelihood: now.height - y.filter(({ kind }) => kind === 0).length * Math.log(unit),
  };
}
