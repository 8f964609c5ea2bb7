import type { Reason } from "../../statistics/reason.ts";
import { sum } from "simple-statistics";
import type { Visit } from "../../records/selection.ts";
import { type Estimate, noEstimate } from "../../statistics/estimate.ts";
import { intraclassCorrelation } from "../../statistics/intraclass_correlation.ts";
import { spearmanBrown } from "../../statistics/spearman_brown.ts";
import {
  intervalsOfModel,
  type VarianceComponentIntervals,
} from "../../statistics/variance_component_intervals.ts";
import type { MixedModel } from "../../statistics/variance_components.ts";
import { clusterInflation } from "../../statistics/cluster_inflation.ts";
import { drawnIcc } from "../../statistics/drawn_icc.ts";
import type { RigTime } from "../drift/rig_time.ts";
import { type DroppedSource, noiseModel, revisitedIn } from "./noise_model.ts";
import type { NoiseShares } from "./trials_needed.ts";
import { betweenVisits, type VarianceSource } from "./types.ts";

/** How a metric's readings scatter, and by which sources. */
export type BenchNoise = {
  readonly components: readonly VarianceSource[];
  readonly components_reason: Reason | null;
  readonly dropped: readonly DroppedSource[];
  readonly shares: NoiseShares | null;
  readonly icc_single: Estimate;
  readonly icc_mean: Estimate;
  /** Variance of a published mean about the shoe's value in any session, in the unit squared. */
  readonly noise_across: Estimate;
  readonly warnings: readonly Reason[];
};

/** What the noise study needs besides the visits. */
export type BenchNoiseOptions = {
  readonly references: readonly string[];
  readonly trialsPerVisit: number;
  readonly confidence: number;
  readonly resamples: number;
  readonly seed: number;
  /** What of rigs and days is taken out before the rest counts as noise; nothing by default. */
  readonly rigTime?: RigTime | null;
  /** Whether each component needs limits of its own; the ICC has them anyway. */
  readonly componentLimits?: boolean;
};

/**
 * From where does a metric's scatter come, and what share of it lies between shoes?
 *
 * Components by REML (`noiseModel`). ICC of a mean of k = shoe / (shoe + pair + operator + session +
 * shoe:session + trial/k): the noise of benching again, another day, another pair where several were
 * benched, whoever stood there. Left and right shoe are both of the pair: how they differ is no noise of
 * its mean.
 *
 * Limits: where the model is shoe and trial alone, exact ones from F (Wald's with unequal numbers);
 * else from a parametric bootstrap (`drawnIcc`).
 *
 * @see Patterson & Thompson 1971
 */
export function benchNoise(visits: readonly Visit[], options: BenchNoiseOptions): BenchNoise {
  const { confidence, trialsPerVisit: k } = options;
  const n = sum(visits.map(({ values }) => values.length));
  const shoes = new Set(visits.map(({ shoe_id }) => shoe_id)).size;
  const { model, dropped } = noiseModel(visits, options);
  const about = { confidence, n, method: "REML components" };
  const nothing = (
    reason: Reason,
    components: Pick<BenchNoise, "components" | "shares">,
  ) => ({
    ...components,
    components_reason: components.components.length === 0 ? reason : null,
    dropped,
    icc_single: noEstimate(reason, about),
    icc_mean: noEstimate(reason, about),
    noise_across: noEstimate(reason, about),
    warnings: [],
  });
  if (n === 0) return nothing({ code: "no-trials" }, { components: [], shares: null });
  if (model.fit === null || model.solver === null) {
    return nothing(model.reason ?? { code: "no-fit" }, { components: [], shares: null });
  }
  const limits = options.componentLimits === false ? null : intervalsOfModel(model, {
    confidence,
    // Components are for reading, the ICC decides: fewer draws do.
    draws: Math.ceil(options.resamples / 2),
    seed: options.seed,
  });
  const components = describeComponents(model, limits);
  if (!model.design.terms.includes("shoe")) {
    // Of shoes read once each, what differs may be the shoes or the trials: it is no scatter of trials.
    return shoes < 2
      ? nothing({ code: "too-few", of: "subjects", needed: 2, found: shoes }, {
        components,
        shares: null,
      })
      : nothing({ code: "no-repeats", subjects: shoes }, { components: [], shares: null });
  }
  const variance = (source: string) =>
    components.find((component) => component.source === source)?.variance ?? 0;
  const shares = {
    shoe: variance("shoe"),
    visit: sum(betweenVisits.map(variance)),
    trial: variance("residual"),
  };
  const warnings = designWarnings(model, visits);
  const shared = { components, components_reason: null, dropped, shares, warnings };
  const revisited = revisitedIn(visits);
  const once = noEstimate({ code: "no-revisit" }, about);

  if (model.design.terms.length === 1 && model.design.fixedNames.length === 1) {
    const { single, mean } = oneWay(visits, { k, confidence });
    return {
      ...shared,
      icc_single: single,
      icc_mean: mean,
      noise_across: revisited ? across(shares, components, { k, about }) : once,
    };
  }
  const { single, mean } = drawnIcc(model, {
    subject: "shoe",
    forms: {
      single: {
        what: "ICC of one trial in any session",
        divisor: () => 1,
        means: harmonic(visits, ({ values }) => values.length),
      },
      mean: {
        what: `ICC of a mean of ${k} in any session`,
        divisor: (source) =>
          source === "residual" ? k : source === "shoe:side" ? Number.POSITIVE_INFINITY : 1,
        means: harmonic(visits, () => 1),
      },
    },
    confidence,
    resamples: options.resamples,
    seed: options.seed,
  });
  return {
    ...shared,
    icc_single: single.icc,
    icc_mean: mean.icc,
    noise_across: revisited ? ofAnyShape(mean.noise, model, visits, options) : once,
  };
}

/** Limits of noise across sessions that hold where days and visits scatter with heavy tails or skew. */
function ofAnyShape(
  noise: Estimate,
  model: MixedModel,
  visits: readonly Visit[],
  { confidence, seed, trialsPerVisit: k }: BenchNoiseOptions,
): Estimate {
  const { design } = model;
  const { estimate, lower, upper } = noise;
  if (estimate === null || lower === null || upper === null) return noise;
  const wider = clusterInflation(model, {
    weights: Float64Array.from(
      [...design.terms, "residual"],
      (source) =>
        source === "residual" ? 1 / k : betweenVisits.some((one) => one === source) ? 1 : 0,
    ),
    cluster: design.terms.includes("session") ? "session" : "shoe",
    within: squaresWithin(visits, design),
    confidence,
    seed,
  });
  return {
    ...noise,
    lower: estimate * (lower / estimate) ** wider,
    upper: estimate * (upper / estimate) ** wider,
    method: `${noise.method}, widened by what ${
      design.terms.includes("session") ? "sessions" : "shoes"
    } show of its tails`,
  };
}

/** Squares of readings about the mean of their cell of the model. */
function squaresWithin(
  visits: readonly Visit[],
  { cellOf, cells, count }: MixedModel["design"],
): Float64Array {
  const values = visits.flatMap((visit) => [...visit.values]);
  const mean = new Float64Array(cells);
  values.forEach((value, i) => mean[cellOf[i]] += value / count[cellOf[i]]);
  const squares = new Float64Array(cells);
  values.forEach((value, i) => squares[cellOf[i]] += (value - mean[cellOf[i]]) ** 2);
  return squares;
}

/** Harmonic mean over shoes of what their visits count for: a shoe seen once weighs as it should. */
function harmonic(visits: readonly Visit[], count: (visit: Visit) => number): number {
  const shoes = [...Map.groupBy(visits, ({ shoe_id }) => shoe_id).values()];
  return shoes.length / sum(shoes.map((own) => 1 / sum(own.map(count))));
}

/** Each component with its share, its limits and what it was estimated from. */
function describeComponents(
  { design, fit, scale }: MixedModel,
  limits: VarianceComponentIntervals | null,
): readonly VarianceSource[] {
  const variances = fit!.variances;
  const total = sum([...variances]);
  return [...design.terms, "residual"].map((source, i): VarianceSource => ({
    source,
    variance: variances[i] * scale * scale,
    share: variances[i] / total,
    boundary: i < design.terms.length && variances[i] <= 0,
    lower: limits?.components[source]?.lower ?? null,
    upper: limits?.components[source]?.upper ?? null,
    levels: design.levels[i]?.length ?? design.readings,
  }));
}

function designWarnings({ design }: MixedModel, visits: readonly Visit[]): Reason[] {
  const warnings: Reason[] = [];
  const operators = design.terms.indexOf("operator");
  if (operators >= 0 && design.levels[operators].length < 4) {
    warnings.push({ code: "few-operators", operators: design.levels[operators].length });
  }
  if (!revisitedIn(visits)) warnings.push({ code: "days-mixed-with-shoes" });
  return warnings;
}

/** One-way forms, from all readings of a shoe; a mean of k by Spearman and Brown's step-up. */
function oneWay(
  visits: readonly Visit[],
  { k, confidence }: { readonly k: number; readonly confidence: number },
): { readonly single: Estimate; readonly mean: Estimate } {
  const rows = [...Map.groupBy(visits, ({ shoe_id }) => shoe_id).values()]
    .map((own) => own.flatMap(({ values }) => [...values]));
  const icc = intraclassCorrelation(rows, { form: "ICC(1,1)", confidence });
  const plain = ({ estimate, lower, upper }: Pick<Estimate, "estimate" | "lower" | "upper">) => ({
    estimate,
    estimate_reason: icc.estimate_reason,
    lower,
    upper,
    confidence,
    n: icc.n,
    warnings: icc.warnings,
  });
  const step = (r: number | null) => r === null ? null : spearmanBrown(r, k);
  const stepped = { estimate: step(icc.estimate), lower: step(icc.lower), upper: step(icc.upper) };
  return {
    single: { ...plain(icc), method: `ICC(1,1), ${icc.method}` },
    mean: {
      ...plain(stepped),
      estimate_reason: plain(icc).estimate_reason ??
        (stepped.estimate === null ? { code: "no-difference" } : null),
      method: `ICC(1,k) for means of ${k}, ${icc.method}`,
    },
  };
}

/** With one trial in each visit the residual is visit and trial together. */
function across(
  { visit, trial }: NoiseShares,
  components: readonly VarianceSource[],
  { k, about }: {
    readonly k: number;
    readonly about: Pick<Estimate, "confidence" | "n" | "method">;
  },
): Estimate {
  const residual = components.find(({ source }) => source === "residual")!;
  return {
    estimate: visit + trial / k,
    estimate_reason: null,
    lower: residual.lower === null ? null : residual.lower / k,
    upper: residual.upper === null ? null : residual.upper / k,
    ...about,
    warnings: [],
  };
}
