import type { DrawnIndexScores } from "../index/index_scores.ts";
import type { Reason } from "../../statistics/reason.ts";

/** Two shoes that change places. */
export type OrderFlip = {
  /** Ahead until now. */
  readonly was_ahead: string;
  readonly was_ahead_name: string;
  readonly now_ahead: string;
  readonly now_ahead_name: string;
  /** Points between them, in each table. */
  readonly old_difference: number;
  readonly new_difference: number;
};

/** Which orders of two shoes a new table turns round. */
export type OrderFlips = {
  /** Pairs that both tables put in an order. */
  readonly pairs: number;
  readonly flipped: number;
  readonly share: number | null;
  readonly share_reason: Reason | null;
  /** Pairs that the table in force can tell apart. */
  readonly told_apart: number;
  /** Of these, no longer told apart. */
  readonly blurred: number;
  /** Told apart in both tables, the other way round: what a viewer would rightly ask about. */
  readonly real: readonly OrderFlip[];
  /** Whether another shoe leads, and who. */
  readonly leader: {
    readonly old: string | null;
    readonly new: string | null;
    readonly changes: boolean;
    /** How many shoes could be first in each table; 0 where noise is unknown. */
    readonly could_be_old: number;
    readonly could_be_new: number;
  };
};

/**
 * Which orderings that viewers have seen turn round, and which of these are more than noise?
 *
 * Any reader sees every flip; only those in which both tables tell the two apart (simultaneously over all
 * pairs) are named as real: elsewhere one order or the other was chance to begin with.
 */
export function orderFlips(old: DrawnIndexScores, updated: DrawnIndexScores): OrderFlips {
  const byId = (table: DrawnIndexScores) => {
    const scores = new Map(table.scores.shoes.map((shoe) => [shoe.shoe_id, shoe]));
    return table.scored.map((id, index) => ({ id, index, shoe: scores.get(id)! }));
  };
  const before = byId(old);
  const now = new Map(byId(updated).map((row) => [row.id, row]));
  const both = before.filter(({ id }) => now.has(id));
  let [pairs, flipped, toldApart, blurred] = [0, 0, 0, 0];
  const real: OrderFlip[] = [];
  both.forEach((a, place) => {
    for (const b of both.slice(place + 1)) {
      const difference = a.shoe.score! - b.shoe.score!;
      const [a2, b2] = [now.get(a.id)!, now.get(b.id)!];
      const later = a2.shoe.score! - b2.shoe.score!;
      const [first, second] = difference > 0 ? [a, b] : [b, a];
      const [first2, second2] = difference > 0 ? [a2, b2] : [b2, a2];
      if (Math.abs(difference) < 1e-12 || Math.abs(later) < 1e-12) continue;
      pairs++;
      const wasApart = old.apart[first.index][second.index];
      const stillApart = updated.apart[first2.index][second2.index];
      const turned = updated.apart[second2.index][first2.index];
      if (wasApart) toldApart++;
      if (wasApart && !stillApart && !turned) blurred++;
      if (difference * later > 0) continue;
      flipped++;
      if (wasApart && turned) {
        real.push({
          was_ahead: first.id,
          was_ahead_name: first.shoe.name,
          now_ahead: second.id,
          now_ahead_name: second.shoe.name,
          old_difference: Math.abs(difference),
          new_difference: Math.abs(later),
        });
      }
    }
  });
  const [oldLeader, newLeader] = [old, updated].map(({ scores }) =>
    scores.shoes.find(({ score, reference }) => score !== null && !reference) ?? null
  );
  return {
    pairs,
    flipped,
    share: pairs === 0 ? null : flipped / pairs,
    share_reason: pairs === 0 ? { code: "no-order-twice" } : null,
    told_apart: toldApart,
    blurred,
    real: real.toSorted((a, b) =>
      Math.min(b.old_difference, b.new_difference) - Math.min(a.old_difference, a.new_difference) ||
      (a.was_ahead + a.now_ahead < b.was_ahead + b.now_ahead ? -1 : 1)
    ),
    leader: {
      old: oldLeader?.name ?? null,
      new: newLeader?.name ?? null,
      changes: oldLeader?.shoe_id !== newLeader?.shoe_id,
      could_be_old: couldBeFirst(old),
      could_be_new: couldBeFirst(updated),
    },
  };
}

function couldBeFirst({ scores }: DrawnIndexScores): number {
  return scores.shoes.filter(({ rank_lower, reference }) => rank_lower === 1 && !reference).length;
}
