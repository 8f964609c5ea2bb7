import assert from "node:assert/strict";
import { budgetChart } from "../../../lib/charts/budget_chart.ts";
import { guardBand } from "../../../lib/statistics/conformance.ts";
import { loadBench } from "../../../lib/records/load_bench.ts";
import type { Bench, Calibration } from "../../../lib/records/types.ts";
import { rigCalibrations } from "../../../lib/studies/budget/rig_calibrations.ts";
import { uncertaintyBudget } from "../../../lib/studies/budget/uncertainty_budget.ts";
import { trialReliability } from "../../../lib/studies/repeatability/trial_reliability.ts";
import {
  budgetOverviewRows,
  budgetRows,
  budgetSentence,
  calibrationSentences,
  struckFinding,
  struckSentence,
} from "../../../lib/words/budget/budget_words.ts";
import { assertClose } from "../../assert_close.ts";
import { driftingBench, ownNormals } from "../drift/drifting_bench.ts";
import { lostValues, smallBench } from "../small_bench.ts";

const demo = await loadBench(new URL("../../../data-demo", import.meta.url).pathname);
const check = (rig: string, reference_value: number, reading: number, u = 0.05): Calibration => ({
  date: "2026-01-01",
  rig,
  metric_id: "height",
  reference_value,
  reading,
  reference_uncertainty: u,
  note: null,
  line: 2,
});

/** Two rigs, of which nothing drifts; what the metric and the folder say of uncertainty may be given. */
function bench(about: Parameters<typeof smallBench>[1], calibrations: Calibration[] = []): Bench {
  const { visits } = driftingBench(3, {});
  return { ...smallBench(visits, { references: ["ref-1", "ref-2"], ...about }), calibrations };
}
const budgetOf = (of: Bench) =>
  uncertaintyBudget(of, "height", {
    reliability: trialReliability(of, { seed: 1, resamples: 100 }),
  });

Deno.test("the parts of a budget square to its sums, and what all shoes share is in the one for quoting only", () => {
  const budget = budgetOf(
    bench({ about: { resolution: 0.5, reference_uncertainty: 0.2 } }, [
      check("a", 50, 50.4),
      check("a", 60, 60.5),
    ]),
  );
  assert.deepEqual(lostValues(budget), []);
  const square = (some: typeof budget.parts) =>
    some.reduce((sum, { standard }) => sum + standard ** 2, 0);
  const own = budget.parts.filter(({ shared }) => !shared);
  assertClose(budget.comparing!.standard ** 2, square(own), { within: 1e-12 });
  assertClose(budget.quoting!.standard ** 2, square(budget.parts), { within: 1e-12 });
  assertClose(budget.difference!.standard, Math.SQRT2 * budget.comparing!.standard, {
    within: 1e-12,
  });
  assert.deepEqual(
    budget.parts.filter(({ shared }) => shared).map(({ source }) => source),
    ["calibration", "reference"],
  );
  const step = budget.parts.find(({ source }) => source === "resolution")!;
  assertClose(step.standard, 0.5 / Math.sqrt(12), { within: 1e-12 });
});

Deno.test("type A of the budget is near the noise the bench was drawn with: 0.3 a visit, 0.5/√3 a mean of three trials", () => {
  const { parts } = budgetOf(bench({}));
  const of = (source: string) => parts.find((part) => part.source === source)!.standard;
  assertClose(of("visits"), 0.3, { within: 0.12 });
  assertClose(of("trials"), 0.5 / Math.sqrt(3), { within: 0.04 });
});

Deno.test("what four operators read apart is known with three degrees of freedom, what twelve sessions do with eleven", () => {
  const normal = ownNormals(9);
  const sessions = Array.from({ length: 12 }, (_, d) => ({ operator: d % 4, moved: normal() }));
  const operators = [2, -1.5, 0.5, -1];
  const visits = sessions.flatMap(({ operator, moved }, d) =>
    [45, 50, 52, 55, 60].map((level, s) => ({
      shoe: `s${s}`,
      session: `d${d}`,
      operator: `o${operator}`,
      values: [0, 1, 2].map(() => level + operators[operator] + moved + 0.3 * normal()),
    }))
  );
  const { parts } = budgetOf(smallBench(visits, { references: ["s0", "s1"] }));
  const freedom = (name: string) => parts.find(({ source }) => source === name)?.freedom;
  assert.equal(freedom("operators"), 3);
  assert.equal(freedom("sessions"), 11);
  // 180 readings in 60 visits of 5 shoes.
  assert.equal(freedom("trials"), 120);
});

Deno.test("an error of 0.4 that nobody corrects is in the budget as a rectangle of that half-width, beside its own uncertainty", () => {
  const budget = budgetOf(bench({}, [check("a", 50, 50.4, 0.1), check("a", 50, 50.4, 0.1)]));
  const part = budget.parts.find(({ source }) => source === "calibration")!;
  assertClose(part.standard, Math.hypot(0.1, 0.4 / Math.sqrt(3)), { within: 1e-9 });
});

Deno.test("rigCalibrations() names a rig out of tolerance only where all of the error's interval is, and a growing error", () => {
  const wide = rigCalibrations([check("a", 50, 52, 3)], 1, 0.95)[0];
  assert.equal(wide.out_of_tolerance, false);
  const far =
    rigCalibrations([check("a", 50, 52), check("a", 50, 52.1), check("a", 50, 51.9)], 1, 0.95)[0];
  assert.equal(far.out_of_tolerance, true);
  assert.equal(far.slope, null);
  const grows = rigCalibrations(
    [10, 20, 30, 40, 50].map((x, i) => check("b", x, x * 1.02 + 0.01 * (i % 2))),
    1,
    0.95,
  )[0];
  assertClose(grows.slope!.estimate, 0.02, { within: 0.001 });
  assert.ok(grows.slope!.lower > 0);
});

Deno.test("the probability that a rig is in tolerance is that of JCGM 106:2012, 7.2: 92% for 1.4 standard uncertainties inside a limit", () => {
  // The standard's Zener diode: −5.47 V with 0.05 V under a limit of −5.40 V (values from memory).
  const [one] = rigCalibrations([check("a", 50, 50.93), check("a", 60, 60.93)], 1, 0.95);
  assertClose(one.standard_uncertainty, 0.05, { within: 1e-9 });
  assertClose(one.tolerance_chance, 0.919, { within: 5e-4 });
  assert.deepEqual([one.within_tolerance, one.out_of_tolerance], [false, false]);
});

Deno.test("a rig is in tolerance inside the guard band of JCGM 106:2012, 8.3.2, out beyond that of 8.3.3, and can't be told between", () => {
  const expanded = 1.959964 * 0.05;
  const inner = guardBand({ low: -1, high: 1 }, expanded).high!;
  const outer = guardBand({ low: -1, high: 1 }, expanded, { factor: -1 }).high!;
  const judged = (error: number) => {
    const [one] = rigCalibrations(
      [check("a", 50, 50 + error), check("a", 60, 60 + error)],
      1,
      0.95,
    );
    return one.within_tolerance ? "in" : one.out_of_tolerance ? "out" : "can't tell";
  };
  assert.deepEqual(
    [inner - 0.001, inner + 0.001, outer - 0.001, outer + 0.001, -inner + 0.001, -outer - 0.001]
      .map(judged),
    ["in", "can't tell", "can't tell", "out", "in", "out"],
  );
});

Deno.test("one check against a value of unknown uncertainty puts no rig out of tolerance, however far off it reads", () => {
  const alone = { ...check("a", 50, 58), reference_uncertainty: null };
  const [one] = rigCalibrations([alone], 1, 0.95);
  assert.deepEqual(
    [one.out_of_tolerance, one.within_tolerance, one.tolerance_chance],
    [null, null, null],
  );
  const [said] = calibrationSentences(budgetOf(bench({}, [alone])));
  assert.match(said, /8\.00 cm high .* can't be told from one check/);
});

Deno.test("the words of a calibration say in tolerance, out of it, or how likely it is in", () => {
  const said = (error: number) =>
    calibrationSentences(
      budgetOf(bench({}, [check("a", 50, 50 + error), check("a", 60, 60 + error)])),
    )[0];
  assert.match(said(0.2), /surely less than the 1\.0 cm that matters to a player/);
  assert.match(
    said(0.98),
    /can't be told \(it is with a probability of 66%\): check it more often/,
  );
  assert.match(said(3), /surely more than the 1\.0 cm that matters to a player: adjust it/);
});

Deno.test("the words of a budget name both figures, the largest part and what nobody wrote down", () => {
  const budget = budgetOf(bench({}, [check("a", 50, 53, 0.1), check("a", 50, 53.1, 0.1)]));
  const sentence = budgetSentence(budget);
  assert.match(sentence, /on this bench, the difference of two shoes/);
  assert.match(sentence, /for quoting to another bench/);
  assert.match(
    sentence,
    /nobody wrote it down: the step of the reading and what all readings share/,
  );
  assert.match(calibrationSentences(budget)[0], /a reads height 3\.05 cm high .* adjust it/);
  assert.equal(budgetRows(budget).length, budget.parts.length + 3);
  assert.ok(budgetChart(budget).outerHTML.includes("rig against known values"));
});

Deno.test("striking every reading that stands out makes the noise look smaller, and the budget says by how much", () => {
  const normal = ownNormals(5);
  const plain = bench({});
  // Heavy tails: one reading in twelve is far off; a tester strikes all of these.
  const spread = plain.trials.map((trial, i) => ({
    ...trial,
    value: trial.value! + (i % 12 === 0 ? 3 * normal() : 0),
  }));
  const struck = spread.map((trial, i) =>
    i % 12 === 0 ? { ...trial, excluded: "stood out" } : trial
  );
  const budget = budgetOf({ ...plain, trials: struck });
  const whole = budgetOf({ ...plain, trials: spread });
  assert.equal(budget.struck.struck, Math.ceil(spread.length / 12));
  assert.deepEqual(budget.struck.by_reason, { "stood out": budget.struck.struck });
  assertClose(budget.struck.with.repeatability_sd, whole.struck.without.repeatability_sd!, {
    within: 1e-9,
  });
  assert.ok(budget.struck.without.repeatability_sd! < 0.7 * budget.struck.with.repeatability_sd!);
  assert.match(struckSentence(budget), /were struck out \(stood out \d+; by rig: a \d+ and b \d+/);
});

Deno.test("from 2% of readings struck on, and from two, the finding names the metric, its share and what striking for being far does to noise", () => {
  const plain = bench({});
  const of = plain.trials.length;
  const finding = (count: number) =>
    struckFinding([budgetOf({
      ...plain,
      trials: plain.trials.map((trial, i) => i < count ? { ...trial, excluded: "far" } : trial),
    })]);
  const few = Math.ceil(0.02 * of) - 1;
  assert.match(finding(few), new RegExp(`^${few} of ${of} readings were struck out: `));
  assert.doesNotMatch(finding(few), / were struck: /);
  const many = Math.ceil(0.04 * of);
  assert.ok(
    finding(many).endsWith(
      ` Of height ${
        (100 * many / of).toFixed(0)
      }% were struck: striking the farthest 2 or 3% for being far makes noise look smaller by a tenth where readings scatter normally, by a fifth where their tails are heavy, so each needs a reason of its own.`,
    ),
    finding(many),
  );
});

Deno.test("a corrected metric of the demo has the correction in its budget, the same metric as read has none", () => {
  const corrected = {
    ...demo,
    settings: { ...demo.settings, corrected_metrics: ["heel-rebound"] },
  };
  const [read, brought] = [demo, corrected].map((of) =>
    uncertaintyBudget(of, "heel-rebound", {
      reliability: trialReliability(of, { seed: 1, resamples: 100, metrics: ["heel-rebound"] }),
    })
  );
  assert.ok(!read.parts.some(({ source }) => source === "correction"));
  assert.ok(brought.parts.find(({ source }) => source === "correction")!.standard > 0);
  assert.ok(brought.comparing!.expanded < 0.7 * read.comparing!.expanded);
});

Deno.test("over the demo each struck reading is counted once, by its reason, rig and operator, and moves are figures of the rows", async () => {
  const folder = new URL("../../../data-demo/", import.meta.url);
  const bench = await loadBench(folder.pathname);
  const reliability = trialReliability(bench, { seed: 1, resamples: 100 });
  const budgets = bench.metrics.map(({ id }) =>
    uncertaintyBudget(bench, id, { reliability, seed: 1 })
  );
  const truth = JSON.parse(await Deno.readTextFile(new URL("truth.json", folder)));
  const said = struckFinding(budgets);
  assert.match(said, new RegExp(`^${truth.trials.excluded} of `));
  const sums = said.split(": ")[1].split(". ")[0].split("; ").map((part) =>
    part.match(/ \d+(?=,| and|$)/g)!.reduce((sum, count) => sum + Number(count), 0)
  );
  assert.deepEqual(sums, Array(3).fill(truth.trials.excluded));
  const rows = budgetOverviewRows(budgets);
  assert.equal(rows.length, bench.metrics.length);
  const moved = rows.filter((row) => row["MDC as published"] !== row["with struck readings"]);
  assert.ok(said.includes(`they would move ${moved.length} MDCs, furthest `), said);
  const [, name, from, to] = /furthest (.*) \(([^→]*) → ([^)]*)\)\.$/.exec(said)!;
  const named = moved.find((row) => String(row.metric).toLowerCase().startsWith(name.slice(0, 8)))!;
  assert.deepEqual([named["MDC as published"], named["with struck readings"]], [from, to]);
});

Deno.test("two checks that read 1 and 3 off put a rig 2 off, with a standard uncertainty of 1", () => {
  const [two] = rigCalibrations([check("a", 50, 51, 0), check("a", 60, 63, 0)], 5, 0.95);
  assertClose(two.standard_uncertainty, 1, { within: 1e-12 });
});
