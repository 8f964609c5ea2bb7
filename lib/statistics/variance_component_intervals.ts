import * as option from "../options.ts";
import { checkConfidence } from "./checks.ts";
import {
  chiSquaredQuantile,
  chiSquaredUpperQuantile,
  fQuantile,
  fUpperQuantile,
} from "./distributions.ts";
import { type Estimate, noEstimate } from "./estimate.ts";
import { invertSymmetric } from "./linear_solve.ts";
import type { MixedDesign } from "./mixed_design.ts";
import { orderStatistics } from "./order_statistics.ts";
import { randomStream } from "./random_stream.ts";
import type { RemlFit, RemlSolver } from "./reml_fit.ts";
import { cellSimulator } from "./simulate_cells.ts";
import { type MixedData, type MixedModel, mixedModel } from "./variance_components.ts";
import type { Reason } from "./reason.ts";
import { AGREEMENT_SEED } from "./default_seeds.ts";

/** Intervals of variance components, and of each one's share of them all. */
export type VarianceComponentIntervals = {
  /** Variance of each term and of the `residual`. */
  readonly components: Readonly<Record<string, Estimate>>;
  /** Share of each term in the sum of all components; of the first term, the ICC of a reading. */
  readonly shares: Readonly<Record<string, Estimate>>;
  readonly draws: number;
};

/**
 * How well does a bench pin down where its scatter comes from?
 *
 * One term, equally often read: chi-squared limits for the residual, Williams' limits (1962, after
 * Tukey 1951) for the term, exact F limits for the shares.
 *
 * Otherwise a parametric bootstrap: new readings are drawn from the fit and estimated again by one
 * scoring step from the fit, REML's own first step, which is unbiased and on balanced data is the whole
 * way. It may be negative, so that a component at the boundary still gets an upper limit. The limits
 * are not percentiles of the draws, which cover too seldom, but turn a ratio round: (estimate + c) /
 * (truth + c) has nearly the same distribution whatever the truth is, with c the noise that stands
 * beside the component in its mean square, read off the expected information. Shares do the same with
 * the ratio of a component to all others.
 *
 * @param data as for `varianceComponents`
 * @param options.draws bootstrap draws; 0 gives estimates without limits
 * @throws {RangeError} as `varianceComponents` does
 * @see Williams 1962; Burdick & Graybill 1992; Davison & Hinkley 1997 (pivots); Efron & Tibshirani 1993
 */
export function varianceComponentIntervals(
  data: MixedData,
  { confidence = 0.95, draws = 1000, seed = AGREEMENT_SEED, fixed = [] }: {
    readonly confidence?: number;
    readonly draws?: number;
    readonly seed?: number;
    readonly fixed?: readonly string[];
  } = {},
): VarianceComponentIntervals {
  option.check("statistics.varianceComponentIntervals", arguments[1], {
    confidence: option.share,
    draws: option.whole(0),
    seed: option.seed,
    fixed: option.listOf(option.text),
  });
  return intervalsOfModel(mixedModel(data, fixed), { confidence, draws, seed });
}

/** The same for a model that has been fitted already. */
export function intervalsOfModel(
  model: MixedModel,
  { confidence, draws, seed }: {
    readonly confidence: number;
    readonly draws: number;
    readonly seed: number;
  },
): VarianceComponentIntervals {
  checkConfidence(confidence);
  if (!Number.isInteger(draws) || draws < 0) {
    throw new RangeError(`draws is a whole number of 0 or more, was given ${draws}`);
  }
  const { design, solver, fit } = model;
  const names = [...design.terms, "residual"];
  if (fit === null || solver === null) {
    const about = { confidence, n: model.n, method: "restricted maximum likelihood" };
    const none = noEstimate(model.reason ?? { code: "no-fit" }, about);
    const all = Object.fromEntries(names.map((name) => [name, none]));
    return { components: all, shares: all, draws: 0 };
  }
  if (isBalancedOneWay(design)) return { ...oneWay(model, fit, confidence), draws: 0 };
  return bootstrapped(model, solver, fit, { confidence, draws, seed });
}

function isBalancedOneWay(design: MixedDesign): boolean {
  return design.terms.length === 1 && design.fixedNames.length === 1 &&
    design.cells === design.levels[0].length && design.count.every((n) => n === design.count[0]) &&
    design.count[0] > 1;
}

function oneWay(
  model: MixedModel,
  fit: RemlFit,
  confidence: number,
): Pick<VarianceComponentIntervals, "components" | "shares"> {
  const { design, response, scale } = model;
  const k = design.count[0];
  const m = design.cells;
  const centre = response.mean.reduce((a, b) => a + b, 0) / m;
  const [df1, df2] = [m - 1, m * (k - 1)];
  const between = k * response.mean.reduce((t, x) => t + (x - centre) ** 2, 0) / df1;
  const within = response.within / df2;
  const tail = (1 - confidence) / 2;
  const f = between / within;
  const [fLow, fHigh] = [fUpperQuantile(tail, df1, df2), fQuantile(tail, df1, df2)];
  const square = scale * scale;
  const [own, residual] = fit.variances;
  const about = {
    estimate_reason: null,
    confidence,
    n: design.readings,
    warnings: boundaryNote(own),
  };
  const term = design.terms[0];
  const share = (ratio: number) => Math.max(0, (ratio - 1) / (ratio + k - 1));
  const williams = (fShare: number, chi: number) =>
    Math.max(0, square * df1 * between * (1 - fShare / f) / (k * chi));
  const shareLow = share(f / fLow);
  const shareHigh = share(f / fHigh);
  const shareMethod = "REML, exact F limits";
  return {
    components: {
      [term]: {
        estimate: square * own,
        lower: williams(fLow, chiSquaredUpperQuantile(tail, df1)),
        upper: williams(fHigh, chiSquaredQuantile(tail, df1)),
        method: "REML, Williams' limits",
        ...about,
      },
      residual: {
        estimate: square * residual,
        lower: square * response.within / chiSquaredUpperQuantile(tail, df2),
        upper: square * response.within / chiSquaredQuantile(tail, df2),
        method: "REML, chi-squared limits",
        ...about,
      },
    },
    shares: {
      [term]: {
        estimate: own / (own + residual),
        lower: shareLow,
        upper: shareHigh,
        method: shareMethod,
        ...about,
      },
      residual: {
        estimate: residual / (own + residual),
        lower: 1 - shareHigh,
        upper: 1 - shareLow,
        method: shareMethod,
        ...about,
      },
    },
  };
}

function boundaryNote(variance: number): readonly Reason[] {
  return variance > 0 ? [] : [{ code: "at-zero" }];
}

function bootstrapped(
  model: MixedModel,
  solver: RemlSolver,
  fit: RemlFit,
  { confidence, draws, seed }: {
    readonly confidence: number;
    readonly draws: number;
    readonly seed: number;
  },
): VarianceComponentIntervals {
  const { design, response, scale } = model;
  const all = fit.variances.length;
  const names = [...design.terms, "residual"];
  const truth = fit.variances;
  const beside = names.map((_, t) => noiseBeside(solver, truth, t));
  const inverse = invertSymmetric(solver.information(truth), all);
  const unbiased = inverse === null ? null : solver.step(response, truth, inverse, true);

  const components = names.map(() => new Float64Array(draws));
  const shares = names.map(() => new Float64Array(draws));
  const ratios = names.map((_, t) => ratioOf(truth, t));
  const besideRatio = names.map((_, t) =>
    (t < all - 1 ? beside[t] : noiseBeside(solver, truth, -1)) / restOf(truth, t)
  );
  if (inverse !== null) {
    const simulate = cellSimulator(design, truth);
    for (let b = 0; b < draws; b++) {
      const step = solver.step(simulate(randomStream(seed, b)), truth, inverse, b === 0);
      for (let t = 0; t < all; t++) {
        components[t][b] = (step[t] + beside[t]) / (truth[t] + beside[t]);
        shares[t][b] = (ratioOf(step, t) + besideRatio[t]) / (ratios[t] + besideRatio[t]);
      }
    }
  }

  const square = scale * scale;
  const sum = truth.reduce((a, v) => a + v, 0);
  const tail = (1 - confidence) / 2;
  const about = { estimate_reason: null, confidence, n: design.readings };
  const estimates = names.map((name, t): [string, Estimate, Estimate] => {
    const warnings = [...boundaryNote(truth[t])];
    let [component, share]: Limits[] = [[null, null], [null, null]];
    if (draws >= 100 && unbiased !== null) {
      component = turned(unbiased[t], beside[t], components[t], tail);
      const [low, high] = turned(ratioOf(unbiased, t), besideRatio[t], shares[t], tail);
      const toShare = (ratio: number | null) => ratio === null ? null : ratio / (1 + ratio);
      // The residual's ratio is that of the others to it, so its share is what they leave.
      share = t < all - 1
        ? [toShare(low), toShare(high) ?? 1]
        : [1 - (toShare(high) ?? 1), 1 - toShare(low)!];
      if (component[1] === null) warnings.push({ code: "no-upper-bound" });
    } else if (draws > 0) warnings.push({ code: "no-limits" });
    const method = `REML, pivotal limits from ${draws} parametric bootstrap draws`;
    return [
      name,
      {
        estimate: square * truth[t],
        lower: component[0] === null ? null : square * Math.min(component[0], truth[t]),
        upper: component[1] === null ? null : square * Math.max(component[1], truth[t]),
        method,
        ...about,
        warnings,
      },
      {
        estimate: truth[t] / sum,
        lower: share[0] === null ? null : Math.min(share[0], truth[t] / sum),
        upper: share[1] === null ? null : Math.max(share[1], truth[t] / sum),
        method,
        ...about,
        warnings,
      },
    ];
  });
  return {
    components: Object.fromEntries(estimates.map(([name, component]) => [name, component])),
    shares: Object.fromEntries(estimates.map(([name, , share]) => [name, share])),
    draws,
  };
}

type Limits = readonly [number | null, number | null];

/** All other components for a term; the residual itself for the residual. */
function restOf(variances: Float64Array, t: number): number {
  const last = variances.length - 1;
  return t === last ? variances[last] : variances.reduce((a, v) => a + v, 0) - variances[t];
}

/** A term over all other components; for the residual, all others over it. */
function ratioOf(variances: Float64Array, t: number): number {
  const last = variances.length - 1;
  const whole = variances.reduce((a, v) => a + v, 0);
  return t === last
    ? (whole - variances[last]) / variances[last]
    : variances[t] / (whole - variances[t]);
}

/** Limits of a value whose (value + beside) has been drawn relative to the truth. Null: no bound. */
function turned(value: number, beside: number, draws: Float64Array, tail: number): Limits {
  const order = orderStatistics(draws);
  const [least, most] = [order.quantile(tail), order.quantile(1 - tail)];
  const whole = value + beside;
  return [
    most > 0 ? Math.max(0, whole / most - beside) : 0,
    least > 0 && whole > 0 ? Math.max(0, whole / least - beside) : null,
  ];
}

/**
 * The noise that stands beside a component in its mean square. The standard error of a component grows
 * nearly in a straight line with the component itself; where that line meets 0 is minus the noise. A
 * term of −1 stands for the sum of all but the residual.
 */
function noiseBeside(solver: RemlSolver, truth: Float64Array, term: number): number {
  const all = truth.length;
  if (term === all - 1) return 0;
  const members = term >= 0 ? [term] : Array.from({ length: all - 1 }, (_, t) => t);
  const now = members.reduce((total, t) => total + truth[t], 0);
  const errorAt = (value: number) => {
    const variances = Float64Array.from(truth);
    for (const t of members) {
      variances[t] = now > 0 ? truth[t] / now * value : value / members.length;
    }
    const inverse = invertSymmetric(solver.information(variances), all);
    if (inverse === null) return NaN;
    let total = 0;
    for (const t of members) for (const s of members) total += inverse[t * all + s];
    return Math.sqrt(total);
  };
  const here = errorAt(now);
  const [low, high] = [Math.max(0, now - 1.5 * here), now + 3 * here];
  const slope = (errorAt(high) - errorAt(low)) / (high - low);
  const noise = errorAt(high) / slope - high;
  return slope > 0 && Number.isFinite(noise) ? Math.max(0, noise) : here;
}
