import { mean, sampleStandardDeviation } from "simple-statistics";
import type { IndexScores } from "./index_scores.ts";
import type { Reason } from "../../statistics/reason.ts";

/** Where one shoe stood and stands, among the shoes that both tables score. */
export type RankMove = {
  readonly shoe_id: string;
  readonly name: string;
  readonly old_score: number;
  readonly new_score: number;
  readonly old_rank: number;
  readonly new_rank: number;
  /** Places up; below 0 it fell. */
  readonly places: number;
  readonly old_band: number | null;
  readonly new_band: number | null;
  /** Shoes that surely stood on its other side before, and surely do on this one now; 0 where noise is unknown. */
  readonly flips: number;
};

/** How two tables of the same shoes differ in order. */
export type RankMoves = {
  readonly compared: number;
  /** Shoes that move more than three places. */
  readonly more_than_three: number;
  /** Of the shoes compared. */
  readonly share: number | null;
  readonly share_reason: Reason | null;
  readonly largest: number;
  /** False where no shoe has limits of its rank in both tables: then no change of order can be told from noise. */
  readonly noise_known: boolean;
  /** In the old order. */
  readonly shoes: readonly RankMove[];
};

/**
 * How far does each shoe move from one table to another?
 *
 * Only shoes that both tables score take part, and ranks are counted among them: a shoe that drops
 * out of the table moves nobody.
 */
export function rankMoves(
  old: Pick<IndexScores, "shoes">,
  updated: Pick<IndexScores, "shoes">,
): RankMoves {
  const now = new Map(updated.shoes.map((shoe) => [shoe.shoe_id, shoe]));
  const both = old.shoes.flatMap((before) => {
    const after = now.get(before.shoe_id);
    return before.reference || before.score === null || after === undefined || after.score === null
      ? []
      : [{ before, after, old_score: before.score, new_score: after.score }];
  });
  const rank = (score: number, all: readonly number[]) =>
    1 + all.filter((other) => other > score + 1e-12).length;
  const oldScores = both.map(({ old_score }) => old_score);
  const newScores = both.map(({ new_score }) => new_score);
  const flips = both.map((one) => both.filter((other) => isFlip(one, other)).length);
  const shoes = both.map(({ before, after, old_score, new_score }, index): RankMove => {
    const [old_rank, new_rank] = [rank(old_score, oldScores), rank(new_score, newScores)];
    return {
      shoe_id: before.shoe_id,
      name: before.name,
      old_score,
      new_score,
      old_rank,
      new_rank,
      places: old_rank - new_rank,
      old_band: before.band,
      new_band: after.band,
      flips: flips[index],
    };
  });
  const far = shoes.filter(({ places }) => Math.abs(places) > 3).length;
  return {
    compared: shoes.length,
    more_than_three: far,
    share: shoes.length === 0 ? null : far / shoes.length,
    share_reason: shoes.length === 0 ? { code: "none-scored-twice" } : null,
    noise_known: both.some(({ before, after }) =>
      before.rank_lower !== null && after.rank_lower !== null
    ),
    largest: Math.max(0, ...shoes.map(({ places }) => Math.abs(places))),
    shoes,
  };
}

type Placed = Pick<IndexScores["shoes"][number], "rank_lower" | "rank_upper">;
type BothTables = { readonly before: Placed; readonly after: Placed };

/** Is the order of two shoes another, with the limits of their ranks apart in both tables? */
function isFlip(one: BothTables, other: BothTables): boolean {
  const [old, updated] = (["before", "after"] as const).map((table) =>
    side(one[table], other[table])
  );
  return old * updated < 0;
}

/** −1 where the first surely stands higher, 1 where it surely stands lower, else 0. */
function side(one: Placed, other: Placed): number {
  if (
    one.rank_lower === null || one.rank_upper === null || other.rank_lower === null ||
    other.rank_upper === null
  ) return 0;
  return one.rank_upper < other.rank_lower ? -1 : one.rank_lower > other.rank_upper ? 1 : 0;
}

/** The line that puts new scores on the old scale: old ≈ intercept + slope × new. */
export type ScoreLink = {
  readonly slope: number | null;
  readonly intercept: number | null;
  readonly link_reason: Reason | null;
  readonly shoes: number;
};

/**
 * Which line keeps the mean and the spread of the published scale?
 *
 * Not a regression, which would shrink the spread: the line that makes mean and standard deviation of
 * the new scores those of the old ones, over the shoes that have both.
 *
 * @see Kolen & Brennan 2014, Test Equating, Scaling, and Linking, section 2.2 (linear equating; from
 * memory)
 */
export function scoreLink(
  { shoes }: { readonly shoes: readonly Pick<RankMove, "old_score" | "new_score">[] },
): ScoreLink {
  const none = (link_reason: Reason) => ({
    slope: null,
    intercept: null,
    link_reason,
    shoes: shoes.length,
  });
  if (shoes.length < 2) {
    return none({ code: "too-few", of: "pairs", needed: 2, found: shoes.length });
  }
  const old = shoes.map(({ old_score }) => old_score);
  const updated = shoes.map(({ new_score }) => new_score);
  const spread = sampleStandardDeviation(updated);
  if (!(spread > 1e-12)) return none({ code: "scores-alike" });
  const slope = sampleStandardDeviation(old) / spread;
  return {
    slope,
    intercept: mean(old) - slope * mean(updated),
    link_reason: null,
    shoes: shoes.length,
  };
}
