import assert from "node:assert/strict";
import { trialReliability } from "../../../lib/studies/repeatability/trial_reliability.ts";
import { benchState, noiseAfter, posterior } from "../../../lib/studies/retest/bench_state.ts";
import { assertClose } from "../../assert_close.ts";
import { smallBench } from "../small_bench.ts";

const bench = smallBench([
  { shoe: "a", session: "s1", values: [1, 2] },
  { shoe: "b", session: "s1", values: [3, 4] },
  { shoe: "b", session: "s2", values: [4, 4] },
], { ratings: [["t1", "c", 5]] });
const parts = [["shoe", 100], ["shoe:session", 4], ["operator", 2], ["residual", 8]] as const;
const reliability = {
  metrics: [{
    ...trialReliability(bench, { seed: 1, resamples: 100 }).metrics[0],
    trials_per_visit: 4,
    components: parts.map(([source, variance]) => ({
      source,
      variance,
      share: 0,
      boundary: false,
      lower: null,
      upper: null,
      levels: 3,
    })),
  }],
};

Deno.test("one more visit carries the variances of visit and operator and a quarter of that of four trials", () => {
  const { cells } = benchState(bench, { reliability, today: "2026-06-01" });
  assert.deepEqual(cells.map(({ perVisit }) => perVisit), [8, 8, 8]); // 4 + 2 + 8/4
  assert.deepEqual(cells.map(({ between }) => between), [100, 100, 100]);
  assert.deepEqual(cells.map(({ visits }) => visits), [1, 2, 0]);
  assert.deepEqual(cells.map(({ value }) => value), [1.5, 3.75, null]);
  assert.deepEqual(cells.map(({ rated }) => rated), [false, false, true]);
  assert.equal(cells[2].noise, Infinity);
  assert.ok(cells.every(({ late }) => !late));
});

Deno.test("a metric that came in after the first session is late for shoes without it, and none is planned before it comes", () => {
  const later = {
    ...bench,
    metrics: bench.metrics.map((metric) => ({ ...metric, introduced: "2026-01-02" })),
  };
  const at = (today: string) => benchState(later, { reliability, today }).cells;
  assert.deepEqual(at("2026-06-01").map(({ late }) => late), [false, false, true]);
  assert.equal(at("2026-01-02").length, 3);
  assert.equal(at("2026-01-01").length, 0);
  const retired = {
    ...bench,
    metrics: bench.metrics.map((metric) => ({ ...metric, retired: "2026-05-01" })),
  };
  assert.equal(benchState(retired, { reliability, today: "2026-05-01" }).cells.length, 0);
  assert.equal(benchState(retired, { reliability, today: "2026-04-30" }).cells.length, 3);
});

Deno.test("what is left unknown of a value, by hand: 100 before a visit, 100·25/125 = 20 after one with noise 25", () => {
  assert.equal(posterior(100, Infinity), 100);
  assertClose(posterior(100, 25), 20, { within: 1e-12 });
  assert.equal(posterior(0, 0), 0);
  // Two visits of 8 each leave 4 on their mean; a third makes it (4·4 + 8) / 9 = 8/3.
  const [cell] = benchState(bench, { reliability, today: "2026-06-01" }).cells;
  assertClose(noiseAfter({ ...cell, visits: 2, noise: 4 }), 8 / 3, { within: 1e-12 });
  assert.equal(noiseAfter({ ...cell, visits: 0, noise: Infinity }), 8);
});
