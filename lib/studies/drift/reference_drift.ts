import * as option from "../../options.ts";
import { visitsOf } from "../../records/selection.ts";
import type { Bench } from "../../records/types.ts";
import { adjustP } from "../../statistics/adjust_p.ts";
import { shoeName } from "../shoes/shoe_name.ts";
import { type ReferenceChart, referenceCharts } from "./reference_charts.ts";
import { referenceCorrection } from "./reference_correction.ts";
import { type BenchStep, judgeRig, judgeStep, type RigDrift, testRigs } from "./rig_drift.ts";
import type { MethodChange } from "./rig_time.ts";
import { askedMetric, askedMetricIds } from "../shoes/asked_shoes.ts";

/** Whether the bench reads the same shoe the same over time. */
export type ReferenceDrift = {
  readonly until: string;
  readonly confidence: number;
  readonly references: readonly { readonly shoe_id: string; readonly name: string }[];
  readonly charts: readonly ReferenceChart[];
  readonly rigs: readonly RigDrift[];
  readonly steps: readonly BenchStep[];
  /** How many slopes and steps were put to the test, each family held to 1 − confidence by Holm's method. */
  readonly tested: { readonly slopes: number; readonly steps: number };
};

/**
 * Does the bench read the same shoe the same today as it did a year ago?
 *
 * The reference shoes are benched in every session. Each gets, per rig, an individuals chart (mean ± 2.66
 * mean moving ranges) and a moving average (λ = 0.2), whose signals are for looking. Claims rest on one
 * regression a metric, with the session as the unit, since all readings of a session share its luck:
 * level and slope of every rig, shifts between operators, and a step at every method change given.
 * Slopes and steps are claimed after Holm's adjustment, each over all metrics; a slope needs eight
 * sessions on its rig.
 *
 * A reference ages: with one, a drift is 'bench or reference'. With two or more, a test inside sessions,
 * where the bench's own drift cancels, tells whether they change at different rates. References that were
 * benched alike may age alike, so it is the bench only where shoes that rest between sessions agree.
 *
 * @param options.changes dates at which a metric's method changed
 * @param options.metrics ids; all by default
 * @throws {RangeError} if a metric is unknown or an option is out of range
 * @see ISO 7870-2 (individuals chart); Roberts 1959 (moving average); Holm 1979
 */
export function referenceDrift(
  bench: Bench,
  { confidence = bench.settings.confidence, metrics, changes: made = [], lambda = 0.2 }: {
    readonly confidence?: number;
    readonly metrics?: readonly string[];
    readonly changes?: readonly MethodChange[];
    readonly lambda?: number;
  } = {},
): ReferenceDrift {
  option.check("studies.referenceDrift", arguments[1], {
    confidence: option.share,
    metrics: option.listOf(option.text),
    changes: option.thing,
    lambda: option.number,
  });
  const asked = askedMetricIds(bench, metrics);
  const changes = made.map((one) => ({ ...one, metric: askedMetric(bench, one.metric).id }));
  const names = new Map(bench.shoes.map((shoe) => [shoe.shoe_id, shoeName(shoe)]));
  const { reference_shoes } = bench.settings;
  const wanted = bench.metrics.filter(({ id }) => asked?.includes(id) ?? true);
  const isReference = new Set(reference_shoes);
  const benched = {
    settings: bench.settings,
    sessions: bench.sessions,
    trials: bench.trials.filter(({ shoe_id }) => isReference.has(shoe_id)),
  };
  const changesOf = (id: string) => changes.filter(({ metric }) => metric === id);
  const studied = wanted.map((metric) => {
    const visits = visitsOf(benched, metric.id);
    return {
      charts: referenceCharts(metric, visits, { names, confidence, lambda }),
      ...testRigs(metric, visits, { confidence, changes: changesOf(metric.id) }),
    };
  });
  const testedRigs = withFamilywise(studied.flatMap((study) => study.rigs));
  const testedSteps = withFamilywise(studied.flatMap((study) => study.steps));
  const corrections = new Map(
    [...new Set(testedRigs.filter((rig) => isClaimed(rig, confidence)).map((rig) => rig.metric))]
      .map((id) => [
        id,
        referenceCorrection(visitsOf(bench, id), {
          references: reference_shoes,
          changes: changesOf(id),
        }),
      ]),
  );
  return {
    until: bench.sessions.map(({ date }) => date).sort().at(-1) ?? "",
    confidence,
    references: reference_shoes.map((shoe_id) => ({
      shoe_id,
      name: names.get(shoe_id) ?? shoe_id,
    })),
    charts: studied.flatMap(({ charts }) => charts),
    rigs: testedRigs.map((rig) => judgeRig(rig, confidence, corrections.get(rig.metric) ?? null)),
    steps: testedSteps.map((step) => judgeStep(step, confidence)),
    tested: { slopes: countTested(testedRigs), steps: countTested(testedSteps) },
  };
}

function isClaimed({ p_familywise: p }: Pick<RigDrift, "p_familywise">, confidence: number) {
  return p !== null && p < 1 - confidence;
}

function countTested(tests: readonly { readonly p: number | null }[]): number {
  return tests.filter(({ p }) => p !== null).length;
}

function withFamilywise<T extends { readonly p: number | null }>(
  tests: readonly T[],
): readonly (T & { readonly p_familywise: number | null })[] {
  const present = tests.filter(({ p }) => p !== null);
  const adjusted = adjustP(present.map(({ p }) => p!), "holm");
  const byTest = new Map(present.map((test, i) => [test, adjusted[i]]));
  return tests.map((test) => ({ ...test, p_familywise: byTest.get(test) ?? null }));
}
