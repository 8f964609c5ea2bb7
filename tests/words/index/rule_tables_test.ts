import assert from "node:assert/strict";
import { rankMoves, scoreLink } from "../../../lib/studies/index/rank_moves.ts";
import type { ShoeScore } from "../../../lib/studies/index/index_scores.ts";
import { moveRows } from "../../../lib/words/index/rule_tables.ts";
import {
  bonusRows,
  flipRows,
  pileUpRows,
  rebenchRows,
} from "../../../lib/words/proposal/proposal_tables.ts";
import { shoesToSettle } from "../../../lib/studies/index/shoes_to_settle.ts";
import { settleWords } from "../../../lib/words/index/settle_words.ts";
import type { Estimate } from "../../../lib/statistics/estimate.ts";
import { assertClose } from "../../assert_close.ts";
import { sayReason } from "../../../lib/words/reasons.ts";

const table = (scores: Record<string, number | null>) => ({
  shoes: Object.entries(scores).map(([shoe_id, score]) =>
    ({ shoe_id, name: shoe_id.toUpperCase(), score, band: 1 }) as unknown as ShoeScore
  ),
});

Deno.test("rankMoves() counts ranks among the shoes that both tables score", () => {
  const moves = rankMoves(
    table({ gone: 9, a: 5, b: 4, c: 3, d: 2, e: 1 }),
    table({ gone: null, a: 1, b: 4, c: 3, d: 2, e: 5 }),
  );
  assert.equal(moves.compared, 5);
  const place = (id: string) => moves.shoes.find(({ shoe_id }) => shoe_id === id)!;
  assert.deepEqual([place("a").old_rank, place("a").new_rank, place("a").places], [1, 5, -4]);
  assert.deepEqual([moves.more_than_three, moves.share, moves.largest], [2, 0.4, 4]);
  assert.equal(moveRows(moves)[0].moved, "−4");
});

Deno.test("tied shoes share the better rank in both tables", () => {
  const { shoes } = rankMoves(table({ a: 2, b: 2, c: 1 }), table({ a: 1, b: 3, c: 3 }));
  assert.deepEqual(shoes.map(({ old_rank }) => old_rank), [1, 1, 3]);
  assert.deepEqual(shoes.map(({ new_rank }) => new_rank), [3, 1, 1]);
});

Deno.test("scoreLink() undoes a change of scale exactly, and says why there is none", () => {
  const old = { a: 1.2, b: 1.9, c: 2.4 };
  const stretched = { a: 10 + 3 * 1.2, b: 10 + 3 * 1.9, c: 10 + 3 * 2.4 };
  const { slope, intercept } = scoreLink(rankMoves(table(old), table(stretched)));
  assertClose(slope, 1 / 3, { within: 1e-12 });
  assertClose(intercept, -10 / 3, { within: 1e-12 });
  assert.match(
    sayReason(scoreLink(rankMoves(table({ a: 1 }), table({ a: 1 }))).link_reason!),
    /only 1 shoe has both values/,
  );
  const flat = rankMoves(table({ a: 1, b: 2 }), table({ a: 1, b: 1 }));
  assert.match(sayReason(scoreLink(flat).link_reason!), /all alike/);
});

Deno.test("an interval that reaches half as far again as the threshold is away wants 2.25 times the shoes", () => {
  const gain = (estimate: number | null, lower: number | null, upper: number | null): Estimate => ({
    estimate,
    estimate_reason: estimate === null ? { code: "none-scored" } : null,
    lower,
    upper,
    confidence: 0.95,
    method: "made up",
    n: 40,
    warnings: [],
  });
  // Reaches 0.3 down, where the threshold is 0.2 away: (0.3 / 0.2)² as many.
  const up = shoesToSettle(gain(0.22, -0.08, 0.4), 0.02);
  assert.equal(up.shoes, 2.25 * 40 - 40);
  assert.ok(up.from! < up.shoes! && up.shoes! < up.to!);
  assert.match(settleWords(up, "both"), /^About 50 \(\d+ to \d+\) more shoes with both/);
  assert.equal(shoesToSettle(gain(-0.18, -0.36, 0.12), 0.02).shoes, 2.25 * 40 - 40);
  assert.deepEqual(shoesToSettle(gain(0.2, 0.1, 0.3), 0.02).reason, { code: "nothing-open" });
  assert.deepEqual(shoesToSettle({ ...gain(null, null, null), n: 4 }, 0.02), {
    ...{ shoes: null, from: null, to: null },
    reason: { code: "too-few", of: "rows", needed: 6, found: 4 },
  });
});

Deno.test("no number of shoes is named where the middle of the interval holds the threshold or spans tenfold", () => {
  const about = { estimate_reason: null, confidence: 0.95, method: "", n: 40, warnings: [] };
  for (const estimate of [0.02, 0.05]) {
    const vague = { ...about, estimate, lower: estimate - 0.2, upper: estimate + 0.2 };
    assert.deepEqual(shoesToSettle(vague, 0.02).reason, { code: "gain-too-near" });
  }
});

Deno.test("a table with nothing to list has no rows, so that the page can say so in words", () => {
  assert.deepEqual(rebenchRows({ rebench: [] }), []);
  assert.deepEqual(bonusRows({ bonuses: [] }), []);
  assert.deepEqual(pileUpRows({ pile_ups: [] }), []);
  const flips = {
    pairs: 0,
    flipped: 0,
    share: null,
    share_reason: { code: "none-scored-twice" },
    told_apart: 0,
    blurred: 0,
    real: [],
    leader: { old: null, new: null, changes: false, could_be_old: 0, could_be_new: 0 },
  };
  assert.deepEqual(flipRows({ flips }), []);
});
