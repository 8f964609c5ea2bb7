import * as option from "../options.ts";
import { checkDesign } from "./design_matrix.ts";
import { normalUpper } from "./distributions.ts";
import { gaussHermite } from "./gauss_hermite.ts";
import { factorRows, invertRows, solveFactored } from "./linear_solve.ts";
import type { Reason } from "./reason.ts";

/** A fit of ordered ratings. */
export type ProportionalOdds = {
  /** One per column: log odds of a higher rating per unit; null where there is no fit. */
  readonly coefficients: readonly (number | null)[];
  readonly standard_errors: readonly (number | null)[];
  /** Two-sided Wald p per coefficient. */
  readonly p: readonly (number | null)[];
  /** One between every two neighbouring categories, ascending. */
  readonly cutpoints: readonly (number | null)[];
  readonly cutpoint_errors: readonly (number | null)[];
  /** The ratings that occur, ascending. */
  readonly categories: readonly number[];
  /** SD of the raters' leniency on the log-odds scale; null without raters. */
  readonly rater_sd: number | null;
  readonly logLikelihood: number | null;
  readonly converged: boolean;
  /** Why there is no fit. */
  readonly reason: Reason | null;
  readonly n: number;
  readonly raters: number;
  readonly method: string;
  readonly warnings: readonly Reason[];
};

/** A linear predictor this far out says that the data separate: odds of e^20. */
const SEPARATED = 20;

/**
 * Which columns go with higher ratings, taking ratings as an order only?
 *
 * logit P(rating ≤ category j) = cutpoint j − x'β (− the rater's leniency): a positive coefficient goes
 * with higher ratings. Maximum likelihood by Newton steps. With `rater`, each rater has a leniency drawn
 * from a normal distribution whose SD is fitted; its integral is taken by adaptive Gauss–Hermite
 * quadrature.
 *
 * @param X one row per rating, one column per predictor
 * @param ratings any numbers; only their order counts
 * @param rater who gave each rating
 * @param counts how many ratings each row stands for; default one
 * @param points quadrature points per rater
 * @returns null coefficients with a reason if all ratings are equal, a column is constant or depends on
 *   others, or the ratings are separated by the columns (the likelihood then grows without end)
 * @throws {RangeError} if shapes do not match or a value is not finite
 * @see McCullagh 1980, Journal of the Royal Statistical Society B 42:109; Pinheiro & Bates 1995 for the
 *   quadrature
 */
export function proportionalOdds(
  X: readonly (readonly number[])[],
  ratings: readonly number[],
  { rater, counts, points = 21 }: {
    readonly rater?: readonly (string | number)[];
    readonly counts?: readonly number[];
    readonly points?: number;
  } = {},
): ProportionalOdds {
  option.check("statistics.proportionalOdds", arguments[2], {
    rater: option.listOf(option.either(option.text, option.number)),
    counts: option.listOf(option.number),
    points: option.whole(1),
  });
  const { rows, columns: p } = checkDesign(X, ratings);
  if (rater !== undefined && rater.length !== rows) {
    throw new RangeError(`${rows} ratings need ${rows} raters, was given ${rater.length}`);
  }
  if (counts !== undefined) {
    if (counts.length !== rows || counts.some((count) => !(count >= 0 && count < Infinity))) {
      throw new RangeError(`counts needs ${rows} numbers of at least 0`);
    }
  }
  const used = ratings.map((_, i) => i).filter((i) => (counts?.[i] ?? 1) > 0);
  const weight = Float64Array.from(used, (i) => counts?.[i] ?? 1);
  const categories = [...new Set(used.map((i) => ratings[i]))].sort((a, b) => a - b);
  const level = Int32Array.from(used, (i) => categories.indexOf(ratings[i]));
  const raterIds = rater === undefined ? [] : [...new Set(used.map((i) => rater[i]))];
  const n = weight.reduce((sum, value) => sum + value, 0);
  const method = rater === undefined
    ? "proportional odds, maximum likelihood"
    : `proportional odds with rater intercepts, adaptive Gauss–Hermite quadrature, ${points} points`;
  const about = { categories, n, raters: raterIds.length, method };
  const none = (reason: Reason): ProportionalOdds => ({
    coefficients: new Array(p).fill(null),
    standard_errors: new Array(p).fill(null),
    p: new Array(p).fill(null),
    cutpoints: new Array(Math.max(0, categories.length - 1)).fill(null),
    cutpoint_errors: new Array(Math.max(0, categories.length - 1)).fill(null),
    rater_sd: null,
    logLikelihood: null,
    converged: false,
    reason,
    ...about,
    warnings: [],
  });
  if (categories.length < 2) return none({ code: "constant", which: "ratings" });
  const scaled = centreAndScale(used.map((i) => X[i]), weight);
  if (scaled.constant >= 0) {
    return none({ code: "constant", which: "column", column: scaled.constant + 1 });
  }

  const data: Data = {
    x: scaled.x,
    p,
    level,
    cuts: categories.length - 1,
    weight,
    groups: raterIds.map((id) =>
      Int32Array.from(used.flatMap((i, row) => rater![i] === id ? [row] : []))
    ),
  };
  const start = startingValues(data, categories.length);
  const plain = newton(start, (theta) => fixedLikelihood(theta, data), data.cuts);
  if (isSeparated(plain.theta, data)) {
    return none({ code: "separated" });
  }
  if (plain.covariance === null) return none({ code: "dependent" });
  if (rater === undefined) return report(plain, null, [], scaled, data, about);

  if (raterIds.length < 2) {
    return report(plain, null, [{ code: "one-rater" }], scaled, data, about);
  }
  const mixed = newton(
    [...plain.theta, Math.log(0.5)],
    (theta) => mixedLikelihood(theta, data, points),
    data.cuts,
  );
  const sd = Math.exp(mixed.theta[mixed.theta.length - 1]);
  if (!(mixed.value > plain.value + 1e-7) || sd < 1e-3) {
    return report(
      plain,
      0,
      [{ code: "raters-alike" }],
      scaled,
      data,
      about,
    );
  }
  if (isSeparated(mixed.theta, data)) {
    return none({ code: "separated" });
  }
  return report(mixed, sd, [], scaled, data, about);
}

type Data = {
  /** Centred and scaled columns, p per row. */
  readonly x: Float64Array;
  readonly p: number;
  /** Category of each rating, from 0. */
  readonly level: Int32Array;
  readonly cuts: number;
  readonly weight: Float64Array;
  /** Rows of each rater; empty without raters. */
  readonly groups: readonly Int32Array[];
};

type Scaled = {
  readonly x: Float64Array;
  readonly means: readonly number[];
  readonly spreads: readonly number[];
  readonly constant: number;
};

function centreAndScale(X: readonly (readonly number[])[], weight: Float64Array): Scaled {
  const p = X[0].length;
  const total = weight.reduce((sum, value) => sum + value, 0);
  const ids = Array.from({ length: p }, (_, j) => j);
  const means = ids.map((j) => X.reduce((sum, row, i) => sum + weight[i] * row[j], 0) / total);
  const spreads = ids.map((j) =>
    Math.sqrt(X.reduce((sum, row, i) => sum + weight[i] * (row[j] - means[j]) ** 2, 0) / total)
  );
  const constant = ids.findIndex((j) => X.every((row) => row[j] === X[0][j]));
  const x = Float64Array.from(X.flatMap((row) => row.map((v, j) => (v - means[j]) / spreads[j])));
  return { x, means, spreads, constant };
}

/** Cutpoints that give the observed shares when nothing else matters, and slopes of 0. */
function startingValues({ level, weight, p }: Data, categories: number): number[] {
  const share = new Array<number>(categories).fill(0);
  level.forEach((k, i) => share[k] += weight[i]);
  const total = share.reduce((a, b) => a + b, 0);
  let below = 0;
  const cuts = share.slice(0, -1).map((count) => {
    below += count;
    return Math.log(below / (total - below));
  });
  return [...cuts, ...new Array<number>(p).fill(0)];
}

type Likelihood = { readonly value: number; readonly gradient: Float64Array };

/** Parameters: cutpoints, slopes, and with raters the log SD of their leniency. */
function fixedLikelihood(theta: readonly number[], data: Data): Likelihood {
  const gradient = new Float64Array(theta.length);
  const one = new Float64Array(5);
  let value = 0;
  for (let row = 0; row < data.level.length; row++) {
    rateOne(theta, data, row, linear(theta, data, row), one);
    const weight = data.weight[row];
    value += weight * one[LOG];
    addGradient(gradient, data, row, weight * one[ABOVE], weight * one[BELOW], weight * one[ETA]);
  }
  return { value, gradient };
}

function linear(theta: readonly number[], { x, p, cuts }: Data, row: number): number {
  let eta = 0;
  for (let j = 0; j < p; j++) eta += theta[cuts + j] * x[row * p + j];
  return eta;
}

// Where `rateOne` puts the log likelihood, its derivatives by the cutpoint above, the one below and
// the linear predictor, and its second derivative by the linear predictor.
const [LOG, ABOVE, BELOW, ETA, CURVATURE] = [0, 1, 2, 3, 4];

/** The likelihood of one rating, into a buffer: this is where the time goes. */
function rateOne(
  theta: readonly number[],
  { level, cuts }: Data,
  row: number,
  eta: number,
  into: Float64Array,
): void {
  const k = level[row];
  const upper = k === cuts ? Infinity : theta[k] - eta;
  const lower = k === 0 ? -Infinity : theta[k - 1] - eta;
  // One exponential each: F(|z|) = 1/(1 + e), F(−|z|) = e/(1 + e), density e/(1 + e)².
  const eUpper = Math.exp(-Math.abs(upper));
  const eLower = Math.exp(-Math.abs(lower));
  const farUpper = 1 / (1 + eUpper);
  const farLower = 1 / (1 + eLower);
  const nearUpper = eUpper * farUpper;
  const nearLower = eLower * farLower;
  const densityUpper = nearUpper * farUpper;
  const densityLower = nearLower * farLower;
  // P = F(upper) − F(lower), in the tail where it is not a difference of near ones.
  const high = lower > 0 ? nearLower : upper >= 0 ? farUpper : nearUpper;
  const low = lower > 0 ? nearUpper : lower >= 0 ? farLower : nearLower;
  const chance = Math.max(high - low, Number.MIN_VALUE);
  const slopeUpper = densityUpper * (upper >= 0 ? nearUpper - farUpper : farUpper - nearUpper);
  const slopeLower = densityLower * (lower >= 0 ? nearLower - farLower : farLower - nearLower);
  const first = (densityUpper - densityLower) / chance;
  into[LOG] = Math.log(chance);
  into[ABOVE] = densityUpper / chance;
  into[BELOW] = -densityLower / chance;
  into[ETA] = -first;
  into[CURVATURE] = (slopeUpper - slopeLower) / chance - first * first;
}

function addGradient(
  gradient: Float64Array,
  { level, cuts, x, p }: Data,
  row: number,
  above: number,
  below: number,
  eta: number,
): void {
  const k = level[row];
  if (k < cuts) gradient[k] += above;
  if (k > 0) gradient[k - 1] += below;
  for (let j = 0; j < p; j++) gradient[cuts + j] += eta * x[row * p + j];
}

/**
 * Log likelihood with each rater's leniency integrated out.
 *
 * The points are placed about the mode of each rater's integrand; the gradient is the mean over the
 * rater's leniency of the gradient given it (Fisher's identity), with the same points.
 */
function mixedLikelihood(theta: readonly number[], data: Data, points: number): Likelihood {
  const sd = Math.exp(theta[theta.length - 1]);
  const gradient = new Float64Array(theta.length);
  const rule = gaussHermite(points);
  const one = new Float64Array(5);
  let value = 0;
  for (const rows of data.groups) {
    const etas = Float64Array.from(rows, (row) => linear(theta, data, row));
    const { mode, width } = leniencyMode(theta, data, rows, etas, sd);
    // Each point's derivatives for each rating, kept until the points' shares are known.
    const kept = new Float64Array(points * rows.length * 3);
    const logs = new Float64Array(points);
    let largest = -Infinity;
    for (let k = 0; k < points; k++) {
      const u = mode + Math.SQRT2 * width * rule.points[k];
      let log = rule.points[k] * rule.points[k] - u * u / 2;
      for (let i = 0, at = 3 * k * rows.length; i < rows.length; i++, at += 3) {
        rateOne(theta, data, rows[i], etas[i] + sd * u, one);
        log += data.weight[rows[i]] * one[LOG];
        kept[at] = one[ABOVE];
        kept[at + 1] = one[BELOW];
        kept[at + 2] = one[ETA];
      }
      logs[k] = log;
      largest = Math.max(largest, log);
    }
    let sum = 0;
    const terms = logs.map((log, k) => rule.weights[k] * Math.exp(log - largest));
    for (const term of terms) sum += term;
    // ∫ φ(u) f(u) du with u = mode + √2·width·point.
    value += largest + Math.log(sum * width / Math.sqrt(Math.PI));
    for (let i = 0; i < rows.length; i++) {
      let above = 0;
      let below = 0;
      let eta = 0;
      let withLeniency = 0;
      for (let k = 0; k < points; k++) {
        const share = terms[k] / sum;
        const at = 3 * (k * rows.length + i);
        above += share * kept[at];
        below += share * kept[at + 1];
        eta += share * kept[at + 2];
        withLeniency += share * kept[at + 2] * (mode + Math.SQRT2 * width * rule.points[k]);
      }
      const weight = data.weight[rows[i]];
      addGradient(gradient, data, rows[i], weight * above, weight * below, weight * eta);
      gradient[theta.length - 1] += weight * withLeniency * sd;
    }
  }
  return { value, gradient };
}

/** Where a rater's leniency (in SDs) is most likely, and how wide the peak is. */
function leniencyMode(
  theta: readonly number[],
  data: Data,
  rows: Int32Array,
  etas: Float64Array,
  sd: number,
): { mode: number; width: number } {
  const one = new Float64Array(5);
  let mode = 0;
  let width = 1;
  for (let step = 0; step < 50; step++) {
    let slope = -mode;
    let curvature = -1;
    for (let i = 0; i < rows.length; i++) {
      rateOne(theta, data, rows[i], etas[i] + sd * mode, one);
      slope += data.weight[rows[i]] * one[ETA] * sd;
      curvature += data.weight[rows[i]] * one[CURVATURE] * sd * sd;
    }
    width = 1 / Math.sqrt(-curvature);
    const change = Math.max(-2, Math.min(2, -slope / curvature));
    mode += change;
    if (Math.abs(change) < 1e-10) break;
  }
  return { mode, width };
}

type Fit = {
  readonly theta: number[];
  readonly value: number;
  readonly converged: boolean;
  readonly covariance: number[][] | null;
};

/** Newton's method; second derivatives by central differences of the gradient. */
function newton(
  start: readonly number[],
  likelihood: (theta: readonly number[]) => Likelihood,
  cuts: number,
): Fit {
  let theta = start.slice();
  let now = likelihood(theta);
  let converged = false;
  // Second derivatives cost many gradients, and near the top they hardly change: the old ones stay while
  // each step cuts the promised rise to a tenth. The last step always has its own.
  let information = informationAt(theta, likelihood);
  let fresh = true;
  let lastRise = Infinity;
  for (let iteration = 0; iteration < 100 && !converged; iteration++) {
    let { step, rise } = promised(information, now.gradient);
    if (!fresh && !(rise > 1e-9 && rise < 0.1 * lastRise)) {
      information = informationAt(theta, likelihood);
      fresh = true;
      ({ step, rise } = promised(information, now.gradient));
    }
    // No step moves a parameter by more than a unit of (scaled) log odds: far out the curve is no parabola.
    const longest = Math.max(...step.map(Math.abs));
    if (longest > 1) step = step.map((value) => value / longest);
    let scale = 1;
    const before = now.value;
    let moved = false;
    for (let halving = 0; halving < 40; halving++, scale /= 2) {
      const tried = theta.map((value, j) => value + scale * step[j]);
      if (tried.slice(1, cuts).some((cut, k) => cut <= tried[k])) continue;
      const next = likelihood(tried);
      if (next.value >= now.value - 1e-13 * Math.abs(now.value)) {
        theta = tried;
        now = next;
        moved = true;
        break;
      }
    }
    // Convergence is quadratic: after a step that promised this little, nothing is left to gain. With
    // few quadrature points the gradient is not quite that of the value, and the gain itself decides.
    converged = fresh && (!moved || rise < 1e-9 || (rise < 1e-4 && now.value - before < 1e-9));
    lastRise = !moved || longest > 1 || scale < 1 ? 0 : rise;
    fresh = false;
    if (theta.slice(cuts).some((value) => Math.abs(value) > 4 * SEPARATED)) break;
  }
  return {
    theta,
    value: now.value,
    converged,
    covariance: invertRows(informationAt(theta, likelihood)),
  };
}

function promised(
  information: readonly (readonly number[])[],
  gradient: Float64Array,
): { step: number[]; rise: number } {
  const step = solveWithLift(information, gradient);
  return { step, rise: step.reduce((sum, value, j) => sum + value * gradient[j], 0) };
}

function informationAt(
  theta: readonly number[],
  likelihood: (theta: readonly number[]) => Likelihood,
): number[][] {
  const d = theta.length;
  const rows = theta.map((value, j) => {
    const h = 1e-5 * Math.max(1, Math.abs(value));
    const shifted = (by: number) => theta.map((other, k) => k === j ? other + by : other);
    const up = likelihood(shifted(h)).gradient;
    const down = likelihood(shifted(-h)).gradient;
    return Array.from(up, (g, k) => -(g - down[k]) / (2 * h));
  });
  return rows.map((row, j) => Array.from({ length: d }, (_, k) => (row[k] + rows[k][j]) / 2));
}

/** Solves with the diagonal lifted until the matrix is positive definite. */
function solveWithLift(matrix: readonly (readonly number[])[], right: ArrayLike<number>): number[] {
  const size = Math.max(...matrix.map((row, j) => Math.abs(row[j])), 1e-8);
  for (let lift = 0; lift < 1e6; lift = lift === 0 ? 1e-8 : lift * 10) {
    const factor = factorRows(
      matrix.map((row, j) => row.map((value, k) => j === k ? value + lift * size : value)),
    );
    if (factor !== null) return solveFactored(factor, right);
  }
  return Array.from(right, (value) => value / size);
}

/** Does every rating with certainty fall where it did, in any part of the scale? */
function isSeparated(theta: readonly number[], data: Data): boolean {
  return theta.slice(data.cuts, data.cuts + data.p).some((slope) => Math.abs(slope) > SEPARATED);
}

/** Back to the units of the data: x = mean + spread·z. */
function report(
  { theta, value, converged, covariance }: Fit,
  rater_sd: number | null,
  warnings: readonly Reason[],
  { means, spreads }: Scaled,
  { cuts, p }: Data,
  about: Pick<ProportionalOdds, "categories" | "n" | "raters" | "method">,
): ProportionalOdds {
  const slopes = spreads.map((spread, j) => theta[cuts + j] / spread);
  const shift = slopes.reduce((sum, slope, j) => sum + slope * means[j], 0);
  const errorOf = (direction: readonly number[]) => {
    if (covariance === null) return null;
    let sum = 0;
    for (let i = 0; i < direction.length; i++) {
      for (let j = 0; j < direction.length; j++) {
        sum += direction[i] * direction[j] * covariance[i][j];
      }
    }
    return Math.sqrt(sum);
  };
  const along = (cut: number | null, slope: (j: number) => number) => [
    ...Array.from({ length: cuts }, (_, k) => k === cut ? 1 : 0),
    ...Array.from({ length: p }, (_, j) => slope(j)),
  ];
  const standard_errors = slopes.map((_, j) =>
    errorOf(along(null, (k) => k === j ? 1 / spreads[j] : 0))
  );
  return {
    coefficients: slopes,
    standard_errors,
    p: slopes.map((slope, j) => {
      const error = standard_errors[j];
      return error === null ? null : Math.min(1, 2 * normalUpper(Math.abs(slope) / error));
    }),
    cutpoints: theta.slice(0, cuts).map((cut) => cut + shift),
    cutpoint_errors: Array.from(
      { length: cuts },
      (_, k) => errorOf(along(k, (j) => means[j] / spreads[j])),
    ),
    rater_sd,
    logLikelihood: value,
    converged: converged && covariance !== null,
    reason: null,
    ...about,
    warnings: converged ? warnings : [...warnings, { code: "not-converged" }],
  };
}
