import assert from "node:assert/strict";
import { lastDay } from "../../../lib/studies/index/rule_values.ts";
import { smallBench } from "../small_bench.ts";

Deno.test("the last day is the latest of sessions and impressions in whatever order, and none of an empty bench", () => {
  const visits = ["2026-03-02", "2026-01-05", "2026-02-01"].map((date, i) => ({
    shoe: "alder",
    session: `s${i}`,
    values: [1],
    date,
  }));
  assert.equal(lastDay(smallBench(visits)), "2026-03-02");
  assert.equal(
    lastDay(smallBench(visits.slice(1), { ratings: [["t1", "alder", 5]] })),
    "2026-02-01",
  );
  assert.equal(
    lastDay(smallBench(visits.slice(1, 2), { ratings: [["t1", "alder", 5]] })),
    "2026-02-01",
  );
  assert.equal(lastDay(smallBench([])), null);
});
