import assert from "node:assert/strict";
import type { Visit } from "../../../lib/records/selection.ts";
import { occasion, sameWeeks } from "../../../lib/studies/repeatability/same_weeks.ts";

const visit = (day: number, shoe_id = "alder", pair = 1) =>
  ({
    shoe_id,
    pair,
    session_id: `day-${day}`,
    date: `2026-03-${String(day).padStart(2, "0")}`,
  }) as Visit;
const told = (a: readonly Visit[], b: readonly Visit[], days = 28) =>
  sameWeeks(a, b, days).map((match) => [match.a.session_id, match.b.session_id, match.days]);

Deno.test("sameWeeks() pairs the nearest visits first, each once, whichever comes earlier", () => {
  assert.deepEqual(told([visit(1), visit(11)], [visit(10)]), [["day-11", "day-10", 1]]);
  assert.deepEqual(told([visit(10)], [visit(1), visit(11)]), [["day-10", "day-11", 1]]);
  // 12 and 11 lie nearest; 1 is left with 20.
  assert.deepEqual(told([visit(1), visit(12)], [visit(20), visit(11)]), [
    ["day-1", "day-20", 19],
    ["day-12", "day-11", 1],
  ]);
});

Deno.test("sameWeeks() pairs visits of one pair of one shoe only, as many days apart as allowed and no more", () => {
  assert.deepEqual(told([visit(1)], [visit(2, "birch"), visit(2, "alder", 2)]), []);
  assert.deepEqual(told([visit(1)], [visit(8)], 7), [["day-1", "day-8", 7]]);
  assert.deepEqual(told([visit(1)], [visit(9)], 7), []);
});

Deno.test("an occasion is the two sessions, whatever the shoe", () => {
  const [one, other] = sameWeeks([visit(1), visit(1, "birch")], [
    visit(2),
    visit(2, "birch"),
  ], 28);
  assert.equal(occasion(one), occasion(other));
  assert.notEqual(occasion(one), occasion({ ...one, b: visit(3) }));
});
