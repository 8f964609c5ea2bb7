import { normalUpperQuantile } from "./distributions.ts";
import { type Estimate, noEstimate } from "./estimate.ts";
import { orderStatistics } from "./order_statistics.ts";
import type { RemlSolver } from "./reml_fit.ts";
import { randomStream } from "./random_stream.ts";
import { cellSimulator } from "./simulate_cells.ts";
import { invertSymmetric } from "./linear_solve.ts";
import type { MixedModel } from "./variance_components.ts";
import type { Reason } from "./reason.ts";

/** Which mean of readings an ICC is asked for. */
type IccOfMean = {
  /** In words, such as `ICC of one trial in any session`. */
  readonly what: string;
  /** What averaging leaves of each source, the residual included: 5 readings leave a fifth of it. */
  readonly divisor: (source: string) => number;
  /** Such means a subject, on average: it sets the scale on which limits are symmetric. */
  readonly means: number;
};

/** An ICC with the noise it has to live with, in the reading's unit squared. */
type DrawnIcc = { readonly icc: Estimate; readonly noise: Estimate };

/**
 * Which share of the variance of a mean lies between subjects, whatever the design?
 *
 * subject / (subject + every other component over its divisor), from REML components. Limits by a
 * parametric bootstrap: benches of the same design are drawn from the fit and estimated by one scoring
 * step, unbiased and free to go below 0. The draws give the shape of the estimate's scatter on the log of
 * (subject + noise) / noise. Its size differs where the truth lies elsewhere, so a limit is the value,
 * along the direction in which the other components give way most readily, at which the estimate seen would lie
 * just in the tail: the expected information there sets the size. Limits of the noise are basic
 * intervals on its log.
 *
 * @param model a fit whose terms include the subject
 * @param forms the means asked for; all share the draws
 * @see Davison & Hinkley 1997 (basic interval, test inversion); Fisher 1925 (the log scale of the ICC)
 */
export function drawnIcc<Name extends string>(
  model: MixedModel,
  { subject, forms, confidence, resamples, seed, warnings = [] }: {
    readonly subject: string;
    readonly forms: Readonly<Record<Name, IccOfMean>>;
    readonly confidence: number;
    readonly resamples: number;
    readonly seed: number;
    readonly warnings?: readonly Reason[];
  },
): Readonly<Record<Name, DrawnIcc>> {
  const { design, solver, fit, scale, n } = model;
  const names = Object.keys(forms) as Name[];
  const at = design.terms.indexOf(subject);
  const byName = (answer: (name: Name) => DrawnIcc) =>
    Object.fromEntries(names.map((name) => [name, answer(name)])) as Record<Name, DrawnIcc>;
  if (fit === null || solver === null || at < 0) {
    const none = noEstimate(model.reason ?? { code: "not-in-model", term: subject }, {
      confidence,
      n,
      method: "REML components",
    });
    return byName(() => ({ icc: none, noise: none }));
  }
  const sources = [...design.terms, "residual"];
  const scales = names.map((name) => formScale(forms[name], sources, at));
  const inverse = invertSymmetric(solver.information(fit.variances), sources.length);
  const draws = inverse === null ? null : drawForms(model, scales, inverse, resamples, seed);
  const tail = (1 - confidence) / 2;
  const estimate = (
    value: number,
    limits: Limits | null,
    back: (z: number) => number,
    what: string,
  ): Estimate => ({
    estimate: value,
    estimate_reason: null,
    lower: limits === null ? null : Math.min(value, back(limits[0])),
    upper: limits === null ? null : Math.max(value, back(limits[1])),
    confidence,
    method: `${what}, REML components, limits from ${resamples} parametric bootstrap draws`,
    n,
    warnings: limits === null ? [...warnings, { code: "no-limits" }] : warnings,
  });
  const square = scale * scale;
  return byName((name) => {
    const { what, means } = forms[name];
    const form = names.indexOf(name);
    const own = scales[form];
    const noise = own.noise(fit.variances);
    const drawn = draws === null ? null : draws[form];
    const least = Math.max(50, 0.9 * resamples);
    const plain = drawn === null ? null : turned(own.z(fit.variances), drawn.icc, tail, least);
    const toShare = (z: number) => {
      const ratio = Math.max(0, Math.expm1(z) / means);
      return ratio / (1 + ratio);
    };
    return {
      icc: estimate(
        fit.variances[at] / (fit.variances[at] + noise),
        plain === null || inverse === null
          ? null
          : inverted(own, { solver, variances: fit.variances, inverse, plain, tail }),
        toShare,
        what,
      ),
      noise: estimate(
        noise * square,
        drawn === null ? null : turned(Math.log(noise), drawn.noise, tail, least),
        (z) => Math.exp(z) * square,
        what.replace(/^ICC/, "noise"),
      ),
    };
  });
}

type Limits = readonly [lower: number, upper: number];

/** What one form makes of any variances: its noise, the log scale of its ICC, and the slope of that. */
type FormScale = {
  readonly noise: (variances: ArrayLike<number>) => number;
  readonly z: (variances: ArrayLike<number>) => number;
  readonly slope: (variances: ArrayLike<number>) => Float64Array;
};

function formScale(
  { divisor, means }: IccOfMean,
  sources: readonly string[],
  at: number,
): FormScale {
  const shares = sources.map((source, i) => i === at ? 0 : 1 / divisor(source));
  const noise = (variances: ArrayLike<number>) => {
    let total = 0;
    for (let i = 0; i < shares.length; i++) total += shares[i] * variances[i];
    return total;
  };
  return {
    noise,
    z: (variances) => {
      const own = noise(variances);
      return own > 0 ? Math.log(1 + means * variances[at] / own) : NaN;
    },
    slope: (variances) => {
      const own = noise(variances);
      const whole = own + means * variances[at];
      return Float64Array.from(
        shares,
        (share, i) => i === at ? means / whole : -means * variances[at] * share / (own * whole),
      );
    },
  };
}

/** Each form's log scale and log noise in benches drawn from the fit; a draw without one is left out. */
function drawForms(
  { design, solver, fit }: MixedModel,
  scales: readonly FormScale[],
  inverse: Float64Array,
  resamples: number,
  seed: number,
): readonly { readonly icc: Float64Array; readonly noise: Float64Array }[] {
  const random = randomStream(seed);
  const { variances } = fit!;
  const simulate = cellSimulator(design, variances);
  const room = scales.map(() => ({
    icc: new Float64Array(resamples),
    noise: new Float64Array(resamples),
    used: { icc: 0, noise: 0 },
  }));
  for (let b = 0; b < resamples; b++) {
    const drawn = solver!.step(simulate(random), variances, inverse, b === 0);
    for (let f = 0; f < scales.length; f++) {
      const { icc, noise, used } = room[f];
      const z = scales[f].z(drawn);
      if (Number.isFinite(z)) icc[used.icc++] = z;
      const log = Math.log(scales[f].noise(drawn));
      if (Number.isFinite(log)) noise[used.noise++] = log;
    }
  }
  return room.map(({ icc, noise, used }) => ({
    icc: icc.subarray(0, used.icc),
    noise: noise.subarray(0, used.noise),
  }));
}

/** What was seen, less the far quantile of how far draws stray from it. */
function turned(seen: number, values: Float64Array, tail: number, least: number): Limits | null {
  if (values.length < least || !Number.isFinite(seen)) return null;
  const order = orderStatistics(values);
  // Among n draws and the value they stand for, a share of the n + 1 places lies beyond.
  const place = Math.max(0, ((values.length + 1) * tail - 1) / (values.length - 1));
  return [
    seen - (order.quantile(1 - place) - seen),
    seen - (order.quantile(place) - seen),
  ];
}

type Fitted = {
  readonly solver: RemlSolver;
  readonly variances: Float64Array;
  /** Inverse of the expected information there. */
  readonly inverse: Float64Array;
  /** Limits by the draws alone. */
  readonly plain: Limits;
  readonly tail: number;
};

/** Limits of an ICC on its log scale: where would the estimate seen lie just in a tail? */
function inverted(form: FormScale, { solver, variances, inverse, plain, tail }: Fitted): Limits {
  const size = variances.length;
  const seen = form.z(variances);
  const gradient = form.slope(variances);
  const path = Float64Array.from(gradient, (_, i) => {
    let total = 0;
    for (let j = 0; j < size; j++) total += inverse[i * size + j] * gradient[j];
    return total;
  });
  const speed = path.reduce((total, step, i) => total + step * gradient[i], 0);
  if (!(speed > 0)) return plain;
  const own = Math.sqrt(speed);
  const along = (t: number) =>
    variances.map((v, i) => Math.max(i === size - 1 ? 0.05 * v : 0, v + t * path[i]));
  const beyond = (t: number, reach: number): Beyond | null => {
    const there = along(t);
    const back = invertSymmetric(solver.information(there), size);
    if (back === null) return null;
    const slope = form.slope(there);
    let variance = 0;
    for (let i = 0; i < size; i++) {
      for (let j = 0; j < size; j++) variance += slope[i] * back[i * size + j] * slope[j];
    }
    const z = form.z(there);
    return { z, gap: z - seen - reach * Math.sqrt(variance) / own };
  };
  // Near 0 a few shoes with many visits decide and the draws have a short tail, which is not theirs at the
  // limit: no reach is shorter than that of a normal estimate.
  const least = own * normalUpperQuantile(tail);
  const limit = (reach: number) => whereTailEnds(beyond, { seen, reach, step: reach / speed });
  return [
    limit(Math.min(plain[0] - seen, -least)) ?? plain[0],
    limit(Math.max(plain[1] - seen, least)) ?? plain[1],
  ];
}

/** The log scale at a place of the path, and how far it lies beyond what a tail of that reach allows. */
type Beyond = { readonly z: number; readonly gap: number };

/** Where the gap is 0, by false position; null if it isn't met, or information ends before. */
function whereTailEnds(
  beyond: (t: number, reach: number) => Beyond | null,
  { seen, reach, step }: { readonly seen: number; readonly reach: number; readonly step: number },
): number | null {
  // At the estimate itself the gap is the whole reach.
  let low = { t: 0, z: seen, gap: -reach };
  let high = { t: step, z: seen, gap: 0 };
  for (let round = 0;; round++) {
    const end = beyond(high.t, reach);
    if (end === null || round === 12) return null;
    high = { t: high.t, ...end };
    if (Math.sign(end.gap) === Math.sign(reach)) break;
    // Nothing gives way any more: the bound of the path is the limit.
    if (round > 0 && Math.abs(end.z - low.z) < 1e-9) return end.z;
    low = high;
    high = { ...high, t: 1.7 * high.t };
  }
  // The gap of an end that stays is halved (the Illinois rule).
  let stayed = 0;
  let z = high.z;
  for (let round = 0; round < 8; round++) {
    const t = low.t + (high.t - low.t) * low.gap / (low.gap - high.gap);
    const at = beyond(t, reach);
    if (at === null) return null;
    z = at.z;
    if (Math.abs(at.gap) < 1e-3 * Math.abs(reach)) break;
    const past = Math.sign(at.gap) === Math.sign(reach);
    if (past) {
      high = { t, ...at };
      if (stayed === 1) low = { ...low, gap: low.gap / 2 };
    } else {
      low = { t, ...at };
      if (stayed === -1) high = { ...high, gap: high.gap / 2 };
    }
    stayed = past ? 1 : -1;
  }
  return z;
}
