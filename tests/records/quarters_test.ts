import assert from "node:assert/strict";
import { loadBench } from "../../lib/records/load_bench.ts";
import {
  benchUntil,
  lastQuarterWithData,
  previousQuarter,
  quarterEnd,
  quarterOf,
  quarterStart,
} from "../../lib/records/quarters.ts";
import { keptTrials, ruleInForce, visitsOf } from "../../lib/records/selection.ts";
import { readBench } from "../../lib/records/read_bench.ts";
import { benchFolder, small } from "./bench_folder.ts";

const demoDir = new URL("../../data-demo", import.meta.url).pathname;

Deno.test("quarterOf(), quarterStart() and quarterEnd() agree on every month of a year", () => {
  for (let month = 1; month <= 12; month++) {
    const date = `2024-${String(month).padStart(2, "0")}-15`;
    const quarter = quarterOf(date);
    assert.equal(quarter, `2024Q${Math.ceil(month / 3)}`);
    assert.ok(quarterStart(quarter) <= date && date <= quarterEnd(quarter));
    assert.equal(quarterOf(quarterStart(quarter)), quarter);
    assert.equal(quarterOf(quarterEnd(quarter)), quarter);
  }
  assert.equal(previousQuarter("2026Q1"), "2025Q4");
  assert.equal(previousQuarter("2026Q3"), "2026Q2");
  assert.throws(() => quarterOf("2026-02-30"), RangeError);
  assert.throws(() => quarterEnd("2026Q5"), /"2026Q5".*2026Q3/);
});

Deno.test("benchUntil() cuts every dated table at the day, which itself still counts", async () => {
  const rule = small["rules/index-1.json"];
  await using folder = await benchFolder({
    "rules/index-2.json": { ...rule, version: "2", effective: "2026-02-11" },
    "features.csv":
      "shoe_id,feature_id,present,checked_on\nalder,wide-toe-box,yes,\nbirch,wide-toe-box,no,2026-02-11\n",
    "metrics.json": [...small["metrics.json"], {
      ...small["metrics.json"][0],
      id: "late",
      introduced: "2026-02-11",
    }],
  });
  const bench = await loadBench(folder.dir);
  const sizes = (date: string) => {
    const { sessions, trials, impressions, rules, proposals, features, metrics, shoes } =
      benchUntil(bench, date);
    return [sessions, trials, impressions, rules, proposals, features, metrics, shoes].map((rows) =>
      rows.length
    );
  };
  assert.deepEqual(sizes("2026-02-11"), [2, 6, 2, 2, 1, 2, 4, 2]);
  assert.deepEqual(sizes("2026-02-10"), [2, 6, 2, 1, 1, 1, 3, 2]);
  assert.deepEqual(sizes("2026-02-09"), [1, 4, 2, 1, 1, 1, 3, 2]);
  assert.deepEqual(sizes("2026-01-19"), [1, 4, 0, 1, 0, 1, 3, 2]);
  assert.equal(lastQuarterWithData(bench), "2026Q1");
  assert.equal(lastQuarterWithData({ ...bench, trials: [], impressions: [] }), null);
});

Deno.test("a session dated 9999 is a warning with its line and makes no review of that year", async () => {
  const sessions = small["sessions.csv"].replace("2026-02-10", "9999-02-10");
  await using folder = await benchFolder({ "sessions.csv": sessions });
  const { bench, problems } = await readBench(folder.dir, { today: "2026-03-01" });
  const odd = problems.filter(({ expected }) => expected.includes("up to today"));
  assert.deepEqual(
    odd.map(({ file, line, found, severity }) => [file, line, found, severity]),
    [["sessions.csv", 3, "9999-02-10", "warning"]],
  );
  assert.equal(lastQuarterWithData(bench!, { today: "2026-03-01" }), "2026Q1");
  assert.equal(lastQuarterWithData(bench!), "9999Q1");
  const all = bench!.sessions.map((session) => ({ ...session, date: "9999-02-10" }));
  const none = { ...bench!, sessions: all, impressions: [] };
  assert.equal(lastQuarterWithData(none, { today: "2026-03-01" }), "9999Q1");
});

Deno.test("benchUntil() leaves out shoes first met later, and warnings about their rows", async () => {
  const demo = await loadBench(demoDir);
  const early = benchUntil(demo, "2026-03-31");
  const met = new Set([...early.trials, ...early.impressions].map(({ shoe_id }) => shoe_id));
  const later = demo.shoes.filter(({ shoe_id }) => !met.has(shoe_id));
  assert.ok(later.length > 0 && early.shoes.length < demo.shoes.length);
  for (const { shoe_id } of early.shoes) assert.ok(met.has(shoe_id), shoe_id);
  const lines = new Set(early.trials.map(({ line }) => line));
  const place = demo.trials.find(({ line }) => !lines.has(line))!.line;
  const odd = { file: "trials.csv", column: "value", found: "", expected: "", fix: "" };
  const warned = [place, early.trials[0].line].map((line) => ({
    ...odd,
    line,
    severity: "warning" as const,
  }));
  assert.deepEqual(
    benchUntil({ ...demo, warnings: warned }, "2026-03-31").warnings.map(({ line }) => line),
    [early.trials[0].line],
  );
});

Deno.test("visitsOf() gives one entry a shoe and session, without lost and excluded trials", async () => {
  await using folder = await benchFolder();
  const bench = await loadBench(folder.dir);
  assert.deepEqual(
    visitsOf(bench, "mass").map((
      { shoe_id, session_id, date, operator, values },
    ) => [shoe_id, session_id, date, operator, values]),
    [["birch", "s1", "2026-01-10", "ann", [311.844754375]], ["birch", "s2", "2026-02-10", "ben", [
      312,
    ]]],
  );
  assert.equal(keptTrials(bench, "heel-rebound-height").length, 2);
});

Deno.test("ruleInForce() is the newest rule whose day has come", async () => {
  const rule = small["rules/index-1.json"];
  await using folder = await benchFolder({
    "rules/a.json": { ...rule, version: "2", effective: "2026-05-01" },
  });
  const bench = await loadBench(folder.dir);
  const version = (date: string) => ruleInForce(bench, date)?.version ?? null;
  assert.deepEqual(["2025-12-31", "2026-01-01", "2026-04-30", "2026-05-01"].map(version), [
    null,
    "1",
    "1",
    "2",
  ]);
});

Deno.test("benchUntil() takes a metric for published before the day on which it was withdrawn", async () => {
  const bench = await loadBench("data-demo");
  const decided = {
    ...bench,
    metrics: bench.metrics.map((metric) =>
      metric.id === "mass" ? { ...metric, withdrawn: "the scale broke" } : metric
    ),
    decisions: [{
      date: "2026-05-02",
      kind: "metric withdrawn" as const,
      about: "mass",
      because: "the scale broke",
      verdict: null,
      code: null,
      content_sha256: null,
      kit: null,
    }],
  };
  const on = (day: string) =>
    benchUntil(decided, day).metrics.find(({ id }) => id === "mass")!.withdrawn ?? null;
  assert.equal(on("2026-05-01"), null);
  assert.equal(on("2026-05-02"), "the scale broke");
});
