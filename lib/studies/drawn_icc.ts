import { type Estimate, noEstimate } from "../statistics/estimate.ts";
import { orderStatistics } from "../statistics/order_statistics.ts";
import { randomStream } from "../statistics/random_stream.ts";
import { simulateCells } from "../statistics/simulate_cells.ts";
import { invertSymmetric, type MixedModel } from "../statistics/variance_components.ts";

/** Which mean of readings an ICC is asked for. */
export type IccOfMean = {
  /** In words, such as `ICC of one trial in any session`. */
  readonly what: string;
  /** What averaging leaves of each source, the residual included: 5 readings leave a fifth of it. */
  readonly divisor: (source: string) => number;
  /** Such means a subject, on average: it sets the scale on which limits are symmetric. */
  readonly means: number;
};

/** An ICC with the noise it has to live with, in the reading's unit squared. */
export type DrawnIcc = { readonly icc: Estimate; readonly noise: Estimate };

/**
 * Which share of the variance of a mean lies between subjects, whatever the design?
 *
 * subject / (subject + every other component over its divisor), from REML components. Limits by a
 * parametric bootstrap: benches of the same design are drawn from the fit and estimated by one scoring
 * step, unbiased and free to go below 0; basic intervals on the log of (subject + noise) / noise, or of
 * the noise itself, where the scatter of an estimate hardly depends on where it lies.
 *
 * @param model a fit whose terms include the subject
 * @param forms the means asked for; all share the draws
 * @see Davison & Hinkley 1997 (basic interval); Fisher 1925 (the log scale of the ICC)
 */
export function drawnIcc<Name extends string>(
  model: MixedModel,
  { subject, forms, confidence, resamples, seed, warnings = [] }: {
    readonly subject: string;
    readonly forms: Readonly<Record<Name, IccOfMean>>;
    readonly confidence: number;
    readonly resamples: number;
    readonly seed: number;
    readonly warnings?: readonly string[];
  },
): Readonly<Record<Name, DrawnIcc>> {
  const { design, solver, fit, response, scale, n } = model;
  const names = Object.keys(forms) as Name[];
  const at = design.terms.indexOf(subject);
  if (fit === null || solver === null || at < 0) {
    const none = noEstimate(model.reason ?? `${subject} is not in the model`, {
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
  let centre: ArrayLike<number> = fit.variances;
  if (inverse !== null) {
    centre = solver.step(response, fit.variances, inverse, true);
    const random = randomStream(seed);
    for (let b = 0; b < resamples; b++) {
      const drawn = solver.step(
        simulateCells(design, fit.variances, random),
        fit.variances,
        inverse,
        false,
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
    warnings: limits === null ? [...warnings, "the draws gave no limits"] : warnings,
  });
  const square = scale * scale;
  return Object.fromEntries(names.map((name, f) => {
    const { what, means } = forms[name];
    const noise = noiseOf(fit.variances, f);
    const toShare = (z: number) => {
      const ratio = Math.expm1(z) / means;
      return ratio <= -0.5 ? -1 : ratio / (1 + ratio);
    };
    return [name, {
      icc: estimate(
        fit.variances[at] / (fit.variances[at] + noise),
        turned(iccScale(centre, f), truth[f].icc, draws[f].subarray(0, used[f].icc)),
        toShare,
        what,
      ),
      noise: estimate(
        noise * square,
        turned(Math.log(noiseOf(centre, f)), truth[f].noise, noises[f].subarray(0, used[f].noise)),
        (z) => Math.exp(z) * square,
        what.replace(/^ICC/, "noise"),
      ),
    }];
  })) as Record<Name, DrawnIcc>;
}
