import { sum } from "simple-statistics";
import * as option from "../../options.ts";
import type { Bench } from "../../records/types.ts";
import type { AnswerParts } from "./answer_parts.ts";
import { CantAnswer } from "../../records/cant_answer.ts";
import {
  askedAttribute,
  askedMetric,
  type AskedShoe,
  askedShoes,
  label,
} from "../shoes/asked_shoes.ts";
import { benchSide } from "./bench_side.ts";
import type { ComparedOn } from "./compared_on.ts";
import type { BoundedValue, ComparedSide, ComparedValue } from "./compared_side.ts";
import { type ComparisonRemark, comparisonRemarks } from "./comparison_remarks.ts";
import { courtSide } from "./court_side.ts";
import { derivedMetrics } from "../shoes/derived_metrics.ts";
import { type Comparison, settlePairs } from "./settle_pairs.ts";
import type { TrialReliability } from "../repeatability/trial_reliability.ts";

/** Two to six shoes compared. */
export type ShoeComparison = AnswerParts & {
  readonly question: "comparison";
  readonly confidence: number;
  readonly adjustment: string;
  readonly shoes: readonly {
    readonly shoe_id: string;
    readonly name: string;
    /** The name without the maker, where that is enough to tell the shoes apart. */
    readonly label: string;
    readonly size: number | null;
    readonly size_system: string | null;
    readonly width: string | null;
  }[];
  /** What they are compared on, in the order asked: metrics, then impressions. */
  readonly compared_on: readonly ComparedOn[];
  readonly values: readonly ComparedValue[];
  /** Shoes that ran off the end of a metric's scale: a bound in place of a value. */
  readonly bounded: readonly BoundedValue[];
  readonly comparisons: readonly Comparison[];
  /** Comparisons whose intervals hold together. */
  readonly family: number;
  readonly ratings: number;
  /** What to know beside the numbers. */
  readonly remarks: readonly ComparisonRemark[];
};

/** What is asked, and on whose noise it is answered. */
export type ShoeComparisonOptions = {
  /** Two to six ids; the first is the one that the others are set against. */
  readonly shoes: readonly string[];
  /** Metric ids; all that at least two of the shoes have, unless named. */
  readonly metrics?: readonly string[];
  /** Impressions to compare too; none unless named. */
  readonly attributes?: readonly string[];
  readonly reliability: Pick<TrialReliability, "metrics">;
  readonly confidence?: number;
};

/**
 * How do these shoes differ, and is the difference more than noise?
 *
 * On the bench: difference of the shoes' values (means of visits) with a standard error from the
 * metric's variance components, each visit's number of trials, and what sessions and operators the two
 * share (`pairNoise`), on t with Satterthwaite's degrees of freedom. On court: difference of the shoes
 * over all ratings of the panel, leniency taken out (`panelContrasts`).
 *
 * Intervals hold together, over every pair and everything asked: single-step maximum t
 * (`singleStepLevel`), with the metrics and impressions as independent of each other. Words follow the
 * intervals: *differ* when it leaves out 0; *differ by enough to feel* when all of it lies past the
 * metric's smallest difference; *alike* when it lies within plus or minus that; else *can't tell*. What a
 * pair would be told if nothing else had been asked stands beside it.
 *
 * A shoe that ran off the end of the scale (`<1`) is known by that bound, and *differs* from one that lies past it
 * by more than noise; two such can't be told apart, and no difference has a size.
 *
 * A shoe read once is compared with the noise known from other shoes, and a remark says so: nothing
 * could tell its reading from a slip.
 *
 * @param bench cut at a date with `benchUntil` if need be
 * @returns one comparison for each pair and each thing asked, null with a reason where it can't be made
 * @throws {RangeError} if shoes are fewer than two, more than six or unknown (nearest ids offered), a
 * metric or attribute is unknown, or the shoes have nothing in common to compare
 */
export function shoeComparison(
  bench: Bench,
  { shoes: ids, metrics, attributes = [], reliability, confidence = bench.settings.confidence }:
    ShoeComparisonOptions,
): ShoeComparison {
  option.check("studies.shoeComparison", arguments[1], {
    shoes: option.needed(option.listOf(option.text)),
    metrics: option.listOf(option.text),
    attributes: option.listOf(option.text),
    reliability: option.needed(option.thing),
    confidence: option.share,
  });
  if (!(confidence > 0.5 && confidence < 1)) {
    throw new RangeError(`confidence lies between 0.5 and 1, was given ${confidence}`);
  }
  const shoes = askedShoes(bench, ids);
  if (shoes.length < 2 || shoes.length > 6) {
    throw new CantAnswer(
      { code: "asked-count", what: "shoe", least: 2, given: shoes.length },
      `A comparison takes two to six shoes, was given ${
        shoes.length === 0 ? "none" : shoes.length === 1 ? `only ${ids[0]}` : shoes.length
      }`,
    );
  }
  const together = (metrics ?? bench.metrics).length * shoes.length * (shoes.length - 1) / 2;
  const asked = [
    ...wanted(metrics ?? bench.metrics.map(({ id }) => id)).map((id) =>
      benchSide(bench, askedMetric(bench, id), { shoes, reliability, confidence, together })
    ),
    ...wanted(attributes).map((id) =>
      courtSide(bench, askedAttribute(bench, id), { shoes, confidence })
    ),
  ];
  // Where everything is asked, what only one of the shoes has is named in a note and left out.
  const kept = asked.filter(({ on, values, bounded }) =>
    metrics !== undefined || on.metric === null || values.length + bounded.length > 1
  );
  const apart = asked.filter((side) => !kept.includes(side)).map(({ on }) => on.title);
  const derived = derivedMetrics(
    bench.metrics.filter(({ id }) => kept.some(({ on }) => on.metric === id)),
  );
  const sides = kept.map((side): ComparedSide => ({
    ...side,
    on: { ...side.on, same_evidence_as: derived.get(side.on.metric ?? "") ?? null },
  }));
  requireCommon(shoes, sides);

  const { comparisons, family } = settlePairs(sides, { confidence });
  const values = sides.flatMap((side) => side.values);
  const visits = sides.flatMap((side) => side.visits);
  return {
    question: "comparison",
    confidence,
    adjustment: family === 1
      ? "none: one comparison was asked"
      : `single-step maximum t over ${family} comparisons, ${
        Math.round(confidence * 100)
      }% together`,
    shoes: shoes.map(({ shoe_id, name, shoe }) => ({
      shoe_id,
      name,
      label: label(shoes, shoe_id),
      size: shoe.size,
      size_system: shoe.size_system,
      width: shoe.width,
    })),
    compared_on: sides.map(({ on }) => on),
    values,
    bounded: sides.flatMap((side) => side.bounded),
    comparisons,
    family,
    trials: sum(visits.map((visit) => visit.values.length)),
    ratings: sum(values.filter((row) => row.attribute !== null).map((row) => row.readings)),
    last_trial: visits.map((visit) => visit.date).sort().at(-1) ?? null,
    remarks: comparisonRemarks(bench, {
      shoes,
      sides,
      comparisons,
      confidence,
      apart,
      reliability,
    }),
    warnings: [...new Set(sides.flatMap((side) => side.warnings))],
  };
}

function wanted(ids: readonly string[]): string[] {
  return [...new Set(ids)];
}

/** A question that no number can be given to is a wrong call, not a finding. */
function requireCommon(shoes: readonly AskedShoe[], sides: readonly ComparedSide[]): void {
  const pairs = sides.flatMap((side) => side.pairs);
  if (pairs.some(({ p, higher }) => p !== null || higher !== undefined)) return;
  const names = shoes.map(({ name }) => name).join(", ").replace(/, ([^,]*)$/, " and $1");
  const causes = pairs.flatMap((pair) => pair.reason ?? []);
  throw new CantAnswer(
    { code: "not-comparable", shoes: shoes.map(({ shoe_id }) => shoe_id) },
    causes.length === 0
      ? `${names} have no metric in common to be compared on`
      : `${names} can't be compared on what was asked`,
    causes,
  );
}
