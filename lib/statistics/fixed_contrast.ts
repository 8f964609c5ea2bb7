import { checkConfidence } from "./checks.ts";
import { tQuantile, tUpper } from "./distributions.ts";
import { type Estimate, noEstimate } from "./estimate.ts";
import { invertSymmetric } from "./linear_solve.ts";
import type { MixedModel } from "./variance_components.ts";

/** A sum of fixed effects with what it takes to judge it. */
type FixedContrast = Estimate & {
  readonly standard_error: number | null;
  /** Satterthwaite's degrees of freedom. */
  readonly freedom: number | null;
  /** Of the hypothesis that it is 0. */
  readonly p: number | null;
};

/**
 * How large is a fixed effect of a mixed model, or a sum of several, and how sure is it?
 *
 * Generalised least squares at the fitted variances. The degrees of freedom are Satterthwaite's: twice
 * the squared variance of the sum over the variance of that variance, from the observed information of
 * the components that are not held at 0.
 *
 * @param weights what to take of each fixed effect by its name in `design.fixedNames`; others count 0
 * @returns the sum in the reading's unit, null with a reason where the model has no fit
 * @throws {RangeError} if a name is not a fixed effect of the model
 * @see Satterthwaite 1946; Giesbrecht & Burns 1985
 *
 * @example The slope over three sessions of two shoes
 * ```ts
 * import assert from "node:assert/strict";
 * import { fixedContrast } from "./fixed_contrast.ts";
 * import { mixedModel } from "./variance_components.ts";
 * const model = mixedModel({
 *   value: [10.1, 11, 12, 20, 21.1, 21.9],
 *   factors: { shoe: ["a", "a", "a", "b", "b", "b"] },
 *   terms: ["shoe"],
 *   covariates: { week: [-1, 0, 1, -1, 0, 1] },
 * });
 * assert.equal(fixedContrast(model, { week: 1 }).estimate?.toFixed(3), "0.950");
 * ```
 */
export function fixedContrast(
  model: MixedModel,
  weights: Readonly<Record<string, number>>,
  { confidence = 0.95 }: { readonly confidence?: number } = {},
): FixedContrast {
  checkConfidence(confidence);
  const { design, fit, solver, scale, centre, n } = model;
  for (const name of Object.keys(weights)) {
    if (!design.fixedNames.includes(name)) {
      throw new RangeError(
        `"${name}" is no fixed effect; the model has ${design.fixedNames.join(", ")}`,
      );
    }
  }
  const about = { confidence, method: "REML, Satterthwaite's t interval", n };
  if (fit === null || solver === null) {
    const reason = model.reason ?? { code: "no-fit" };
    return { ...noEstimate(reason, about), standard_error: null, freedom: null, p: null };
  }
  const row = Float64Array.from(design.fixedNames, (name) => weights[name] ?? 0);
  let value = (weights.mean ?? 0) * centre;
  row.forEach((weight, i) => value += scale * weight * fit.fixed[i]);
  const varianceAt = (variances: Float64Array) => {
    const covariance = solver.fixedCovariance(variances);
    return covariance === null ? NaN : quadratic(row, covariance);
  };
  const variance = quadratic(row, fit.fixedCovariance);
  const error = scale * Math.sqrt(variance);
  const freedom = satterthwaite(fit, variance, varianceAt);
  const reach = tQuantile((1 + confidence) / 2, freedom) * error;
  return {
    estimate: value,
    estimate_reason: null,
    lower: value - reach,
    upper: value + reach,
    ...about,
    warnings: [],
    standard_error: error,
    freedom,
    p: Math.min(1, 2 * tUpper(Math.abs(value) / error, freedom)),
  };
}

function quadratic(row: Float64Array, matrix: Float64Array): number {
  let total = 0;
  for (let i = 0; i < row.length; i++) {
    for (let j = 0; j < row.length; j++) total += row[i] * matrix[i * row.length + j] * row[j];
  }
  return total;
}

/** 2 v² / Var(v), the slope of v along each free variance taken by central differences. */
function satterthwaite(
  { variances, observed, expected }: NonNullable<MixedModel["fit"]>,
  value: number,
  varianceAt: (variances: Float64Array) => number,
): number {
  const all = variances.length;
  const free = [...variances.keys()].filter((t) => variances[t] > 0);
  const slope = free.map((t) => {
    const step = 1e-4 * variances[t];
    const moved = (by: number) => varianceAt(variances.map((v, i) => i === t ? v + by : v));
    return (moved(step) - moved(-step)) / (2 * step);
  });
  const size = free.length;
  const pick = (source: Float64Array) =>
    invertSymmetric(
      Float64Array.from(
        { length: size * size },
        (_, k) => source[free[Math.floor(k / size)] * all + free[k % size]],
      ),
      size,
    );
  const inverse = pick(observed) ?? pick(expected);
  const spread = inverse === null ? NaN : quadratic(Float64Array.from(slope), inverse);
  return spread > 0 ? Math.max(1, 2 * value * value / spread) : 1;
}
