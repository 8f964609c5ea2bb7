import assert from "node:assert/strict";
import { loadBench } from "../../../lib/records/load_bench.ts";
import { randomStream } from "../../../lib/statistics/random_stream.ts";
import { referenceDrift } from "../../../lib/studies/drift/reference_drift.ts";
import { weightedRegression } from "../../../lib/statistics/weighted_regression.ts";
import { driftSentence, rigSentence } from "../../../lib/words/drift/drift_sentences.ts";
import { driftRows } from "../../../lib/words/drift/drift_rows.ts";
import { assertClose } from "../../assert_close.ts";
import { lostValues, smallBench, type SmallVisit } from "../small_bench.ts";

const demoPath = new URL("../../../data-demo", import.meta.url).pathname;
const demo = await loadBench(demoPath);
const truth = JSON.parse(await Deno.readTextFile(`${demoPath}/truth.json`));
const drift = referenceDrift(demo);

Deno.test("the planted drift of the demo is found on its rig, in its size, as the bench's and not a shoe's", () => {
  const { metric, rig, slope_per_year } = truth.drift;
  const found = drift.rigs.find((one) => one.metric === metric && one.rig === rig)!;
  assert.equal(found.verdict, "the bench drifts");
  assert.ok(found.slope.lower! < slope_per_year && slope_per_year < found.slope.upper!);
  const claims = drift.rigs.filter(({ verdict }) =>
    verdict !== "no drift" && verdict !== "can't tell"
  );
  assert.deepEqual(claims, [found]);
  assert.match(driftSentence(drift), /falls by 1\.9 cm a year/);
});

Deno.test("the planted shifts between operators are the only ones claimed", () => {
  const steps = drift.steps.filter(({ kind, found }) => kind === "operator" && found);
  for (const step of steps) {
    const shift = truth.metrics[step.metric].operator_shift;
    const planted = shift[step.to] - shift[step.from];
    assert.notEqual(planted, 0, step.metric);
    assert.ok(step.difference.lower! < planted && planted < step.difference.upper!, step.metric);
  }
  assert.ok(steps.some(({ metric }) => metric === "torsional-stiffness"));
});

Deno.test("each chart's limits are its mean and 2.66 mean moving ranges", () => {
  const chart = drift.charts.find(({ metric }) => metric === "mass")!;
  const values = chart.points.map(({ value }) => value);
  const mean = values.reduce((a, b) => a + b) / values.length;
  const ranges = values.slice(1).map((value, i) => Math.abs(value - values[i]));
  const range = ranges.reduce((a, b) => a + b) / ranges.length;
  assertClose(chart.centre, mean, { within: 1e-9 });
  assertClose(chart.upper, mean + 2.66 * range, { within: 1e-9 });
});

/** Reference shoes on a line, with noise of a shoe and of a session. */
function bench(
  slopes: Readonly<Record<string, number>>,
  { sessions = 16, noise = 0.05, missing = [] as string[], resting = [] as string[] } = {},
) {
  // One seed in twenty would show a slope by chance; the rate itself is counted in a benchmark.
  const random = randomStream(12);
  const visits = Array.from({ length: sessions }, (_, i) => {
    const date = new Date(Date.UTC(2025, 0, 1 + 20 * i)).toISOString().slice(0, 10);
    const luck = noise * random.normal();
    return Object.entries(slopes).map(([shoe, slope], j): SmallVisit => ({
      shoe,
      session: `s${i}`,
      date,
      rig: "rig",
      operator: i % 3 === 0 ? "two" : "one",
      values: missing.includes(`${shoe} ${i}`)
        ? [null]
        : [0, 1, 2].map(() =>
          50 + 10 * j + slope * 20 * i / 365.25 + luck + noise * random.normal()
        ),
    }));
  }).flat();
  // A resting shoe is benched in every fourth session only.
  const benched = visits.filter(({ shoe, session }) =>
    !resting.includes(shoe) || Number(session.slice(1)) % 4 === 0
  );
  return smallBench(benched, {
    references: Object.keys(slopes).filter((shoe) => !resting.includes(shoe)),
  });
}

Deno.test("one reference that drifts is 'bench or reference', two that agree the bench or both alike", () => {
  assert.equal(referenceDrift(bench({ a: 2 })).rigs[0].verdict, "bench or reference");
  assert.equal(referenceDrift(bench({ a: 2, b: 2 })).rigs[0].verdict, "bench or references");
});

Deno.test("references that drift alike are the bench where shoes that rest between sessions agree, and age where these stay", () => {
  const resting = ["c", "d", "e"];
  const alike = referenceDrift(bench({ a: 2, b: 2, c: 2, d: 2, e: 2 }, { resting })).rigs[0];
  assert.equal(alike.verdict, "the bench drifts");
  assert.match(rigSentence(alike), /shoes that rest between sessions agree/);
  const ageing = referenceDrift(bench({ a: 2, b: 2, c: 0, d: 0, e: 0 }, { resting })).rigs[0];
  assert.equal(ageing.verdict, "the references age");
  assert.match(rigSentence(ageing), /the reference shoes age, not the bench/);
});

Deno.test("a drift seen in less than a year is told over what was seen, never stretched to a year", () => {
  const rig = referenceDrift(bench({ a: 9, b: 9 }, { sessions: 9 })).rigs[0];
  assert.equal(rig.claimed, true);
  assert.match(rigSentence(rig), /rose by 3\.\d cm from 2025-01-01 to 2025-06-10/);
});

Deno.test("no sentence, title or table prints a slope that no test claims", () => {
  const noisy = referenceDrift(bench({ a: 0, b: 0 }, { noise: 4 }));
  const { rigs: [rig] } = noisy;
  assert.equal(rig.claimed, false);
  assert.doesNotMatch(rigSentence(rig), /\d(\.\d)? cm/);
  assert.equal(driftRows(noisy)[0]["change a year"], "none claimed");
});

Deno.test("a rig that can't be judged says where a smallest_difference would help", () => {
  const unmeasured = bench({ a: 0, b: 0 });
  const metrics = unmeasured.metrics.map((m) => ({ ...m, smallest_difference: null }));
  const result = referenceDrift({ ...unmeasured, metrics });
  assert.match(rigSentence(result.rigs[0]), /smallest_difference in metrics\.json/);
  assert.match(driftSentence(result), /for 1 of them a smallest_difference/);
});

Deno.test("two references that change at different rates disagree, so one of them ages", () => {
  const { rigs } = referenceDrift(bench({ a: 0, b: 3 }));
  assert.equal(rigs[0].verdict, "the references disagree");
  assert.ok(rigs[0].references_differ_p! < 1e-6);
});

Deno.test("references that stay are 'no drift' when the interval is inside what matters, else can't tell", () => {
  assert.equal(referenceDrift(bench({ a: 0, b: 0 })).rigs[0].verdict, "no drift");
  const noisy = referenceDrift(bench({ a: 0, b: 0 }, { noise: 4 })).rigs[0];
  assert.equal(noisy.verdict, "can't tell");
  const short = referenceDrift(bench({ a: 40, b: 40 }, { sessions: 6 })).rigs[0];
  assert.equal(short.verdict, "can't tell");
  assert.match(rigSentence(short), /a claim needs 8/);
});

Deno.test("a reference that missed sessions does not pass for a change of the bench", () => {
  const missing = [8, 9, 10, 11, 12, 13, 14, 15].map((i) => `b ${i}`);
  const { slope, verdict } = referenceDrift(bench({ a: 0, b: 0 }, { missing })).rigs[0];
  assert.equal(verdict, "no drift");
  assert.ok(Math.abs(slope.estimate!) < 0.2);
});

Deno.test("a change of method given with its date is tested as a step", () => {
  const moved = bench({ a: 0, b: 0 });
  const dates = new Map(moved.sessions.map(({ session_id, date }) => [session_id, date]));
  const stepped = {
    ...moved,
    trials: moved.trials.map((trial) => ({
      ...trial,
      value: trial.value! + (dates.get(trial.session_id)! >= "2025-06-01" ? 0.8 : 0),
    })),
  };
  const { steps } = referenceDrift(stepped, {
    changes: [{ metric: "height", date: "2025-06-01", what: "new paper" }],
  });
  const step = steps.find(({ kind }) => kind === "method")!;
  assert.ok(step.found);
  assert.ok(step.difference.lower! < 0.8 && 0.8 < step.difference.upper!);
});

const degenerate = {
  "no reference shoe": smallBench([{ shoe: "a", session: "s", values: [1, 2] }]),
  "a reference seen once": smallBench([{ shoe: "a", session: "s", values: [1, 2] }], {
    references: ["a"],
  }),
  "references that never change": smallBench(
    [...Array(10).keys()].map((i) => ({ shoe: "a", session: `s${i}`, values: [5, 5] })),
    { references: ["a"] },
  ),
  "no trial": smallBench([], { references: ["a"] }),
};
for (const [name, bench] of Object.entries(degenerate)) {
  Deno.test(`${name} gives reasons and no claim`, () => {
    const result = referenceDrift(bench);
    assert.deepEqual(lostValues(result), []);
    assert.ok(
      result.rigs.every(({ verdict, slope }) =>
        verdict === "can't tell" && slope.estimate_reason !== null
      ),
    );
  });
}

Deno.test("an offset of 1e9 changes no slope", () => {
  const plain = bench({ a: 2, b: 2 });
  const lifted = {
    ...plain,
    trials: plain.trials.map((trial) => ({ ...trial, value: trial.value! + 1e9 })),
  };
  assertClose(
    referenceDrift(lifted).rigs[0].slope.estimate,
    referenceDrift(plain).rigs[0].slope.estimate!,
    { within: 1e-5 },
  );
});

Deno.test("weightedRegression() gives R's lm() coefficients, errors and p, and names a column it can't tell", () => {
  // R 4.2.2: summary(lm(y ~ x + g, weights = w)) with the data below; g2 doubles g.
  const x = [1, 2, 3, 4, 5, 6];
  const g = [0, 0, 1, 0, 1, 1];
  const fit = weightedRegression(
    { level: x.map(() => 1), x, g, g2: g.map((value) => 2 * value) },
    [2.1, 3.9, 7.2, 7.7, 11.4, 12.9],
    { weights: [1, 2, 1, 1, 3, 1] },
  );
  assert.deepEqual(fit.dropped, ["g2"]);
  assertClose(fit.coefficient("x"), 1.912041884816754, { within: 1e-12 });
  assertClose(fit.coefficient("g"), 1.584293193717278, { within: 1e-12 });
  const { estimate, p } = fit.test("g", 0.95);
  assertClose(estimate.lower, 0.71459307423798, { within: 1e-9 });
  assertClose(p, 0.01021225140556094, { within: 1e-11 });
});

Deno.test("weightedRegression() within levels fits as with a 0/1 column for each level", () => {
  const random = randomStream(11);
  const level = Array.from({ length: 40 }, () => random.integer(9));
  const x = level.map((at) => at + random.normal());
  const z = level.map(() => random.normal());
  const weights = level.map(() => 0.5 + random.uniform());
  const y = level.map((at, i) => 3 * at + 0.4 * x[i] + random.normal());
  const indicators = Object.fromEntries(
    [...new Set(level)].map((at) => [`level ${at}`, level.map((own) => own === at ? 1 : 0)]),
  );
  const whole = weightedRegression({ ...indicators, x, z, twice: x.map((v) => 2 * v) }, y, {
    weights,
  });
  const inside = weightedRegression({ x, z, twice: x.map((v) => 2 * v) }, y, {
    weights,
    within: level,
  });
  assert.deepEqual(inside.dropped, ["twice"]);
  assert.equal(inside.freedom, whole.freedom);
  assertClose(inside.residualSquares, whole.residualSquares, { within: 1e-11 });
  for (const column of ["x", "z"]) {
    assertClose(inside.coefficient(column), whole.coefficient(column)!, { within: 1e-12 });
    assertClose(inside.test(column, 0.9).p, whole.test(column, 0.9).p!, { within: 1e-12 });
    assertClose(
      inside.test(column, 0.9).estimate.upper,
      whole.test(column, 0.9).estimate.upper!,
      { within: 1e-11 },
    );
  }
});
