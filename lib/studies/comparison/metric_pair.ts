import * as option from "../../options.ts";
import type { Bench } from "../../records/types.ts";
import type { Estimate } from "../../statistics/estimate.ts";
import { spearman } from "../../statistics/spearman.ts";
import type { AnswerParts } from "./answer_parts.ts";
import { isInstrument } from "../../records/selection.ts";
import { gridPermutation } from "../../statistics/grid_permutation.ts";
import { shoeKin, withinCourts, withoutKin } from "../shoes/shoe_kin.ts";
import { askedMetric, askedShoes } from "../shoes/asked_shoes.ts";
import { catalogueStanding, refuseUnfit } from "./catalogue_standing.ts";
import { derivedMetrics } from "../shoes/derived_metrics.ts";
import { CantAnswer } from "../../records/cant_answer.ts";
import type { ComparedOn } from "./compared_on.ts";
import type { TrialReliability } from "../repeatability/trial_reliability.ts";

/** A shoe on two metrics. */
export type PairedShoe = {
  readonly shoe_id: string;
  readonly name: string;
  readonly x: number;
  readonly x_lower: number | null;
  readonly x_upper: number | null;
  readonly y: number;
  readonly y_lower: number | null;
  readonly y_upper: number | null;
  readonly asked: boolean;
  /** Its place among the asked shoes, from 0, which gives it the same symbol in every picture. */
  readonly asked_place: number | null;
};

/** Two metrics against each other over the catalogue. */
export type MetricPair = AnswerParts & {
  readonly question: "pair";
  readonly x: ComparedOn;
  readonly y: ComparedOn;
  readonly confidence: number;
  readonly shoes: readonly PairedShoe[];
  /** Rank correlation over the shoes that have both; reference shoes are no part of it. */
  readonly spearman: Estimate;
  /** How often chance gives as much, with what shoes of a line, a maker and a court have in common taken out. */
  readonly p: number | null;
  readonly lines: number;
  readonly makers: number;
  /** One is computed from the trials of the other. */
  readonly same_evidence: boolean;
};

/**
 * How do two metrics go together over the catalogue, and where are these shoes?
 *
 * @param options `metrics` two ids, across and up; `shoes` to name
 * Shoes of a line and of a maker resemble each other on both metrics for reasons that need have nothing to do with
 * each other, so `p` is of normal scores without that likeness, as in `courtPrediction`.
 *
 * @returns every shoe that has both, and the rank correlation with a BCa interval
 * @throws {RangeError} if a shoe or metric is unknown, the metrics are one, or no shoe has both
 */
export function metricPair(
  bench: Bench,
  { metrics, shoes: ids = [], reliability, seed, confidence }: {
    readonly metrics: readonly [string, string];
    readonly shoes?: readonly string[];
    readonly reliability: Pick<TrialReliability, "metrics">;
    readonly seed: number;
    readonly confidence?: number;
  },
): MetricPair {
  option.check("studies.metricPair", arguments[1], {
    metrics: option.needed(option.listOf(option.text)),
    shoes: option.listOf(option.text),
    reliability: option.needed(option.thing),
    seed: option.needed(option.seed),
    confidence: option.share,
  });
  const [first, second] = metrics;
  // A list typed by a person may be too short, whatever its type says.
  if (!first || !second) {
    throw new CantAnswer(
      { code: "asked-count", what: "metric", least: 2, given: first ? 1 : 0 },
      `Two metrics are asked against each other, was given ${first ? `only ${first}` : "none"}`,
    );
  }
  for (const id of [first, second]) askedMetric(bench, id);
  if (first === second) {
    throw new CantAnswer(
      { code: "asked-twice", what: "metric", id: first },
      `Two metrics are asked against each other, was given ${first} twice`,
    );
  }
  for (const id of [first, second]) {
    const about = reliability.metrics.find(({ metric }) => metric === id);
    refuseUnfit(askedMetric(bench, id), about, "nothing is set against it");
  }
  const asked = askedShoes(bench, ids);
  const places = new Map(asked.map(({ shoe_id }, place) => [shoe_id, place]));
  const [x, y] = [first, second].map((metric) =>
    catalogueStanding(bench, { metric, reliability, confidence })
  );
  const shoes = x.shoes.flatMap((own): PairedShoe[] => {
    const other = y.shoes.find((shoe) => shoe.shoe_id === own.shoe_id);
    const asking = places.has(own.shoe_id);
    return other === undefined || (isInstrument(bench, own.shoe_id) && !asking) ? [] : [{
      shoe_id: own.shoe_id,
      name: own.name,
      x: own.value,
      x_lower: own.lower,
      x_upper: own.upper,
      y: other.value,
      y_lower: other.lower,
      y_upper: other.upper,
      asked: places.has(own.shoe_id),
      asked_place: places.get(own.shoe_id) ?? null,
    }];
  }).toSorted((a, b) => a.shoe_id < b.shoe_id ? -1 : 1);
  if (shoes.length === 0) {
    throw new CantAnswer(
      { code: "not-measured", shoes: [], metrics: [first, second] },
      `No shoe has both ${first} and ${second}`,
    );
  }
  for (const { shoe_id, name } of asked) {
    if (!shoes.some((shoe) => shoe.shoe_id === shoe_id)) {
      throw new CantAnswer(
        { code: "not-measured", shoes: [shoe_id], metrics: [first, second] },
        `${name} lacks a trial on ${first} or on ${second}`,
      );
    }
  }
  const counted = shoes.filter(({ shoe_id }) => !isInstrument(bench, shoe_id));
  const { estimate, estimate_reason, lower, upper, confidence: level, method, n, warnings } =
    spearman(counted.map((shoe) => shoe.x), counted.map((shoe) => shoe.y), { seed, confidence });
  const rho: Estimate = {
    estimate,
    estimate_reason,
    lower,
    upper,
    confidence: level,
    method,
    n,
    warnings,
  };
  const derived = derivedMetrics(bench.metrics.filter(({ id }) => id === first || id === second));
  return {
    question: "pair",
    x: x.on,
    y: y.on,
    confidence: x.confidence,
    shoes,
    spearman: rho,
    ...withoutLikeness(bench, counted, seed),
    trials: x.trials + y.trials,
    last_trial: [x.last_trial, y.last_trial].filter((date) => date !== null).sort().at(-1) ?? null,
    same_evidence: derived.size > 0,
    warnings: [...warnings],
  };
}

/** How often chance gives so strong a relation to shoes that are kin as these are. */
function withoutLikeness(
  bench: Bench,
  shoes: readonly PairedShoe[],
  seed: number,
): Pick<MetricPair, "p" | "lines" | "makers"> {
  const own = new Map(shoes.map((shoe) => [shoe.shoe_id, shoe]));
  const rows = bench.shoes.filter(({ shoe_id }) => own.has(shoe_id));
  const kin = shoeKin(rows, rows.map(() => true));
  const [x, y] = (["x", "y"] as const).map((axis) =>
    withoutKin(withinCourts(rows.map(({ shoe_id }) => own.get(shoe_id)![axis]), kin), kin).values
  );
  const [[cell]] = gridPermutation([x], [y], { lost: kin.courts - 1, seed });
  return { p: cell.p, lines: new Set(kin.lines).size, makers: new Set(kin.makers).size };
}
