import assert from "node:assert/strict";
import type { DrawnIndexScores } from "../../../lib/studies/index/index_scores.ts";
import { orderFlips } from "../../../lib/studies/proposal/order_flips.ts";
import { assertClose } from "../../assert_close.ts";

/** A table of these scores, in which two are told apart from a distance on; the first places as given. */
function table(
  scores: Readonly<Record<string, number | null>>,
  { from = 10, first = [] }: { readonly from?: number; readonly first?: readonly string[] } = {},
): DrawnIndexScores {
  const scored = Object.keys(scores).filter((id) => scores[id] !== null);
  const shoes = Object.entries(scores).map(([shoe_id, score]) => ({
    shoe_id,
    name: shoe_id.toUpperCase(),
    score,
    reference: shoe_id === "ref",
    rank_lower: first.includes(shoe_id) ? 1 : 2,
  })).toSorted((a, b) => (b.score ?? -1) - (a.score ?? -1));
  return {
    scores: { shoes },
    scored,
    apart: scored.map((a) => scored.map((b) => scores[a]! - scores[b]! >= from)),
  } as unknown as DrawnIndexScores;
}

Deno.test("of four shoes scored twice six pairs are ordered and three flip, of which two are told apart both times", () => {
  const old = { a: 80, b: 60, c: 55, d: 30, e: 10 };
  const updated = table({ a: 50, b: 70, c: 71, d: 30, e: null }, { first: ["b", "c"] });
  const found = orderFlips(table(old, { first: ["a"] }), updated);
  // In whatever order the shoes are listed.
  const turned = Object.fromEntries(Object.entries(old).toReversed());
  assert.deepEqual(orderFlips(table(turned, { first: ["a"] }), updated), found);
  // a falls behind b (20 and 20 points) and c (25 and 21); c passes b by a point, 5 before: chance.
  assert.deepEqual([found.pairs, found.flipped], [6, 3]);
  assertClose(found.share, 0.5, { within: 1e-12 });
  assert.deepEqual(
    found.real.map((flip) => [
      flip.was_ahead,
      flip.now_ahead,
      flip.now_ahead_name,
      flip.old_difference,
      flip.new_difference,
    ]),
    [["a", "c", "C", 25, 21], ["a", "b", "B", 20, 20]],
  );
  // Told apart before: a from b, c, d; b from d; c from d. None of them is blurred.
  assert.deepEqual([found.told_apart, found.blurred], [5, 0]);
  assert.deepEqual(found.leader, {
    old: "A",
    new: "C",
    changes: true,
    could_be_old: 1,
    could_be_new: 2,
  });
});

Deno.test("a pair told apart before and not now is blurred, turned or not, and turned by a hair is no real flip", () => {
  const old = table({ a: 80, b: 60, c: 40 });
  const near = orderFlips(old, table({ a: 62, b: 60, c: 40 }));
  assert.deepEqual([near.flipped, near.told_apart, near.blurred, near.real], [0, 3, 1, []]);
  const turned = orderFlips(old, table({ a: 60, b: 62, c: 40 }));
  assert.deepEqual([turned.flipped, turned.told_apart, turned.blurred, turned.real], [1, 3, 1, []]);
});

Deno.test("a tie in either table is no order, and without a pair ordered twice there is no share", () => {
  const tied = orderFlips(table({ a: 50, b: 50, c: 20 }), table({ a: 60, b: 40, c: 60 }));
  assert.deepEqual([tied.pairs, tied.flipped, tied.told_apart], [1, 1, 1]);
  const { pairs, share, share_reason } = orderFlips(table({ a: 50 }), table({ a: 60, b: 3 }));
  assert.deepEqual([pairs, share, share_reason], [0, null, { code: "no-order-twice" }]);
});

Deno.test("a reference shoe leads no table, nor could it be first, also where it alone has a score", () => {
  const { leader } = orderFlips(
    table({ a: 40, ref: 90 }, { first: ["ref", "a"] }),
    table({ a: null, ref: 90 }, { first: ["ref"] }),
  );
  assert.deepEqual(leader, {
    old: "A",
    new: null,
    changes: true,
    could_be_old: 1,
    could_be_new: 0,
  });
});
