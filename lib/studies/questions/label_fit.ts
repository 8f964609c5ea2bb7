import * as option from "../../options.ts";
import { insideLengthOverNominal } from "../../metrics/inside_length_over_nominal.ts";
import type { SizeSystem } from "../../metrics/size_system.ts";
import { CantAnswer } from "../../records/cant_answer.ts";
import { isInstrument } from "../../records/selection.ts";
import type { Bench, Metric } from "../../records/types.ts";
import { convert } from "../../records/units.ts";
import { normalQuantile } from "../../statistics/distributions.ts";
import { type AnswerParts, onePairWarnings } from "../comparison/answer_parts.ts";
import { comparedMetric, type ComparedOn } from "../comparison/compared_on.ts";
import type { TrialReliability } from "../repeatability/trial_reliability.ts";
import { askedMetric, askedShoes, namesOf } from "../shoes/asked_shoes.ts";
import { metricNoise, shoeValues } from "../shoes/shoe_values.ts";
import { median } from "../../statistics/robust_scale.ts";

/** Whether a shoe is longer or shorter inside than others of its label. */
export type LabelWord = "runs short" | "true to its label" | "runs long" | "can't tell";

/** One shoe against its label. */
export type LabelledShoe = {
  readonly shoe_id: string;
  readonly name: string;
  readonly size: number;
  readonly size_system: SizeSystem;
  /** Inside length minus the foot that the label means, in mm. */
  readonly excess_mm: number;
  /** The excess minus the catalogue's usual one. */
  readonly against_usual_mm: number;
  /** Of `against_usual_mm`; intervals of all shoes hold together. */
  readonly lower: number | null;
  readonly upper: number | null;
  readonly word: LabelWord;
};

/** Which shoes run short or long for their label. */
export type LabelFit = AnswerParts & {
  readonly question: "runs";
  readonly asked: "short" | "long";
  readonly on: ComparedOn;
  /** What a shoe of this catalogue usually leaves: the median excess over the label, in mm. */
  readonly usual_mm: number;
  /** Half a step of a size: nearer than that to the usual, a shoe is true to its label. */
  readonly half_step_mm: number;
  readonly confidence: number;
  readonly method: string;
  /** Shortest first, or longest first where long is asked. */
  readonly shoes: readonly LabelledShoe[];
  readonly runs_short: number;
  readonly runs_long: number;
  readonly cant_tell: number;
  /** Of these, how many may run as was asked: their limits reach past half a step there, or are unknown. */
  readonly may_run_so: number;
  /** Shoes with an inside length and no size on record. */
  readonly without_size: number;
};

/**
 * Which shoes run short, or long?
 *
 * Inside length minus the foot that the label means (`insideLengthOverNominal`), against the median of the catalogue: a
 * gauge reads less than a foot finds, by how much depends on the gauge, so shoes are held against each other and not
 * against a room that the label would promise. *Runs short* when the whole interval lies more than half a size step
 * below the usual, *runs long* when above it, *true to its label* when within, else *can't tell*. Intervals hold
 * together over all shoes (Bonferroni); the median is taken as known.
 *
 * @param options `half_step_mm` half of the step between two sizes
 * @throws {CantAnswer} if no shoe has both an inside length and a size
 * @see ISO 9407 for the step of 5 mm between Mondopoint sizes, from memory
 */
export function labelFit(
  bench: Bench,
  {
    asked,
    shoes: ids = [],
    inside_length = "inside-length",
    half_step_mm = 2.5,
    reliability,
    confidence = bench.settings.confidence,
  }: {
    readonly asked: "short" | "long";
    readonly shoes?: readonly string[];
    readonly inside_length?: string;
    readonly half_step_mm?: number;
    readonly reliability: Pick<TrialReliability, "metrics">;
    readonly confidence?: number;
  },
): LabelFit {
  option.check("studies.labelFit", arguments[1], {
    asked: option.needed(option.oneOf("short", "long")),
    shoes: option.listOf(option.text),
    inside_length: option.text,
    half_step_mm: option.positive,
    reliability: option.needed(option.thing),
    confidence: option.share,
  });
  const metric = askedMetric(bench, inside_length);
  const inMillimetres = convert(1, metric.unit, "mm");
  if (inMillimetres === null) {
    throw new CantAnswer(
      { code: "not-a-length", metric: metric.title, unit: metric.unit },
      `${metric.title} is in ${metric.unit}, which is no length`,
    );
  }
  const wanted = new Set(askedShoes(bench, ids).map(({ shoe_id }) => shoe_id));
  const found = excesses(bench, metric, { inMillimetres, reliability, wanted });
  const sized = found.filter(({ shoe }) => shoe.size !== null);
  const missing = bench.shoes.flatMap((shoe, index) =>
    wanted.has(shoe.shoe_id) && !sized.some((one) => one.shoe.shoe_id === shoe.shoe_id)
      ? namesOf(bench.shoes)[index]
      : []
  );
  if (sized.length === 0 || missing.length > 0) {
    throw new CantAnswer(
      { code: "no-size-with-length", metric: metric.title },
      `${
        missing.length === 0
          ? "No shoe has"
          : `${missing.join(", ")} ${missing.length === 1 ? "lacks" : "lack"}`
      } a size on record or a reading of ${metric.title}`,
    );
  }
  const shown = wanted.size === 0 ? sized : sized.filter(({ shoe }) => wanted.has(shoe.shoe_id));
  const z = normalQuantile(1 - (1 - confidence) / 2 / Math.max(1, shown.length));
  const usual = median(sized.flatMap(({ value }) => value ?? []));
  const shoes = shown.map(({ row, shoe, name, size_system, value, error }): LabelledShoe => {
    const against = value! - usual;
    const [lower, upper] = error === null
      ? [null, null]
      : [against - z * error, against + z * error];
    return {
      shoe_id: row.shoe_id,
      name,
      size: shoe.size!,
      size_system,
      excess_mm: value!,
      against_usual_mm: against,
      lower,
      upper,
      word: labelWord(lower, upper, half_step_mm),
    };
  }).toSorted((a, b) =>
    (asked === "short" ? 1 : -1) * (a.excess_mm - b.excess_mm) ||
    (a.shoe_id < b.shoe_id ? -1 : 1)
  );
  const having = (word: LabelWord) => shoes.filter((shoe) => shoe.word === word).length;
  return {
    question: "runs",
    asked,
    on: comparedMetric(metric),
    usual_mm: usual,
    half_step_mm,
    confidence,
    method:
      "inside length minus the foot on the label, against the catalogue's median; normal intervals, Bonferroni over all shoes",
    shoes,
    runs_short: having("runs short"),
    runs_long: having("runs long"),
    cant_tell: having("can't tell"),
    may_run_so:
      shoes.filter(({ word, lower, upper }) =>
        word === "can't tell" && (lower === null || upper === null ||
          (asked === "short" ? lower < -half_step_mm : upper > half_step_mm))
      ).length,
    without_size: found.length - sized.length,
    trials: sized.reduce((total, { row }) => total + row.trials, 0),
    last_trial: sized.map(({ row }) => row.last_benched).sort().at(-1) ?? null,
    warnings: onePairWarnings(reliability, [metric.id]),
  };
}

/** Every shoe's inside length over its label, in mm; no value where the size isn't on record. */
function excesses(
  bench: Bench,
  metric: Metric,
  { inMillimetres, reliability, wanted }: {
    readonly inMillimetres: number;
    readonly reliability: Pick<TrialReliability, "metrics">;
    readonly wanted: ReadonlySet<string>;
  },
) {
  const about = reliability.metrics.find((row) => row.metric === metric.id);
  const names = namesOf(bench.shoes);
  return shoeValues(bench, metric.id, metricNoise(about)).filter(({ shoe_id }) =>
    wanted.has(shoe_id) || !isInstrument(bench, shoe_id)
  ).map((row) => {
    const index = bench.shoes.findIndex(({ shoe_id }) => shoe_id === row.shoe_id);
    const [shoe, name] = [bench.shoes[index], names[index]];
    const size_system = shoe.size_system ?? bench.settings.size_system;
    if (shoe.size === null) return { row, shoe, name, size_system, value: null, error: null };
    const known = row.standard_error !== null && row.standard_error > 0;
    const { value, standard_uncertainty } = insideLengthOverNominal(row.value * inMillimetres, {
      size: shoe.size,
      size_system,
      ...(known ? { u_inside_length_mm: row.standard_error! * inMillimetres } : {}),
    });
    return { row, shoe, name, size_system, value, error: known ? standard_uncertainty : null };
  });
}

function labelWord(lower: number | null, upper: number | null, half_step: number): LabelWord {
  if (lower === null || upper === null) return "can't tell";
  if (upper < -half_step) return "runs short";
  if (lower > half_step) return "runs long";
  return lower >= -half_step && upper <= half_step ? "true to its label" : "can't tell";
}
