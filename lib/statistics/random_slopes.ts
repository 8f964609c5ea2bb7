import { checkReadings, momentsOf } from "./checks.ts";
import type { Reason } from "./reason.ts";

/** How groups differ in level and in trend. */
export type RandomSlopes = {
  /** Variance between groups of the level where the covariate is 0, and of the slope. */
  readonly interceptVariance: number | null;
  readonly slopeVariance: number | null;
  /** Correlation of the two between groups; null when one of them does not vary. */
  readonly correlation: number | null;
  readonly residual: number | null;
  /** The mean line, with standard errors. */
  readonly intercept: number | null;
  readonly slope: number | null;
  readonly interceptStandardError: number | null;
  readonly slopeStandardError: number | null;
  readonly logLikelihood: number | null;
  /** True when the estimate lies where a variance is 0 or the correlation is 1 in size. */
  readonly boundary: boolean;
  readonly converged: boolean;
  readonly reason: Reason | null;
  readonly groups: number;
  readonly n: number;
};

/**
 * Do groups share one trend over a covariate, or has each its own?
 *
 * Fits value = intercept + slope · covariate, with a random intercept and slope for each group that may
 * be correlated, by restricted maximum likelihood. The covariance is held valid by its Cholesky factor;
 * each group enters by a two-by-two matrix, so the work grows with readings only once.
 *
 * @param value readings
 * @param covariate what they are followed over, such as days or trial numbers
 * @param group the group of each reading
 * @throws {RangeError} if lengths differ or a number is not finite
 * @see Laird & Ware 1982
 */
export function randomSlopes(
  value: readonly number[],
  covariate: readonly number[],
  group: readonly string[],
): RandomSlopes {
  const n = value.length;
  if (covariate.length !== n || group.length !== n) {
    throw new RangeError(
      `Lists need equal lengths, were given ${n}, ${covariate.length} and ${group.length}`,
    );
  }
  checkReadings(value, "fit trends");
  checkReadings(covariate, "fit trends");
  const levels = [...new Set(group)];
  const about = { groups: levels.length, n };
  const nothing = (reason: Reason): RandomSlopes => ({
    interceptVariance: null,
    slopeVariance: null,
    correlation: null,
    residual: null,
    intercept: null,
    slope: null,
    interceptStandardError: null,
    slopeStandardError: null,
    logLikelihood: null,
    boundary: false,
    converged: false,
    reason,
    ...about,
  });
  if (levels.length < 2) {
    return nothing({ code: "too-few", of: "groups", needed: 2, found: levels.length });
  }
  if (n < levels.length + 3) {
    return nothing({ code: "too-few", of: "readings", needed: levels.length + 3, found: n });
  }
  const [y, x] = [momentsOf(value), momentsOf(covariate)];
  if (y.squares <= y.rounding) return nothing({ code: "constant", which: "readings" });
  if (x.squares <= x.rounding) return nothing({ code: "constant", which: "covariate" });
  const [yScale, xScale] = [Math.sqrt(y.squares / n), Math.sqrt(x.squares / n)];

  // Per group: 1, x, x² and their products with y, all centred and scaled.
  const at = new Map(levels.map((level, i) => [level, i]));
  const sums = levels.map(() => new Float64Array(6));
  for (let i = 0; i < n; i++) {
    const [u, v] = [(covariate[i] - x.mean) / xScale, (value[i] - y.mean) / yScale];
    const s = sums[at.get(group[i])!];
    s[0] += 1;
    s[1] += u;
    s[2] += u * u;
    s[3] += v;
    s[4] += u * v;
    s[5] += v * v;
  }
  if (sums.every((s) => s[0] * s[2] - s[1] * s[1] <= 1e-12 * s[0] * s[0])) {
    return nothing({ code: "constant", which: "covariate within groups" });
  }
  const { theta, converged } = minimise((theta) => profile(sums, n, theta).deviance, [0.5, 0, 0.5]);
  const best = profile(sums, n, theta);
  if (!(best.residual > 1e-13)) {
    return nothing({ code: "no-noise", of: "fit" });
  }
  const [a, b, c] = theta;
  const scale = best.residual;
  const [g00, g01, g11] = [a * a * scale, a * b * scale, (b * b + c * c) * scale];
  const shift = x.mean / xScale;
  const square = yScale * yScale;
  const interceptVariance = square * (g00 - 2 * shift * g01 + shift * shift * g11);
  const covariance = square / xScale * (g01 - shift * g11);
  const slopeVariance = square / (xScale * xScale) * g11;
  const spread = Math.sqrt(interceptVariance * slopeVariance);
  const [s00, s01, s11] = best.fixedCovariance;
  return {
    interceptVariance,
    slopeVariance,
    correlation: spread > 0 ? Math.max(-1, Math.min(1, covariance / spread)) : null,
    residual: square * scale,
    intercept: y.mean + yScale * (best.fixed[0] - shift * best.fixed[1]),
    slope: yScale / xScale * best.fixed[1],
    interceptStandardError: yScale *
      Math.sqrt(scale * (s00 - 2 * shift * s01 + shift * shift * s11)),
    slopeStandardError: yScale / xScale * Math.sqrt(scale * s11),
    // Scaling readings adds ln(scale) for each, scaling the covariate rescales ln|X'V⁻¹X|.
    logLikelihood: -0.5 * best.deviance - (n - 2) * Math.log(yScale) - Math.log(xScale),
    boundary: Math.abs(a) < 1e-5 || Math.abs(c) < 1e-5,
    converged,
    reason: null,
    ...about,
  };
}

/** Restricted deviance at a relative Cholesky factor (a 0; b c), with the best residual and line. */
function profile(sums: readonly Float64Array[], n: number, [a, b, c]: readonly number[]) {
  let [x00, x01, x11, y0, y1, yy, logs] = [0, 0, 0, 0, 0, 0, 0];
  for (const [s, t, q, v, w, vv] of sums) {
    // Columns of Z L: (1, x)·(a, b) and x·c.
    const [p0, p1, r0, r1] = [a * s + b * t, a * t + b * q, c * t, c * q];
    const [h0, h1] = [a * v + b * w, c * w];
    const m00 = 1 + a * p0 + b * p1;
    const m01 = c * p1;
    const m11 = 1 + c * r1;
    const det = m00 * m11 - m01 * m01;
    logs += Math.log(det);
    const inner = (f0: number, f1: number, g0: number, g1: number) =>
      (m11 * f0 * g0 - m01 * (f0 * g1 + f1 * g0) + m00 * f1 * g1) / det;
    x00 += s - inner(p0, r0, p0, r0);
    x01 += t - inner(p0, r0, p1, r1);
    x11 += q - inner(p1, r1, p1, r1);
    y0 += v - inner(p0, r0, h0, h1);
    y1 += w - inner(p1, r1, h0, h1);
    yy += vv - inner(h0, h1, h0, h1);
  }
  const det = x00 * x11 - x01 * x01;
  const fixed = [(x11 * y0 - x01 * y1) / det, (x00 * y1 - x01 * y0) / det];
  const squares = yy - fixed[0] * y0 - fixed[1] * y1;
  const freedom = n - 2;
  const residual = squares / freedom;
  return {
    deviance: freedom * (1 + Math.log(2 * Math.PI * residual)) + logs + Math.log(det),
    residual,
    fixed,
    fixedCovariance: [x11 / det, -x01 / det, x00 / det],
  };
}

/** Newton's method on differences, with a gradient step where the surface is not bowl-shaped. */
function minimise(
  height: (theta: readonly number[]) => number,
  start: readonly number[],
): { readonly theta: readonly number[]; readonly converged: boolean } {
  const size = start.length;
  let theta = [...start];
  let now = height(theta);
  for (let round = 0; round < 200; round++) {
    const reach = theta.map((t) => 1e-4 * Math.max(0.1, Math.abs(t)));
    const moved = (i: number, di: number, j = 0, dj = 0) => {
      const there = [...theta];
      there[i] += di;
      there[j] += dj;
      return height(there);
    };
    const slope = theta.map((_, i) => (moved(i, reach[i]) - moved(i, -reach[i])) / (2 * reach[i]));
    const bend = theta.map((_, i) =>
      theta.map((_, j) =>
        i === j ? (moved(i, reach[i]) - 2 * now + moved(i, -reach[i])) / reach[i] ** 2 : (
          moved(i, reach[i], j, reach[j]) - moved(i, reach[i], j, -reach[j]) -
          moved(i, -reach[i], j, reach[j]) + moved(i, -reach[i], j, -reach[j])
        ) / (4 * reach[i] * reach[j])
      )
    );
    const step = solveBowl(bend, slope) ?? slope.map((s, i) => s / (Math.abs(bend[i][i]) + 1));
    let length = 1;
    let next = theta;
    let then = now;
    for (; length > 1e-10; length /= 2) {
      next = theta.map((t, i) => t - length * step[i]);
      then = height(next);
      if (then <= now) break;
    }
    const far = Math.max(...step.map((s, i) => Math.abs(s) / Math.max(0.1, Math.abs(theta[i]))));
    if (!(then <= now)) return { theta, converged: far < 1e-4 };
    theta = next;
    now = then;
    if (far * length < 1e-9 && size > 0) return { theta, converged: true };
  }
  return { theta, converged: false };
}

/** Solves a small positive definite system; null when it is not one. */
function solveBowl(matrix: readonly number[][], right: readonly number[]): number[] | null {
  const size = right.length;
  const rows = matrix.map((row, i) => [...row, right[i]]);
  for (let i = 0; i < size; i++) {
    if (!(rows[i][i] > 1e-9 * matrix[i][i] && matrix[i][i] > 0)) return null;
    for (let r = i + 1; r < size; r++) {
      const factor = rows[r][i] / rows[i][i];
      for (let c = i; c <= size; c++) rows[r][c] -= factor * rows[i][c];
    }
  }
  const out = new Array<number>(size);
  for (let i = size - 1; i >= 0; i--) {
    out[i] = rows[i][size];
    for (let c = i + 1; c < size; c++) out[i] -= rows[i][c] * out[c];
    out[i] /= rows[i][i];
  }
  return out;
}
