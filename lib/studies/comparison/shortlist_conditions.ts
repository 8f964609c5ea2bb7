import { CantAnswer } from "../../records/cant_answer.ts";
import type { Bench, Surface } from "../../records/types.ts";
import { betterDirection } from "../../statistics/percentile.ts";
import { askedMetric } from "../shoes/asked_shoes.ts";
import { offerNames } from "../../records/near_names.ts";
import { comparedMetric, type ComparedOn } from "./compared_on.ts";

/** What a shoe must be to come on the list. */
export type ShortlistCondition =
  /** Within the best share of the catalogue, such as 1/3; needs a metric of which more, or less, is better. */
  | { readonly kind: "best share"; readonly metric: string; readonly share: number }
  /** In the metric's unit. */
  | { readonly kind: "at most" | "at least"; readonly metric: string; readonly value: number }
  | { readonly kind: "width"; readonly width: string }
  | { readonly kind: "surface"; readonly surface: string }
  | { readonly kind: "feature"; readonly feature: string }
  /** In the bench's one currency. */
  | { readonly kind: "price"; readonly most: number };

/** A condition, with what its metric is where it has one. */
export type AskedCondition = ShortlistCondition & {
  readonly on: ComparedOn | null;
  /** Of a price; null in every other condition. */
  readonly currency?: string | null;
};

/**
 * Which conditions are asked?
 *
 * @throws {RangeError} if a metric, width, surface or feature is unknown, a share or limit is no such thing,
 * or a metric of which more is neither good nor bad is asked for its best share
 */
export function askedConditions(
  bench: Bench,
  conditions: readonly ShortlistCondition[],
): AskedCondition[] {
  if (conditions.length === 0) throw new RangeError("A shortlist takes one condition or more");
  return conditions.map((condition) => {
    checkCondition(bench, condition);
    const on = "metric" in condition ? comparedMetric(askedMetric(bench, condition.metric)) : null;
    return condition.kind === "price"
      ? { ...condition, on, currency: onlyCurrency(bench) }
      : { ...condition, on };
  });
}

function checkCondition(bench: Bench, condition: ShortlistCondition): void {
  const known = (what: string, given: string, there: readonly string[]) => {
    if (!there.includes(given)) {
      throw new CantAnswer(
        { code: "not-on-bench", what, id: given },
        there.length === 0
          ? `No shoe has a ${what} in the records, so none can have ${given}`
          : `There is no ${what} "${given}". ${offerNames(given, there)}`,
      );
    }
  };
  switch (condition.kind) {
    case "width":
      return known(
        "width",
        condition.width,
        [
          ...new Set(bench.shoes.flatMap(({ width }) => width ?? [])),
        ].sort(),
      );
    case "surface": {
      const all: readonly Surface[] = ["all-court", "hard", "clay", "grass", "indoor"];
      return known("surface", condition.surface, all);
    }
    case "feature":
      return known(
        "feature",
        condition.feature,
        [
          ...new Set(bench.features.map(({ feature_id }) => feature_id)),
        ].sort(),
      );
    case "best share": {
      const { better, id } = askedMetric(bench, condition.metric);
      if (!(condition.share > 0 && condition.share < 1)) {
        throw new RangeError(
          `A share lies between 0 and 1, was given ${condition.share} for ${id}`,
        );
      }
      if (betterDirection(better) === 0) {
        throw new CantAnswer(
          { code: "no-better", metric: id },
          `More ${id} is neither good nor bad, so it has no best share: ask for at most or at least`,
        );
      }
      return;
    }
    case "price":
      if (condition.most > 0) return;
      throw new RangeError(`A price is above 0, was given ${condition.most}`);
    default:
      askedMetric(bench, condition.metric);
      if (!Number.isFinite(condition.value)) {
        throw new RangeError(
          `A limit is a number in the metric's unit, was given ${condition.value} for ${condition.metric}`,
        );
      }
  }
}

/** Prices in two currencies can't be held against one limit. */
export function onlyCurrency(bench: Pick<Bench, "shoes">): string | null {
  const priced = bench.shoes.filter(({ price }) => price !== null);
  const currencies = [...new Set(priced.map(({ currency }) => currency))];
  if (priced.length === 0) {
    throw new CantAnswer({ code: "no-prices" }, "No shoe has a price");
  }
  if (currencies.length > 1) {
    throw new CantAnswer(
      { code: "several-currencies", currencies: currencies.map((one) => one ?? "none") },
      `Prices are in ${
        currencies.map((one) => one ?? "no currency").join(", ")
      }, so one limit can't be held against them`,
    );
  }
  return currencies[0];
}
