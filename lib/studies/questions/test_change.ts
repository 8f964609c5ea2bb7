import * as option from "../../options.ts";
import { CantAnswer } from "../../records/cant_answer.ts";
import { visitsOf } from "../../records/selection.ts";
import type { Bench } from "../../records/types.ts";
import type { AnswerParts } from "../comparison/answer_parts.ts";
import { comparedMetric, type ComparedOn } from "../comparison/compared_on.ts";
import { type ReferenceDrift, referenceDrift } from "../drift/reference_drift.ts";
import type { RigDrift } from "../drift/rig_drift.ts";
import { askedMetric } from "../shoes/asked_shoes.ts";

/** Whether a test reads today as it did. */
export type TestChange = AnswerParts & {
  readonly question: "drift";
  readonly on: ComparedOn;
  readonly confidence: number;
  readonly references: ReferenceDrift["references"];
  /** One a rig. */
  readonly rigs: readonly RigDrift[];
  /** Slopes over all metrics that the claims are adjusted for. */
  readonly tested: number;
};

/**
 * Has this test changed since last year?
 *
 * What the reference shoes say of it, rig by rig; claims are `referenceDrift`'s, adjusted over all metrics of the bench.
 *
 * @throws {CantAnswer} if the bench has no reference shoe with readings on the metric
 */
export function testChange(
  bench: Bench,
  { metric: typed, confidence = bench.settings.confidence }: {
    readonly metric: string;
    readonly confidence?: number;
  },
): TestChange {
  option.check("studies.testChange", arguments[1], {
    metric: option.needed(option.text),
    confidence: option.share,
  });
  const metric = askedMetric(bench, typed);
  const { reference_shoes } = bench.settings;
  const visits = visitsOf(bench, metric.id)
    .filter(({ shoe_id }) => reference_shoes.includes(shoe_id));
  if (visits.length === 0) {
    throw new CantAnswer(
      { code: "no-reference" },
      `This bench can't tell: no reference shoe has a reading on ${metric.title}, and only a shoe that is benched again and again shows whether a test changes`,
    );
  }
  const drift = referenceDrift(bench, { confidence });
  return {
    question: "drift",
    on: comparedMetric(metric),
    confidence,
    references: drift.references,
    rigs: drift.rigs.filter((rig) => rig.metric === metric.id),
    tested: drift.tested.slopes,
    trials: visits.reduce((total, { values }) => total + values.length, 0),
    last_trial: visits.map(({ date }) => date).sort().at(-1) ?? null,
    warnings: [],
  };
}
