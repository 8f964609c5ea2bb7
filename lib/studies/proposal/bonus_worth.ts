import { sum } from "simple-statistics";
import type { IndexRule } from "../../records/types.ts";
import type { IndexScores } from "../index/index_scores.ts";
import type { Reason } from "../../statistics/reason.ts";
import { median } from "../../statistics/robust_scale.ts";

/** What one bonus of a rule buys. */
export type BonusWorth = {
  readonly feature: string;
  readonly points: number;
  /** Scored shoes that have it. */
  readonly with: number;
  readonly without: number;
  readonly unchecked: number;
  /** Places that a shoe without it would gain by having it, in the middle of all such shoes. */
  readonly places_gained: number | null;
  readonly places_reason: Reason | null;
  /** Pairs of shoes whose whole bench results differ by less than these points, as a share. */
  readonly share_of_pairs: number | null;
  /** True when that is more than half of them. */
  readonly outruns_bench: boolean;
};

/**
 * How much score does a construction feature buy, beside everything that is benched?
 *
 * A bonus outruns the bench when it is worth more than the difference, over all terms together, between most
 * pairs of shoes: having the feature then counts for more than how the shoe tests. Reference shoes, which have no
 * rank, are out of it.
 */
export function bonusWorth(
  rule: IndexRule,
  { shoes }: Pick<IndexScores, "shoes">,
): BonusWorth[] {
  const scored = shoes.filter(({ score, reference }) => score !== null && !reference);
  const benched = scored.map(({ terms }) => sum(terms.map(({ points }) => points ?? 0)));
  const gaps = benched.flatMap((a, i) => benched.slice(i + 1).map((b) => Math.abs(a - b)));
  return rule.bonuses.map(({ feature, points }): BonusWorth => {
    const has = (shoe: typeof scored[number]) =>
      shoe.bonuses.some((bonus) => bonus.feature === feature);
    const without = scored.filter((shoe) => !has(shoe));
    const ahead = (score: number, self: string) =>
      scored.filter((other) => other.shoe_id !== self && other.score! > score + 1e-12).length;
    const gained = without.map(({ score, shoe_id }) =>
      ahead(score!, shoe_id) - ahead(score! + points, shoe_id)
    );
    const share = gaps.length === 0
      ? null
      : gaps.filter((gap) => gap < Math.abs(points)).length / gaps.length;
    return {
      feature,
      points,
      with: scored.length - without.length,
      without: without.length,
      unchecked: scored.filter(({ unchecked_features }) => unchecked_features.includes(feature))
        .length,
      places_gained: gained.length === 0 ? null : median(gained),
      places_reason: gained.length === 0 ? { code: "all-have-it" } : null,
      share_of_pairs: share,
      outruns_bench: share !== null && share > 0.5,
    };
  });
}
