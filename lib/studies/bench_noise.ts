import { sum } from "simple-statistics";
import type { Visit } from "../records/selection.ts";
import { chiSquaredQuantile, chiSquaredUpperQuantile } from "../statistics/distributions.ts";
import { type Estimate, noEstimate } from "../statistics/estimate.ts";
import { intraclassCorrelation } from "../statistics/intraclass_correlation.ts";
import { orderStatistics } from "../statistics/order_statistics.ts";
import { randomStream } from "../statistics/random_stream.ts";
import { simulateCells } from "../statistics/simulate_cells.ts";
import { spearmanBrown } from "../statistics/spearman_brown.ts";
import { invertSymmetric, type MixedModel, mixedModel } from "../statistics/variance_components.ts";
import type { VarianceSource } from "./trial_reliability.ts";
import type { NoiseShares } from "./trials_needed.ts";

/** How a metric's readings scatter, and by which sources. */
export type BenchNoise = {
  readonly components: readonly VarianceSource[];
  readonly components_reason: string | null;
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
};

/**
 * From where does a metric's scatter come, and what share of it lies between shoes?
 *
 * value = mean + shoe + operator + session + shoe:session + trial, all random, by REML. Terms that the
 * design can't tell apart are left out and named. ICC of a mean of k = shoe / (shoe + operator +
 * session + shoe:session + trial/k): the noise of benching again, another day, whoever stood there.
 *
 * Limits: where the model is shoe and trial alone, exact ones from F (Wald's with unequal numbers);
 * else from a parametric bootstrap of the components, basic intervals on the log of (shoe + noise) /
 * noise, where the scatter of an estimate hardly depends on where it lies.
 *
 * @see Patterson & Thompson 1971; Davison & Hinkley 1997 (basic bootstrap interval)
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
    ...model.design.dropped.map(({ term, reason }) => `${term}: ${reason}`),
  ];
  const about = { confidence, n, method: "REML components" };
  const nothing = (reason: string, components: Pick<BenchNoise, "components" | "shares">) => ({
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
    return nothing(model.reason ?? "the fit failed", { components: [], shares: null });
  }
  const inverse = invertSymmetric(
    model.solver.information(model.fit.variances),
    model.fit.variances.length,
  );
  const components = describeComponents(model, inverse, { visits, shoes, confidence });
  if (!model.design.terms.includes("shoe")) {
    return nothing(
      shoes < 2 ? "one shoe cannot show how shoes differ" : "no shoe was read twice",
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
  return {
    ...shared,
    ...drawnIntervals(model, inverse, shares, { visits, shoes, about, warnings, ...options }),
    ...(revisited ? {} : {
      noise_across: noEstimate("no shoe was benched in two sessions", about),
    }),
  };
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

/**
 * Each component with its share and limits. Limits: the mean square behind a component is taken as
 * (variance + what else is in it), scaled chi-squared on the freedom of its levels; what else is in it
 * follows from the component's standard error (the Tukey–Williams idea, for any design).
 */
function describeComponents(
  { design, fit, scale }: MixedModel,
  inverse: Float64Array | null,
  { visits, shoes, confidence }: {
    readonly visits: readonly Visit[];
    readonly shoes: number;
    readonly confidence: number;
  },
): readonly VarianceSource[] {
  const variances = fit!.variances;
  const total = sum([...variances]);
  const names = [...design.terms, "residual"];
  const levels = (term: number) => design.levels[term]?.length ?? 0;
  const sessions = names.indexOf("session");
  return names.map((source, i): VarianceSource => {
    const error = inverse === null ? null : Math.sqrt(inverse[i * names.length + i]);
    const freedom = source === "residual"
      ? null
      : source === "shoe:session"
      ? visits.length - shoes - (sessions < 0 ? 0 : levels(sessions) - 1)
      : levels(i) - 1;
    const [lower, upper] = error === null || !(error > 0)
      ? [null, null]
      : componentLimits(variances[i], error, freedom, confidence);
    const square = scale * scale;
    return {
      source,
      variance: variances[i] * square,
      share: variances[i] / total,
      boundary: i < design.terms.length && variances[i] <= 0,
      lower: lower === null ? null : lower * square,
      upper: upper === null ? null : upper * square,
      levels: source === "residual" ? design.readings : levels(i),
    };
  });
}

function componentLimits(
  variance: number,
  error: number,
  levelFreedom: number | null,
  confidence: number,
): [number, number] {
  const own = 2 * (variance / error) ** 2;
  const freedom = Math.max(1, levelFreedom ?? own);
  const beside = Math.max(0, error * Math.sqrt(freedom / 2) - variance);
  const used = beside === 0 ? Math.max(freedom, own) : freedom;
  const square = variance + beside;
  const tail = (1 - confidence) / 2;
  return [
    Math.max(0, square * used / chiSquaredUpperQuantile(tail, used) - beside),
    Math.max(variance, square * used / chiSquaredQuantile(tail, used) - beside),
  ];
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
    estimate_reason: icc.estimate_reason?.replace("subject", "shoe") ?? null,
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

/**
 * Draws benches of the same design from the fitted components and estimates each by one scoring step
 * from them: unbiased there, and as scattered as REML itself away from the boundary.
 */
function drawnIntervals(
  model: MixedModel,
  inverse: Float64Array | null,
  shares: NoiseShares,
  { visits, shoes, trialsPerVisit: k, confidence, resamples, seed, about, warnings }:
    & BenchNoiseOptions
    & {
      readonly visits: readonly Visit[];
      readonly shoes: number;
      readonly about: Pick<Estimate, "confidence" | "n" | "method">;
      readonly warnings: readonly string[];
    },
): Pick<BenchNoise, "icc_single" | "icc_mean" | "noise_across"> {
  const { design, solver, fit, scale } = model;
  const variances = fit!.variances;
  const [shoe, residual] = [design.terms.indexOf("shoe"), design.terms.length];
  const readings = visits.reduce((total, { values }) => total + values.length, 0) / shoes;
  const perShoe = { single: readings, mean: visits.length / shoes };
  const parts = (v: ArrayLike<number>) => {
    let visit = 0;
    for (let t = 0; t < residual; t++) if (t !== shoe) visit += v[t];
    return { shoe: v[shoe], single: visit + v[residual], mean: visit + v[residual] / k };
  };
  const pivot = (between: number, noise: number, times: number) =>
    noise > 0 ? Math.log(1 + times * between / noise) : NaN;

  const draws = {
    single: new Float64Array(resamples),
    mean: new Float64Array(resamples),
    noise: new Float64Array(resamples),
  };
  const used = { single: 0, mean: 0, noise: 0 };
  if (inverse !== null) {
    const random = randomStream(seed);
    for (let b = 0; b < resamples; b++) {
      const response = simulateCells(design, variances, random);
      const drawn = parts(solver!.step(response, variances, inverse, b === 0));
      const add = (name: keyof typeof draws, value: number) => {
        if (Number.isFinite(value)) draws[name][used[name]++] = value;
      };
      add("single", pivot(drawn.shoe, drawn.single, perShoe.single));
      add("mean", pivot(drawn.shoe, drawn.mean, perShoe.mean));
      add("noise", Math.log(drawn.mean));
    }
  }
  const here = parts(variances);
  const limits = (name: keyof typeof draws, at: number): [number | null, number | null] => {
    if (used[name] < Math.max(50, 0.9 * resamples)) return [null, null];
    const order = orderStatistics(draws[name].subarray(0, used[name]));
    return [
      2 * at - order.quantile((1 + confidence) / 2),
      2 * at - order.quantile((1 - confidence) / 2),
    ];
  };
  const method = `REML components, limits from ${resamples} parametric bootstrap draws`;
  const estimate = (
    value: number,
    name: keyof typeof draws,
    at: number,
    back: (z: number) => number,
    what: string,
  ): Estimate => {
    const [lower, upper] = limits(name, at);
    return {
      estimate: value,
      estimate_reason: null,
      lower: lower === null ? null : back(lower),
      upper: upper === null ? null : back(upper),
      ...about,
      method: `${what}, ${method}`,
      warnings: lower === null ? [...warnings, "too few draws had limits"] : warnings,
    };
  };
  const share = (times: number) => (z: number) => {
    const ratio = Math.expm1(z) / times;
    return Math.max(-1, ratio / (1 + ratio));
  };
  const icc = (name: "single" | "mean", what: string) =>
    estimate(
      shares.shoe / (shares.shoe + here[name] * scale * scale),
      name,
      pivot(here.shoe, here[name], perShoe[name]),
      share(perShoe[name]),
      what,
    );
  return {
    icc_single: icc("single", "ICC of one trial in any session"),
    icc_mean: icc("mean", `ICC of a mean of ${k} in any session`),
    noise_across: estimate(
      here.mean * scale * scale,
      "noise",
      Math.log(here.mean),
      (z) => Math.exp(z) * scale * scale,
      `noise of a mean of ${k} in any session`,
    ),
  };
}
