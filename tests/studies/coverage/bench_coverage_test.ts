import assert from "node:assert/strict";
import { loadBench } from "../../../lib/records/load_bench.ts";
import { benchUntil, quarterEnd } from "../../../lib/records/quarters.ts";
import { benchCoverage } from "../../../lib/studies/coverage/bench_coverage.ts";

const bench = await loadBench(new URL("../../../data-demo", import.meta.url).pathname);
const coverage = benchCoverage(bench, { quarter: "2026Q3" });
const cell = (shoe: string, metric: string) =>
  coverage.cells.find((row) => row.shoe_id === shoe && row.metric === metric)!;

Deno.test("benchCoverage() has one cell a shoe and metric, and its trials add up to the file's", () => {
  assert.equal(coverage.cells.length, bench.shoes.length * bench.metrics.length);
  const sum = (key: "trials" | "excluded" | "lost") =>
    coverage.cells.reduce((total, row) => total + row[key], 0);
  assert.equal(sum("trials") + sum("excluded") + sum("lost"), bench.trials.length);
  assert.equal(sum("trials"), coverage.totals.trials);
});

Deno.test("a shoe last benched before a metric existed is told apart from one that missed it", () => {
  const states = new Set(
    coverage.cells.filter((row) => row.metric === "forefoot-bending-stiffness")
      .map((row) => row.state),
  );
  assert.ok(states.has("before the metric") && !states.has("missing"), [...states].join());
  assert.ok(
    coverage.cells.some((row) => row.metric === "smoke-clearing" && row.state === "missing"),
  );
});

Deno.test("a reference shoe was benched this quarter and has a visit in every session", () => {
  const [reference] = bench.settings.reference_shoes;
  assert.equal(cell(reference, "mass").state, "this quarter");
  assert.equal(cell(reference, "mass").visits, bench.sessions.length);
  assert.equal(coverage.shoes.find((row) => row.shoe_id === reference)?.reference, true);
});

Deno.test("an excluded trial is counted as excluded, not as missing, and never as a value", () => {
  const excluded = bench.trials.find((trial) => trial.excluded !== null)!;
  assert.ok(cell(excluded.shoe_id, excluded.metric_id).excluded >= 1);
});

Deno.test("what a quarter adds does not depend on what came after it", () => {
  const then = benchCoverage(bench, { quarter: "2025Q4" });
  const cut = benchCoverage(benchUntil(bench, quarterEnd("2025Q4")), { quarter: "2025Q4" });
  assert.deepEqual(then.totals, cut.totals);
  assert.ok(then.totals.trials < coverage.totals.trials);
});

Deno.test("benchCoverage() refuses a quarter that is none", () => {
  assert.throws(() => benchCoverage(bench, { quarter: "2026Q5" }), RangeError);
});
