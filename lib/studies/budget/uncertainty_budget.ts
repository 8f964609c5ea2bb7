import * as option from "../../options.ts";
import { resolutionUncertainty } from "../../metrics/resolution_uncertainty.ts";
import { metricLibrary } from "../../metrics/metric_library.ts";
import { isComputed, keptTrials } from "../../records/selection.ts";
import type { Bench, Metric } from "../../records/types.ts";
import { converter } from "../../records/units.ts";
import {
  type CombinedUncertainty,
  combinedUncertainty,
} from "../../statistics/combined_uncertainty.ts";
import type { Reason } from "../../statistics/reason.ts";
import { correctionVariance } from "../drift/reference_correction.ts";
import { metricOf } from "../repeatability/metric_trials.ts";
import type { MetricReliability, TrialReliability } from "../repeatability/types.ts";
import { correctionInForce, publishedVisits } from "../shoes/published_visits.ts";
import { type RigCalibration, rigCalibrations } from "./rig_calibrations.ts";
import { type StruckTrials, struckTrials } from "./struck_trials.ts";
import { median } from "../../statistics/robust_scale.ts";
import { AGREEMENT_SEED } from "../../statistics/default_seeds.ts";

/** Where a part of a published value's uncertainty comes from. */
export type BudgetSource =
  | "trials"
  | "visits"
  | "sessions"
  | "operators"
  | "pairs"
  | "correction"
  | "resolution"
  | "calibration"
  | "reference"
  | "inputs";

/** One part of a published value's uncertainty. */
export type BudgetPart = {
  readonly source: BudgetSource;
  /** A: from readings; B: from what else is known. */
  readonly type: "A" | "B";
  /** Standard uncertainty, in the metric's unit. */
  readonly standard: number;
  /** Null: taken as known without limit. */
  readonly freedom: number | null;
  /** Whether all shoes share it, so that it cancels between two. */
  readonly shared: boolean;
};

/** A combined uncertainty as a result file can hold it: no number in it is infinite. */
export type BudgetSum = Omit<CombinedUncertainty, "freedom"> & { readonly freedom: number | null };

/** The uncertainty of one metric's published values, part by part. */
export type UncertaintyBudget = {
  readonly metric: string;
  readonly title: string;
  readonly unit: string;
  readonly decimals: number;
  readonly smallest_difference: number | null;
  /** Trials in a published mean. */
  readonly trials_per_visit: number;
  readonly parts: readonly BudgetPart[];
  /** Of one value for comparing on this bench: without what all shoes share. */
  readonly comparing: BudgetSum | null;
  /** Of the difference of two shoes of different sessions, on this bench. */
  readonly difference: BudgetSum | null;
  /** Of one value for quoting to another bench: with everything. */
  readonly quoting: BudgetSum | null;
  readonly reason: Reason | null;
  readonly calibrations: readonly RigCalibration[];
  /** What nobody wrote down, so that it is in no figure. */
  readonly not_known: readonly ("resolution" | "calibration" | "reference")[];
  readonly struck: StruckTrials;
  /** Whether its readings are those of another metric, so that counts over metrics leave it out. */
  readonly computed: boolean;
};

/**
 * How uncertain is a published value, by which sources, and for what use?
 *
 * Type A from the metric's components: scatter of trials over √k, visits, sessions, operators, pairs, and the
 * correction to the reference shoes where it is in force (root mean square over shoes). Type B: a step of
 * resolution over √12, the error of the rigs against known values as long as nobody corrects it (half-width
 * of a rectangle) with its own uncertainty, what all readings share, and the inputs of the metric's
 * function. What all shoes share cancels between two of them, so that there are two figures: one for
 * comparing on this bench, one for quoting to another.
 *
 * @param metric id; `reliability` must hold it
 * @throws {RangeError} if the study does not hold the metric
 * @see JCGM 100:2008 (GUM), 4.2, 4.3, 5.1 and annex G; F.2.4.5 (an error that is not corrected)
 */
export function uncertaintyBudget(
  bench: Bench,
  metric: string,
  { reliability, seed = AGREEMENT_SEED, confidence = bench.settings.confidence }: {
    readonly reliability: TrialReliability;
    readonly seed?: number;
    readonly confidence?: number;
  },
): UncertaintyBudget {
  option.check("studies.uncertaintyBudget", arguments[2], {
    reliability: option.needed(option.thing),
    seed: option.seed,
    confidence: option.share,
  });
  const study = metricOf(reliability, metric);
  const about = bench.metrics.find(({ id }) => id === metric)!;
  const calibrations = rigCalibrations(
    bench.calibrations.filter(({ metric_id }) => metric_id === metric),
    about.smallest_difference,
    confidence,
  );
  const measured = typeA(bench, study);
  const parts = [...measured, ...typeB(bench, about, calibrations)];
  const sum = (some: readonly BudgetPart[], times: number): BudgetSum | null => {
    if (measured.length === 0) return null;
    const { freedom, ...rest } = combinedUncertainty(
      some.map(({ standard, freedom }) => ({
        standard,
        sensitivity: times,
        freedom: freedom ?? Infinity,
      })),
      { confidence },
    );
    return { ...rest, freedom: Number.isFinite(freedom) ? freedom : null };
  };
  const own = parts.filter(({ shared }) => !shared);
  return {
    metric,
    title: study.title,
    unit: study.unit,
    decimals: study.decimals,
    smallest_difference: study.smallest_difference,
    trials_per_visit: study.trials_per_visit,
    parts,
    comparing: sum(own, 1),
    difference: sum(own, Math.SQRT2),
    quoting: sum(parts, 1),
    reason: measured.length === 0 ? study.icc_mean.estimate_reason ?? { code: "no-limits" } : null,
    calibrations,
    not_known: [
      ...(about.resolution === null ? ["resolution" as const] : []),
      ...(calibrations.length === 0 ? ["calibration" as const] : []),
      ...(about.reference_uncertainty === null ? ["reference" as const] : []),
    ],
    struck: struckTrials(bench, metric, {
      references: bench.settings.reference_shoes,
      trialsPerVisit: study.trials_per_visit,
      confidence,
      resamples: 100,
      seed,
    }),
    computed: isComputed(about, bench.metrics),
  };
}

function typeA(bench: Bench, study: MetricReliability): BudgetPart[] {
  const { components, trials_per_visit: k, trials, visits, shoes } = study;
  const source = (name: string) => components.find((part) => part.source === name);
  const residual = source("residual");
  if (residual === undefined || source("shoe") === undefined) return [];
  const part = (name: BudgetSource, variance: number, freedom: number): BudgetPart => ({
    source: name,
    type: "A",
    standard: Math.sqrt(variance),
    freedom: Math.max(1, freedom),
    shared: false,
  });
  const [visit, session, operator, pair] = ["shoe:session", "session", "operator", "shoe:pair"]
    .map(source);
  const correction = correctionInForce(bench, study.metric);
  const own = correction === null
    ? []
    : [...Map.groupBy(publishedVisits(bench, study.metric), ({ shoe_id }) => shoe_id).values()]
      .map((mine) =>
        correctionVariance(
          correction,
          mine.map((visit) => ({ visit, weight: 1 / mine.length })),
        )
      );
  const usual = own.length === 0 ? 0 : own.reduce((sum, x) => sum + x, 0) / own.length;
  return [
    part("trials", residual.variance / k, trials - visits),
    ...(visit === undefined ? [] : [part("visits", visit.variance, visits - shoes)]),
    ...(session === undefined ? [] : [part("sessions", session.variance, session.levels - 1)]),
    ...(operator === undefined ? [] : [part("operators", operator.variance, operator.levels - 1)]),
    ...(pair === undefined ? [] : [part("pairs", pair.variance, pair.levels - shoes)]),
    ...(correction === null ? [] : [part("correction", usual, correction.freedom)]),
  ];
}

function typeB(
  bench: Bench,
  metric: Metric,
  calibrations: readonly RigCalibration[],
): BudgetPart[] {
  const part = (
    source: BudgetSource,
    standard: number,
    { shared = true, freedom = null }: { shared?: boolean; freedom?: number | null } = {},
  ): BudgetPart => ({ source, type: "B", standard, freedom, shared });
  // The rig that reads farthest off stands for all, since a value may come from any of them.
  const worst = calibrations.toSorted((a, b) => Math.abs(b.error) - Math.abs(a.error))[0];
  const inputs = inputUncertainty(bench, metric);
  return [
    ...(metric.resolution === null
      ? []
      : [part("resolution", resolutionUncertainty(metric.resolution), { shared: false })]),
    ...(worst === undefined ? [] : [
      part("calibration", Math.hypot(worst.standard_uncertainty, worst.error / Math.sqrt(3)), {
        freedom: worst.freedom,
      }),
    ]),
    ...(metric.reference_uncertainty === null
      ? []
      : [part("reference", metric.reference_uncertainty)]),
    ...(inputs === null ? [] : [part("inputs", inputs)]),
  ];
}

/** What a computed metric's constants add, at the middle of its readings; null where its function tells none. */
function inputUncertainty(bench: Bench, { derive, unit }: Metric): number | null {
  if (derive === null || typeof derive.from !== "string") return null;
  const entry = metricLibrary[derive.by];
  const from = bench.metrics.find(({ id }) => id === derive.from);
  if (entry === undefined || from === undefined) return null;
  const readings = keptTrials(bench, from.id).map(({ value }) => value!);
  if (readings.length === 0) return null;
  try {
    const middle = converter(from.unit, entry.reading_unit)(median(readings));
    const { standard_uncertainty: u } = entry.compute(middle, derive.with);
    const toMetric = converter(entry.unit, unit);
    return u === null || u === 0 ? null : Math.abs(toMetric(u) - toMetric(0));
  } catch (error) {
    // A constant that stands in shoes.csv, shoe by shoe, is not here.
    if (error instanceof RangeError) return null;
    throw error;
  }
}
