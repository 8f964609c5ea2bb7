import { normalUpperQuantile } from "./distributions.ts";
import { type Estimate, noEstimate } from "./estimate.ts";
import { orderStatistics } from "./order_statistics.ts";
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
  if (fit === null || solver === null || at < 0) {
    const none = noEstimate(model.reason ?? { code: "not-in-model", term: subject }, {
      confidence,
      n,
      method: "REML components",
    });
    return Object.fromEntries(names.map((name) => [name, { icc: none, noise: none }])) as Record<
      Name,
      DrawnIcc
    >;
  }
  const sources = [...design.terms, "residual"];
  const shares = names.map((name) =>
    sources.map((source, i) => i === at ? 0 : 1 / forms[name].divisor(source))
  );
  const noiseOf = (variances: ArrayLike<number>, form: number) => {
    let total = 0;
    for (let i = 0; i < sources.length; i++) total += shares[form][i] * variances[i];
    return total;
  };
  const iccScale = (variances: ArrayLike<number>, form: number) => {
    const noise = noiseOf(variances, form);
    return noise > 0 ? Math.log(1 + forms[names[form]].means * variances[at] / noise) : NaN;
  };

  const size = sources.length;
  const inverse = invertSymmetric(solver.information(fit.variances), size);
  const draws = names.map(() => new Float64Array(resamples));
  const noises = names.map(() => new Float64Array(resamples));
  const used = names.map(() => ({ icc: 0, noise: 0 }));
  if (inverse !== null) {
    const random = randomStream(seed);
    const simulate = cellSimulator(design, fit.variances);
    for (let b = 0; b < resamples; b++) {
      const drawn = solver.step(
        simulate(random),
        fit.variances,
        inverse,
        b === 0,
      );
      for (let f = 0; f < names.length; f++) {
        const z = iccScale(drawn, f);
        if (Number.isFinite(z)) draws[f][used[f].icc++] = z;
        const noise = Math.log(noiseOf(drawn, f));
        if (Number.isFinite(noise)) noises[f][used[f].noise++] = noise;
      }
    }
  }
  const truth = names.map((_, f) => ({
    icc: iccScale(fit.variances, f),
    noise: Math.log(noiseOf(fit.variances, f)),
  }));
  const tail = (1 - confidence) / 2;
  /** What was seen, less the far quantile of how far draws stray from the fit. */
  const turned = (seen: number, from: number, values: Float64Array): [number, number] | null => {
    if (inverse === null || values.length < Math.max(50, 0.9 * resamples)) return null;
    if (!Number.isFinite(seen)) return null;
    const order = orderStatistics(values);
    // Among n draws and the value they stand for, a share of the n + 1 places lies beyond.
    const place = Math.max(0, ((values.length + 1) * tail - 1) / (values.length - 1));
    return [
      seen - (order.quantile(1 - place) - from),
      seen - (order.quantile(place) - from),
    ];
  };
  const estimate = (
    value: number,
    limits: [number, number] | null,
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
  /** Limits of an ICC on its log scale: where would the estimate seen lie just in a tail? */
  const inverted = (f: number): [number, number] | null => {
    const plain = turned(
      iccScale(fit.variances, f),
      truth[f].icc,
      draws[f].subarray(0, used[f].icc),
    );
    if (plain === null || inverse === null) return null;
    const seen = iccScale(fit.variances, f);
    const gradient = scaleGradient(fit.variances, f);
    const path = Float64Array.from(sources, (_, i) => {
      let total = 0;
      for (let j = 0; j < size; j++) total += inverse[i * size + j] * gradient[j];
      return total;
    });
    const speed = path.reduce((total, step, i) => total + step * gradient[i], 0);
    if (!(speed > 0)) return plain;
    const own = Math.sqrt(speed);
    const along = (t: number) =>
      fit.variances.map((v, i) => Math.max(i === size - 1 ? 0.05 * v : 0, v + t * path[i]));
    /** How far the value at t lies beyond what a tail of that reach allows. */
    const beyond = (t: number, reach: number) => {
      const there = along(t);
      const back = invertSymmetric(solver.information(there), size);
      if (back === null) return null;
      const slope = scaleGradient(there, f);
      let variance = 0;
      for (let i = 0; i < size; i++) {
        for (let j = 0; j < size; j++) variance += slope[i] * back[i * size + j] * slope[j];
      }
      const z = iccScale(there, f);
      return { z, gap: z - seen - reach * Math.sqrt(variance) / own };
    };
    const solve = (reach: number): number | null => {
      // At the estimate itself the gap is the whole reach.
      let low = { t: 0, z: seen, gap: -reach };
      let high = { t: reach / speed, z: seen, gap: 0 };
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
      // False position, with the gap of an end that stays halved (the Illinois rule).
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
    };
    // Near 0 a few shoes with many visits decide and the draws have a short tail, which is not theirs at the
    // limit: no reach is shorter than that of a normal estimate.
    const least = own * normalUpperQuantile(tail);
    const [lower, upper] = [
      solve(Math.min(plain[0] - seen, -least)),
      solve(Math.max(plain[1] - seen, least)),
    ];
    return [lower ?? plain[0], upper ?? plain[1]];
  };
  /** Slope of the log scale along each variance. */
  function scaleGradient(variances: ArrayLike<number>, f: number): Float64Array {
    const [noise, times] = [noiseOf(variances, f), forms[names[f]].means];
    const whole = noise + times * variances[at];
    return Float64Array.from(
      sources,
      (_, i) => i === at ? times / whole : -times * variances[at] * shares[f][i] / (noise * whole),
    );
  }
  const square = scale * scale;
  return Object.fromEntries(names.map((name, f) => {
    const { what, means } = forms[name];
    const noise = noiseOf(fit.variances, f);
    const toShare = (z: number) => {
      const ratio = Math.max(0, Math.expm1(z) / means);
      return ratio / (1 + ratio);
    };
    return [name, {
      icc: estimate(
        fit.variances[at] / (fit.variances[at] + noise),
        inverted(f),
        toShare,
        what,
      ),
      noise: estimate(
        noise * square,
        turned(
          Math.log(noiseOf(fit.variances, f)),
          truth[f].noise,
          noises[f].subarray(0, used[f].noise),
        ),
        (z) => Math.exp(z) * square,
        what.replace(/^ICC/, "noise"),
      ),
    }];
  })) as Record<Name, DrawnIcc>;
}
