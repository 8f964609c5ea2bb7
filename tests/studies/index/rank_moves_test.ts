import assert from "node:assert/strict";
import { rankMoves } from "../../../lib/studies/index/rank_moves.ts";

type Table = Parameters<typeof rankMoves>[0];

const table = (scores: Readonly<Record<string, number | null>>, reference = ""): Table => ({
  shoes: Object.entries(scores).map(([shoe_id, score]) => ({
    shoe_id,
    name: shoe_id,
    score,
    band: null,
    reference: shoe_id === reference,
  })) as unknown as Table["shoes"],
});

Deno.test("rankMoves() counts a move of four places as far, and one of three not", () => {
  const old = table({ a: 90, b: 80, c: 70, d: 60, e: 50 });
  const three = rankMoves(old, table({ a: 65, b: 80, c: 70, d: 66, e: 50 }));
  assert.deepEqual(three.shoes.map(({ places }) => places), [-3, 1, 1, 1, 0]);
  assert.deepEqual([three.more_than_three, three.largest, three.share], [0, 3, 0]);
  const four = rankMoves(old, table({ a: 45, b: 80, c: 70, d: 60, e: 50 }));
  assert.deepEqual([four.more_than_three, four.largest, four.share], [1, 4, 0.2]);
});

Deno.test("rankMoves() ranks only shoes that both tables score, and no reference shoe", () => {
  const moves = rankMoves(
    table({ a: 3, b: 2, r: 9, x: null }, "r"),
    table({ a: 1, b: 2, r: 9, x: 8 }),
  );
  assert.equal(moves.compared, 2);
  assert.deepEqual(moves.shoes.map(({ old_rank, new_rank }) => [old_rank, new_rank]), [[1, 2], [
    2,
    1,
  ]]);
  assert.equal(rankMoves(table({}), table({})).share, null);
});
