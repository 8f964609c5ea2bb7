import type { ReasonOrWords } from "../../statistics/reason.ts";
import { sum } from "simple-statistics";
import type { Visit } from "../../records/selection.ts";
import { type Estimate, noEstimate } from "../../statistics/estimate.ts";
import { intraclassCorrelation } from "../../statistics/intraclass_correlation.ts";
import { spearmanBrown } from "../../statistics/spearman_brown.ts";
import {
  intervalsOfModel,
  type VarianceComponentIntervals,
} from "../../statistics/variance_component_intervals.ts";
import { type MixedModel, mixedModel } from "../../statistics/variance_components.ts";
import { drawnIcc } from "../../statistics/drawn_icc.ts";
import { sayReason } from "../../words/reasons.ts";
import type { VarianceSource } from "./trial_reliability.ts";
import type { NoiseShares } from "./trials_needed.ts";

/** How a metric's readings scatter, and by which sources. */
export type BenchNoise = {
  readonly components: readonly VarianceSource[];
  readonly components_reason: ReasonOrWords | null;
  readonly dropped: readonly string[];
  readonly shares: NoiseShares | null;
  readonly icc_single: Estimate;
  readonly icc_mean: Estimate;
  /** Variance of a published mean about the shoe's value in any session, in the unit squared. */
  readonly noise_across: Estimate;
  readonly warnings: readonly string[];
};

/** What the noise study needs besides the visits. */
export type BenchNoiseOptions = {
  readonly references: readonly string[];
  readonly trialsPerVisit: number;
  readonly confidence: number;
  readonly resamples: number;
  readonly seed: number;
  /** Whether each component needs limits of its own; the ICC has them anyway. */
  readonly componentLimits?: boolean;
};

/**
 * From where does a metric's scatter come, and what share of it lies between shoes?
 *
 * value = mean + shoe + operator + session + shoe:session + trial, all random, by REML. Terms that the
 * design can't tell apart are left out and named. ICC of a mean of k = shoe / (shoe + operator +
 * session + shoe:session + trial/k): the noise of benching again, another day, whoever stood there.
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
  const { terms, dropped: unlinked } = linkedTerms(visits, options.references);
  const column = (of: (visit: Visit) => string) =>
    visits.flatMap((visit) => visit.values.map(() => of(visit)));
  const model = mixedModel({
    value: visits.flatMap(({ values }) => values),
    factors: {
      shoe: column(({ shoe_id }) => shoe_id),
      operator: column(({ operator }) => operator),
      session: column(({ session_id }) => session_id),
    },
    terms,
  });
  const dropped = [
    ...unlinked,
    ...model.design.dropped.map(({ term, reason }) => `${term}: ${sayReason(reason)}`),
  ];
  const about = { confidence, n, method: "REML components" };
  const nothing = (
    reason: ReasonOrWords,
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
  if (n === 0) return nothing("there is no trial that counts", { components: [], shares: null });
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
    return nothing(
      shoes < 2
        ? { code: "too-few", of: "subjects", needed: 2, found: shoes }
        : { code: "no-repeats", subjects: shoes },
      { components, shares: null },
    );
  }
  const variance = (source: string) =>
    components.find((component) => component.source === source)?.variance ?? 0;
  const shares = {
    shoe: variance("shoe"),
    visit: variance("operator") + variance("session") + variance("shoe:session"),
    trial: variance("residual"),
  };
  const warnings = designWarnings(model, visits);
  const shared = { components, components_reason: null, dropped, shares, warnings };
  const revisited = new Set(visits.map(({ shoe_id }) => shoe_id)).size < visits.length;

  if (model.design.terms.length === 1) {
    const { single, mean } = oneWay(visits, { k, confidence, warnings });
    return {
      ...shared,
      icc_single: single,
      icc_mean: mean,
      noise_across: revisited
        ? across(shares, components, { k, about })
        : noEstimate("no shoe was benched in two sessions", about),
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
        divisor: (source) => source === "residual" ? k : 1,
        means: harmonic(visits, () => 1),
      },
    },
    confidence,
    resamples: options.resamples,
    seed: options.seed,
    warnings,
  });
  return {
    ...shared,
    icc_single: single.icc,
    icc_mean: mean.icc,
    noise_across: revisited ? mean.noise : noEstimate("no shoe was benched in two sessions", about),
  };
}

/** Harmonic mean over shoes of what their visits count for: a shoe seen once weighs as it should. */
function harmonic(visits: readonly Visit[], count: (visit: Visit) => number): number {
  const shoes = [...Map.groupBy(visits, ({ shoe_id }) => shoe_id).values()];
  return shoes.length / sum(shoes.map((own) => 1 / sum(own.map(count))));
}

/** Terms whose levels share shoes, so that they can be told from the shoes, and why the others can't. */
function linkedTerms(visits: readonly Visit[], references: readonly string[]) {
  const terms = ["shoe"];
  const dropped: string[] = [];
  const byShoe = [...Map.groupBy(visits, ({ shoe_id }) => shoe_id)];
  const operators = new Set(visits.map(({ operator }) => operator));
  const twice = byShoe.filter(([, own]) => new Set(own.map(({ operator }) => operator)).size > 1);
  if (operators.size < 2) dropped.push("operator: there is one, so it can't be told from the mean");
  else if (twice.length < 2) {
    dropped.push(
      "operator: fewer than two shoes were benched by two operators, so it is mixed with shoe",
    );
  } else terms.push("operator");

  const common = byShoe.filter(([shoe]) => references.includes(shoe))
    .map(([, own]) => new Set(own.map(({ session_id }) => session_id)));
  const linked = common.some((a, i) =>
    common.some((b, j) => i < j && [...a].filter((session) => b.has(session)).length > 1)
  );
  if (linked) terms.push("session");
  else {
    dropped.push(
      "session: no two reference shoes were benched together in two sessions, so it is mixed with shoe:session",
    );
  }
  if (byShoe.some(([, own]) => own.length > 1)) terms.push("shoe:session");
  else {
    dropped.push(
      "shoe:session: no shoe was benched in two sessions, so it is mixed with shoe",
    );
  }
  return { terms, dropped };
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

function designWarnings({ design }: MixedModel, visits: readonly Visit[]): string[] {
  const warnings: string[] = [];
  const operators = design.terms.indexOf("operator");
  if (operators >= 0 && design.levels[operators].length < 4) {
    warnings.push(
      `${design.levels[operators].length} operators say little about how operators differ`,
    );
  }
  if (new Set(visits.map(({ shoe_id }) => shoe_id)).size === visits.length) {
    warnings.push(
      "every shoe was benched in one session, so the share of shoes holds what differs from day to day",
    );
  }
  return warnings;
}

/** One-way forms, from all readings of a shoe; a mean of k by Spearman and Brown's step-up. */
function oneWay(
  visits: readonly Visit[],
  { k, confidence, warnings }: {
    readonly k: number;
    readonly confidence: number;
    readonly warnings: readonly string[];
  },
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
    warnings: [...new Set([...icc.warnings, ...warnings])],
  });
  const step = (r: number | null) => r === null ? null : spearmanBrown(r, k);
  const stepped = { estimate: step(icc.estimate), lower: step(icc.lower), upper: step(icc.upper) };
  return {
    single: { ...plain(icc), method: `ICC(1,1), ${icc.method}` },
    mean: {
      ...plain(stepped),
      estimate_reason: plain(icc).estimate_reason ??
        (stepped.estimate === null ? "shoes differ less than noise alone would have it" : null),
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
