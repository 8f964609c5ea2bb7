import { isInstrument } from "../../records/selection.ts";
import { sum } from "simple-statistics";
import type { SizeSystem } from "../../metrics/size_system.ts";
import { suggestedSizeStep } from "../../metrics/suggested_size_step.ts";
import { toeAllowance } from "../../metrics/toe_allowance.ts";
import { widthAllowance } from "../../metrics/width_allowance.ts";
import * as option from "../../options.ts";
import { publishedVisits } from "../shoes/published_visits.ts";
import type { Bench, BenchSettings, Shoe } from "../../records/types.ts";
import { convert } from "../../records/units.ts";
import { normalQuantile } from "../../statistics/distributions.ts";
import { refuseUnfit } from "./catalogue_standing.ts";
import { type AnswerParts, onePairWarnings } from "./answer_parts.ts";
import type { Reason } from "../../statistics/reason.ts";
import { CantAnswer } from "../../records/cant_answer.ts";
import { askedMetric, askedShoes, namesOf } from "../shoes/asked_shoes.ts";
import { pairNoise } from "../repeatability/pair_noise.ts";
import { standing } from "../../statistics/percentile.ts";
import { metricNoise, shoeValues } from "../shoes/shoe_values.ts";
import type { TrialReliability } from "../repeatability/trial_reliability.ts";

/** A foot in one shoe. Rooms are negative where the foot is larger. */
export type ShoeFit = {
  readonly shoe_id: string;
  readonly name: string;
  readonly size: number | null;
  readonly size_system: SizeSystem;
  readonly width: string | null;
  readonly toe_room_mm: number;
  readonly toe_room_lower: number | null;
  readonly toe_room_upper: number | null;
  readonly width_room_mm: number | null;
  readonly width_room_lower: number | null;
  readonly width_room_upper: number | null;
  readonly width_room_reason: Reason | null;
  /** Sizes to add in the shoe's own system; mm in Mondopoint. */
  readonly size_step: number;
  readonly size_step_low: number | null;
  readonly size_step_high: number | null;
  readonly suggested_size: number | null;
  /** Share of the catalogue that is narrower inside, in percent. */
  readonly width_percentile: number | null;
  /** Of the size that was benched; nothing is said of one that was not. */
  readonly word: "length fits" | "other size" | "too narrow" | "can't tell";
};

/** A foot against the inside measures of shoes. */
export type FootFit = AnswerParts & {
  readonly question: "fit";
  readonly foot: { readonly length_mm: number; readonly width_mm: number | null };
  readonly wanted_toe_room_mm: readonly [number, number];
  /** Room in width below which a shoe is too narrow; null where none was asked for. */
  readonly least_width_room_mm: number | null;
  readonly confidence: number;
  readonly method: string;
  /** Those whose length fits first, the roomiest in width first among them. */
  readonly shoes: readonly ShoeFit[];
};

/**
 * How would this foot sit in these shoes, and which size step does its length ask for?
 *
 * Room before the longest toe and beside the ball, from the shoe's inside measures, with intervals
 * from the bench's noise and the foot's own uncertainty; the step is `suggestedSizeStep`'s. The
 * *length fits* when no step is asked for even at two standard uncertainties; *other size* when one is
 * asked for throughout; else *can't tell*. Of width nothing is called too narrow unless the least room is given:
 * a gauge at a light touch reads less than the upper gives, so that most worn shoes have a negative room,
 * by how much depends on the gauge. Roomy shoes come first instead.
 *
 * @param options lengths in mm; `u_foot_mm` the standard uncertainty of the foot's measures; `metrics` the ids of
 * inside length and inside width; `least_width_room_mm` below which a shoe is *too narrow*, as read on this bench
 * @throws {CantAnswer} if no shoe was measured, or an inside measure is not fit to publish
 * @throws {RangeError} if a measure is implausible or a metric or shoe is unknown
 * @see common practice, no source, for the toe room of 8 to 15 mm
 */
export function footFit(
  bench: Bench,
  {
    foot_length_mm,
    foot_width_mm = null,
    shoes: ids = [],
    metrics: { inside_length, inside_width } = {
      inside_length: "inside-length",
      inside_width: "inside-width",
    },
    u_foot_mm = 1,
    wanted_mm = [8, 15],
    least_width_room_mm = null,
    reliability,
    confidence = bench.settings.confidence,
  }: {
    readonly foot_length_mm: number;
    readonly foot_width_mm?: number | null;
    /** All with an inside length, unless named. */
    readonly shoes?: readonly string[];
    readonly metrics?: { readonly inside_length: string; readonly inside_width: string | null };
    readonly u_foot_mm?: number;
    readonly wanted_mm?: readonly [number, number];
    readonly least_width_room_mm?: number | null;
    readonly reliability: Pick<TrialReliability, "metrics">;
    readonly confidence?: number;
  },
): FootFit {
  option.check("studies.footFit", arguments[1], {
    foot_length_mm: option.needed(option.number),
    foot_width_mm: option.orNull(option.number),
    shoes: option.listOf(option.text),
    metrics: option.thing,
    u_foot_mm: option.notNegative,
    wanted_mm: option.thing,
    least_width_room_mm: option.orNull(option.number),
    reliability: option.needed(option.thing),
    confidence: option.share,
  });
  for (const id of [inside_length, foot_width_mm === null ? null : inside_width]) {
    if (id === null) continue;
    const about = reliability.metrics.find(({ metric }) => metric === id);
    refuseUnfit(askedMetric(bench, id), about, "no fit is told by it");
  }
  const asked = new Set(askedShoes(bench, ids).map(({ shoe_id }) => shoe_id));
  const lengths = insideMeasures(bench, inside_length, reliability);
  const widths = inside_width === null || foot_width_mm === null
    ? new Map<string, InsideMeasure>()
    : insideMeasures(bench, inside_width, reliability);
  const foot = { length_mm: foot_length_mm, width_mm: foot_width_mm };
  const about = {
    foot,
    u_foot_mm,
    wanted_mm,
    least_width_room_mm,
    widths,
    settings: bench.settings,
    z: normalQuantile((1 + confidence) / 2),
  };
  const names = namesOf(bench.shoes);
  const shoes = bench.shoes.flatMap((shoe, index): ShoeFit[] => {
    if (asked.size > 0 ? !asked.has(shoe.shoe_id) : isInstrument(bench, shoe.shoe_id)) return [];
    const length = lengths.get(shoe.shoe_id);
    if (length !== undefined) return [shoeFit(shoe, names[index], length, about)];
    if (!asked.has(shoe.shoe_id)) return [];
    throw new CantAnswer({
      code: "not-measured",
      shoes: [shoe.shoe_id],
      metrics: [inside_length],
    }, `${names[index]} has no trial on ${inside_length}`);
  }).toSorted((a, b) => fitOrder(a, b, wanted_mm) || (a.shoe_id < b.shoe_id ? -1 : 1));
  if (shoes.length === 0) {
    throw new CantAnswer(
      { code: "not-measured", shoes: [], metrics: [inside_length] },
      `No shoe has a trial on ${inside_length}`,
    );
  }
  const used = [inside_length, ...(widths.size > 0 ? [inside_width!] : [])]
    .flatMap((id) => publishedVisits(bench, id))
    .filter((visit) => shoes.some(({ shoe_id }) => shoe_id === visit.shoe_id));
  return {
    question: "fit",
    foot,
    wanted_toe_room_mm: wanted_mm,
    least_width_room_mm,
    confidence,
    method:
      `inside measure minus foot; normal interval from the bench's noise and ${u_foot_mm} mm of standard uncertainty of the foot`,
    shoes,
    trials: sum(used.map((visit) => visit.values.length)),
    last_trial: used.map((visit) => visit.date).sort().at(-1) ?? null,
    warnings: onePairWarnings(reliability, [
      inside_length,
      ...(widths.size > 0 ? [inside_width!] : []),
    ]),
  };
}

/** A foot in one shoe, by its inside length and, where both are known, its inside width. */
function shoeFit(
  shoe: Shoe,
  name: string,
  length: InsideMeasure,
  { foot, u_foot_mm, wanted_mm, least_width_room_mm, widths, settings, z }: {
    readonly foot: FootFit["foot"];
    readonly u_foot_mm: number;
    readonly wanted_mm: readonly [number, number];
    readonly least_width_room_mm: number | null;
    readonly widths: ReadonlyMap<string, InsideMeasure>;
    readonly settings: Pick<BenchSettings, "size_system">;
    readonly z: number;
  },
): ShoeFit {
  const size_system = shoe.size_system ?? settings.size_system;
  const about = {
    foot_length_mm: foot.length_mm,
    u_foot_length_mm: u_foot_mm,
    u_inside_length_mm: length.u ?? 0,
  };
  const step = suggestedSizeStep(length.mm, { ...about, size_system, wanted_mm });
  const toe = toeAllowance(length.mm, about);
  const width = widths.get(shoe.shoe_id);
  const side = width === undefined || foot.width_mm === null ? null : widthAllowance(width.mm, {
    foot_width_mm: foot.width_mm,
    u_foot_width_mm: u_foot_mm,
    u_inside_width_mm: width.u ?? 0,
  });
  // A room whose own noise is unknown has no interval: the foot's alone would be too narrow.
  const around = (
    room: { value: number; standard_uncertainty: number | null } | null,
    inside: InsideMeasure | undefined,
  ) => {
    const u = inside === undefined || inside.u === null ? null : room?.standard_uncertainty ?? null;
    return room === null || u === null ? [null, null] : [room.value - z * u, room.value + z * u];
  };
  const [toe_lower, toe_upper] = around(toe, length);
  const [width_lower, width_upper] = around(side, width);
  const all = [...widths.values()].map(({ mm }) => mm);
  return {
    shoe_id: shoe.shoe_id,
    name,
    size: shoe.size,
    size_system,
    width: shoe.width,
    toe_room_mm: toe.value,
    toe_room_lower: toe_lower,
    toe_room_upper: toe_upper,
    width_room_mm: side?.value ?? null,
    width_room_lower: width_lower,
    width_room_upper: width_upper,
    width_room_reason: side !== null
      ? null
      : foot.width_mm === null
      ? { code: "no-foot-width" }
      : { code: "no-inside-width" },
    size_step: step.value,
    size_step_low: step.step_low,
    size_step_high: step.step_high,
    suggested_size: shoe.size === null ? null : shoe.size + step.value,
    width_percentile: width === undefined ? null : standing(width.mm, all, 0).percentile,
    // Unknown noise is not noise of zero: one reading proves no fit.
    word: length.u === null ? "can't tell" : fitWord(step, width_upper, least_width_room_mm),
  };
}

type InsideMeasure = { readonly mm: number; readonly u: number | null };

function insideMeasures(
  bench: Bench,
  id: string,
  reliability: Pick<TrialReliability, "metrics">,
): Map<string, InsideMeasure> {
  const metric = askedMetric(bench, id);
  const toMm = (value: number) => {
    try {
      return convert(value, metric.unit, "mm");
    } catch {
      throw new CantAnswer(
        { code: "not-a-length", metric: id, unit: metric.unit },
        `${id} is in ${metric.unit}, expected a length`,
      );
    }
  };
  const about = reliability.metrics.find((row) => row.metric === id);
  const byShoe = Map.groupBy(publishedVisits(bench, id), (visit) => visit.shoe_id);
  return new Map(
    shoeValues(bench, id, metricNoise(about)).map(({ shoe_id, value }) => {
      const noise = pairNoise(byShoe.get(shoe_id)!, [], about);
      return [shoe_id, {
        mm: toMm(value),
        u: noise === null || noise.variance === 0
          ? null
          : Math.abs(toMm(Math.sqrt(noise.variance)) - toMm(0)),
      }];
    }),
  );
}

function fitWord(
  { value, step_low, step_high }: ReturnType<typeof suggestedSizeStep>,
  widthUpper: number | null,
  leastWidth: number | null,
): ShoeFit["word"] {
  if (leastWidth !== null && widthUpper !== null && widthUpper < leastWidth) return "too narrow";
  const [low, high] = [step_low ?? value, step_high ?? value];
  if (low === 0 && high === 0) return "length fits";
  return Math.sign(low) === Math.sign(high) ? "other size" : "can't tell";
}

/** What fits first, then what may; the roomiest in width first, then by how far the toe room is off. */
function fitOrder(a: ShoeFit, b: ShoeFit, [low, high]: readonly [number, number]): number {
  const rank = ({ word }: ShoeFit) =>
    ["length fits", "can't tell", "other size", "too narrow"].indexOf(word);
  const off = ({ toe_room_mm }: ShoeFit) => Math.max(0, low - toe_room_mm, toe_room_mm - high);
  const width = ({ width_room_mm }: ShoeFit) => width_room_mm ?? -Infinity;
  const byWidth = width(a) === width(b) ? 0 : width(b) - width(a);
  return rank(a) - rank(b) || (rank(a) < 2 ? byWidth : 0) || off(a) - off(b);
}
