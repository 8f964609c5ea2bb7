import { shoeName } from "../shoes/shoe_name.ts";
import { sum } from "simple-statistics";
import * as option from "../../options.ts";
import type { Bench } from "../../records/types.ts";
import type { AnswerParts } from "./answer_parts.ts";
import { askedShoes } from "../shoes/asked_shoes.ts";
import { CantAnswer } from "../../records/cant_answer.ts";
import type { ComparedOn } from "./compared_on.ts";
import type { ComparisonRemark } from "./comparison_remarks.ts";
import type { Comparison } from "./settle_pairs.ts";
import { shoeValues } from "../shoes/shoe_values.ts";
import { shoeComparison } from "./shoe_comparison.ts";
import type { TrialReliability } from "../repeatability/trial_reliability.ts";
import type { Estimate } from "../../statistics/estimate.ts";

/** One edition of a model. */
export type Edition = {
  readonly shoe_id: string;
  readonly name: string;
  readonly edition: string | null;
  readonly released: string | null;
  readonly size: number | null;
  readonly value: Estimate;
  readonly trials: number;
  /** Against the edition before; null for the first. */
  readonly change: Comparison | null;
};

/** One model's editions over time. */
export type EditionHistory = AnswerParts & {
  readonly question: "editions";
  readonly model: string;
  readonly on: ComparedOn;
  readonly confidence: number;
  readonly adjustment: string;
  /** Comparisons whose intervals hold together. */
  readonly family: number;
  /** Oldest first. */
  readonly editions: readonly Edition[];
  /** What to know beside the numbers. */
  readonly remarks: readonly ComparisonRemark[];
};

/**
 * How has a model changed from edition to edition on one metric?
 *
 * The editions are compared as in `shoeComparison`, every pair of them, so that a look back over all of
 * them does not turn noise into a trend.
 *
 * @param options `shoe` any edition of the model; `metric` its id
 * @throws {RangeError} if the shoe or metric is unknown, fewer than two editions have the metric, or
 * more than six do
 */
export function editionHistory(
  bench: Bench,
  { shoe: id, metric, reliability, confidence = bench.settings.confidence }: {
    readonly shoe: string;
    readonly metric: string;
    readonly reliability: Pick<TrialReliability, "metrics">;
    readonly confidence?: number;
  },
): EditionHistory {
  option.check("studies.editionHistory", arguments[1], {
    shoe: option.needed(option.text),
    metric: option.needed(option.text),
    reliability: option.needed(option.thing),
    confidence: option.share,
  });
  const [{ shoe }] = askedShoes(bench, [id]);
  const model = shoeName({ ...shoe, edition: null });
  // With a value: readings of played pairs make none, nor do bounds alone.
  const benched = new Set(shoeValues(bench, metric, null).map(({ shoe_id }) => shoe_id));
  const all = bench.shoes.filter((other) =>
    other.maker === shoe.maker && other.model === shoe.model
  )
    .toSorted((a, b) =>
      order(a.released ?? "9", b.released ?? "9") ||
      (a.edition ?? "").localeCompare(b.edition ?? "", "en", { numeric: true }) ||
      order(a.shoe_id, b.shoe_id)
    );
  const own = all.filter((other) => benched.has(other.shoe_id));
  if (own.length < 2) {
    throw new CantAnswer(
      { code: "asked-count", what: "edition", least: 2, given: own.length },
      `${model} has ${
        all.length === 1
          ? "one edition"
          : `${all.length} editions, ${own.length} of them with ${metric}`
      }; a history takes two`,
    );
  }
  const compared = shoeComparison(bench, {
    shoes: own.map((other) => other.shoe_id),
    metrics: [metric],
    reliability,
    confidence,
  });
  const [on] = compared.compared_on;
  const editions = own.map((edition, index): Edition => {
    const value = compared.values.find((row) => row.shoe_id === edition.shoe_id)!;
    const change = index === 0
      ? null
      : compared.comparisons.find((pair) =>
        pair.a === own[index - 1].shoe_id && pair.b === edition.shoe_id
      )!;
    return {
      shoe_id: edition.shoe_id,
      name: compared.shoes[index].name,
      edition: edition.edition,
      released: edition.released,
      size: edition.size,
      value: value.value,
      trials: value.readings,
      change,
    };
  });
  return {
    question: "editions",
    model,
    on,
    confidence,
    adjustment: compared.adjustment,
    family: compared.family,
    editions,
    trials: sum(editions.map((edition) => edition.trials)),
    last_trial: compared.last_trial,
    remarks: compared.remarks,
    warnings: compared.warnings,
  };
}

function order(a: string, b: string): number {
  return a < b ? -1 : a > b ? 1 : 0;
}
