import * as option from "../../options.ts";
import { visitsOf } from "../../records/selection.ts";
import type { Bench } from "../../records/types.ts";
import { adjustP } from "../../statistics/adjust_p.ts";
import { betaQuantile } from "../../statistics/distributions.ts";
import { type Estimate, noEstimate } from "../../statistics/estimate.ts";
import type { Reason } from "../../statistics/reason.ts";
import { randomStream } from "../../statistics/random_stream.ts";
import { minimalDetectableChange } from "../../statistics/minimal_detectable_change.ts";
import { repeatabilitySd } from "../../statistics/repeatability_sd.ts";
import { benchNoise } from "../repeatability/bench_noise.ts";
import { derivedMetrics } from "../shoes/derived_metrics.ts";
import { flagTrials } from "../repeatability/flag_trials.ts";
import { orderEffect } from "../repeatability/order_effect.ts";
import { referenceDrift } from "../drift/reference_drift.ts";
import { simulatedBench } from "./simulated_bench.ts";
import {
  betweenVisits,
  type MetricReliability,
  type TrialReliability,
} from "../repeatability/types.ts";

/** Whether the repeatability study keeps its promises on a bench like this one. */
export type RepeatabilityAudit = {
  readonly simulations: { readonly intervals: number; readonly false_alarms: number };
  readonly metrics: number;
  /** Share of simulated metrics whose interval holds the value they were made with. */
  readonly coverage: {
    readonly icc_single: Estimate;
    readonly icc_mean: Estimate;
    readonly mdc_mean: Estimate;
    readonly mdc_across_sessions: Estimate;
  };
  /** Share of simulated benches, with nothing planted, on which at least one such claim is made. */
  readonly false_alarms: {
    readonly drift: Estimate;
    readonly order_effect: Estimate;
    readonly outliers: Estimate;
  };
  readonly promised: { readonly coverage: number; readonly false_alarms: number };
  readonly seed: number;
  readonly warnings: readonly Reason[];
};

/**
 * Do the intervals hold the truth as often as they say, and how often does noise pass for a finding?
 *
 * Benches of the lab's own design are drawn from the fitted components (`simulatedBench`) and studied
 * again. Coverage is counted over metrics; false alarms over whole benches, as the claims are adjusted.
 * Metrics computed from others are left out: they would count the same draw twice.
 *
 * @param reliability as `trialReliability` found it on this bench
 * @param options.simulations benches for the false alarms
 * @param options.intervalSimulations benches for the coverage, which takes longer; unless given 4, and down to
 *   1 where more than 60 shoes were benched in more than 60 sessions: the time of a fit goes with their cube
 */
export function repeatabilityAudit(
  bench: Bench,
  reliability: TrialReliability,
  { seed, simulations = 30, intervalSimulations = benchesToSpare(bench), resamples = 200 }: {
    readonly seed: number;
    readonly simulations?: number;
    readonly intervalSimulations?: number;
    readonly resamples?: number;
  },
): RepeatabilityAudit {
  option.check("studies.repeatabilityAudit", arguments[2], {
    seed: option.needed(option.seed),
    simulations: option.whole(0),
    intervalSimulations: option.whole(0),
    resamples: option.resamples,
  });
  for (const [name, count] of Object.entries({ simulations, intervalSimulations })) {
    if (!Number.isSafeInteger(count) || count < 1) {
      throw new RangeError(`${name} is a whole number of at least 1, was given ${count}`);
    }
  }
  const { confidence } = reliability;
  const risk = 1 - confidence;
  const derived = derivedMetrics(bench.metrics);
  const fitted = reliability.metrics.filter((metric) =>
    metric.components.some(({ source }) => source === "shoe") && !derived.has(metric.metric)
  );
  const own = {
    ...bench,
    metrics: bench.metrics.filter(({ id }) => fitted.some(({ metric }) => metric === id)),
  };
  const hits: FigureCounts = { icc_single: 0, icc_mean: 0, mdc_mean: 0, mdc_across_sessions: 0 };
  const asked = { ...hits };
  const alarms = { drift: 0, order_effect: 0, outliers: 0 };
  const runs = fitted.length === 0 ? 0 : Math.max(simulations, intervalSimulations);
  const simulate = simulatedBench(own, fitted);
  for (let run = 0; run < runs; run++) {
    const drawn = simulate(randomStream(seed, run));
    const visits = new Map(own.metrics.map(({ id }) => [id, visitsOf(drawn, id)]));
    if (run < intervalSimulations) {
      const options = {
        references: bench.settings.reference_shoes,
        confidence,
        resamples,
        seed: seed + run,
      };
      countHits(fitted, visits, options, { hits, asked });
    }
    if (run < simulations) {
      const found = claimsOn(drawn, visits, { confidence, metrics: bench.metrics.length });
      for (const name of found) alarms[name]++;
    }
  }
  const nothing = { code: "no-metric-split" };
  const coverage = {
    icc_single: rate(hits.icc_single, asked.icc_single, nothing),
    icc_mean: rate(hits.icc_mean, asked.icc_mean, nothing),
    mdc_mean: rate(hits.mdc_mean, asked.mdc_mean, nothing),
    mdc_across_sessions: rate(hits.mdc_across_sessions, asked.mdc_across_sessions, nothing),
  };
  const benches = runs === 0 ? 0 : simulations;
  const false_alarms = {
    drift: bench.settings.reference_shoes.length === 0
      ? rate(0, 0, { code: "no-reference" })
      : rate(alarms.drift, benches, nothing),
    order_effect: rate(alarms.order_effect, benches, nothing),
    outliers: rate(alarms.outliers, benches, nothing),
  };
  return {
    simulations: { intervals: runs === 0 ? 0 : intervalSimulations, false_alarms: benches },
    metrics: fitted.length,
    coverage,
    false_alarms,
    promised: { coverage: confidence, false_alarms: risk },
    seed,
    warnings: auditWarnings(benches, fitted),
  };
}

type Figure = keyof RepeatabilityAudit["coverage"];
type FigureCounts = Record<Figure, number>;

/** How many intervals were asked for on a simulated bench, and how many of them held the truth. */
function countHits(
  fitted: readonly MetricReliability[],
  visits: ReadonlyMap<string, ReturnType<typeof visitsOf>>,
  options: Parameters<typeof studyAgain>[2],
  { hits, asked }: { readonly hits: FigureCounts; readonly asked: FigureCounts },
): void {
  for (const metric of fitted) {
    const truth = trueValues(metric, options.confidence);
    const again = studyAgain(visits.get(metric.metric)!, metric, options);
    for (const name of Object.keys(hits) as Figure[]) {
      const { lower, upper } = again[name];
      const wanted = truth[name];
      if (wanted === null || lower === null || upper === null) continue;
      asked[name]++;
      if (lower <= wanted && wanted <= upper) hits[name]++;
    }
  }
}

/** What the study claims of a simulated bench on which nothing is wrong. */
function claimsOn(
  drawn: Bench,
  visits: ReadonlyMap<string, ReturnType<typeof visitsOf>>,
  { confidence, metrics }: { readonly confidence: number; readonly metrics: number },
): (keyof RepeatabilityAudit["false_alarms"])[] {
  const risk = 1 - confidence;
  const all = [...visits.values()];
  const orders = all.flatMap((own) => {
    const { p } = orderEffect(own, { confidence });
    return p === null ? [] : [p];
  });
  const alpha = risk / Math.max(1, metrics);
  const { rigs } = referenceDrift(drawn, { confidence });
  return [
    ...(adjustP(orders, "holm").some((p) => p < risk) ? ["order_effect" as const] : []),
    ...(all.some((own) => flagTrials(own, { alpha }).length > 0) ? ["outliers" as const] : []),
    ...(rigs.some(({ verdict }) => verdict !== "no drift" && verdict !== "can't tell")
      ? ["drift" as const]
      : []),
  ];
}

function auditWarnings(benches: number, fitted: readonly MetricReliability[]): Reason[] {
  const few = fitted.some(({ components }) =>
    components.some(({ source, levels }) => source === "operator" && levels < 4)
  );
  return [
    ...(benches > 0 && benches < 200 ? [{ code: "few-simulations", benches }] : []),
    ...(few ? [{ code: "short-with-few-operators" }] : []),
  ];
}

/** As many as take about as long as four of a usual bench. */
function benchesToSpare({ shoes, sessions }: Pick<Bench, "shoes" | "sessions">): number {
  const crossed = Math.max(60, Math.min(shoes.length, sessions.length));
  return Math.max(1, Math.round(4 * (60 / crossed) ** 3));
}

function trueValues({ components, trials_per_visit: k }: MetricReliability, confidence: number) {
  const variance = (name: string) =>
    components.find(({ source }) => source === name)?.variance ?? 0;
  const visit = betweenVisits.map(variance).reduce((total, part) => total + part, 0);
  const [shoe, trial] = [variance("shoe"), variance("residual")];
  const factor = minimalDetectableChange(
    {
      estimate: 1,
      estimate_reason: null,
      lower: 1,
      upper: 1,
      confidence,
      method: "",
      n: 0,
      warnings: [],
    },
    { probability: confidence },
  ).estimate!;
  return {
    icc_single: shoe / (shoe + visit + trial),
    icc_mean: shoe / (shoe + visit + trial / k),
    mdc_mean: factor * Math.sqrt(trial / k),
    mdc_across_sessions: factor * Math.sqrt(visit + trial / k),
  };
}

function studyAgain(
  visits: ReturnType<typeof visitsOf>,
  { trials_per_visit: k }: MetricReliability,
  { references, confidence, resamples, seed }: {
    readonly references: readonly string[];
    readonly confidence: number;
    readonly resamples: number;
    readonly seed: number;
  },
): Record<"icc_single" | "icc_mean" | "mdc_mean" | "mdc_across_sessions", Estimate> {
  const noise = benchNoise(visits, {
    references,
    trialsPerVisit: k,
    confidence,
    resamples,
    seed,
    componentLimits: false,
  });
  const repeatability = repeatabilitySd(visits.map(({ values }) => values), { confidence });
  const unit = minimalDetectableChange(
    { ...repeatability, estimate: 1, lower: 1, upper: 1, estimate_reason: null },
    { probability: confidence },
  ).estimate!;
  const root = (x: number | null) => x === null ? null : unit * Math.sqrt(x);
  const across = noise.noise_across;
  return {
    icc_single: noise.icc_single,
    icc_mean: noise.icc_mean,
    mdc_mean: minimalDetectableChange(repeatability, { averaged: k, probability: confidence }),
    mdc_across_sessions: { ...across, lower: root(across.lower), upper: root(across.upper) },
  };
}

/** A share of simulations, with the exact interval of a count (Clopper & Pearson 1934). */
function rate(hits: number, of: number, reason: Reason): Estimate {
  const about = {
    confidence: 0.95,
    method: "share of simulations, exact binomial interval",
    n: of,
  };
  if (of === 0) return noEstimate(reason, about);
  return {
    estimate: hits / of,
    estimate_reason: null,
    lower: hits === 0 ? 0 : betaQuantile(0.025, hits, of - hits + 1),
    upper: hits === of ? 1 : betaQuantile(0.975, hits + 1, of - hits),
    ...about,
    warnings: [],
  };
}
