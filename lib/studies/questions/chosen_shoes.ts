import type { Bench } from "../../records/types.ts";
import { shortlist } from "../comparison/shortlist.ts";
import {
  type AskedCondition,
  onlyCurrency,
  type ShortlistCondition,
} from "../comparison/shortlist_conditions.ts";
import type { TrialReliability } from "../repeatability/trial_reliability.ts";

/** Of which shoes a question is asked. */
export type ChosenShoes = {
  readonly conditions: readonly AskedCondition[];
  /** Most that a shoe may cost; null for any price. */
  readonly price_below: number | null;
  readonly currency: string | null;
  /** Whether a shoe surely meets all that is asked; null where that can't be told. */
  readonly meets: (shoe: string) => boolean | null;
};

/**
 * Which shoes surely meet the conditions and the price that a question is asked of?
 *
 * @throws {CantAnswer} on a condition that the bench doesn't know, or where prices are missing or in two currencies
 */
export function chosenShoes(
  bench: Bench,
  { conditions, price_below, reliability, seed }: {
    readonly conditions: readonly ShortlistCondition[];
    readonly price_below: number | null;
    readonly reliability: Pick<TrialReliability, "metrics">;
    readonly seed: number;
  },
): ChosenShoes {
  const list = conditions.length === 0 ? null : shortlist(bench, { conditions, reliability, seed });
  const currency = price_below === null ? null : onlyCurrency(bench);
  const words = new Map(list?.shoes.map(({ shoe_id, word }) => [shoe_id, word]));
  const prices = new Map(bench.shoes.map(({ shoe_id, price }) => [shoe_id, price]));
  return {
    conditions: list?.asked ?? [],
    price_below,
    currency,
    meets: (shoe) => {
      const word = list === null ? "on the list" : words.get(shoe) ?? "on the list";
      const price = prices.get(shoe) ?? null;
      if (word === "off the list") return false;
      if (price_below !== null && price !== null && price > price_below) return false;
      return word === "on the list" && (price_below === null || price !== null) ? true : null;
    },
  };
}
