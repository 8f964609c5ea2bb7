import assert from "node:assert/strict";
import { charts, loadBench, records, studies, words } from "bench-to-court";
import { chartAlt } from "../../lib/charts/figure.ts";
import { CLAIM_ALPHA } from "../../lib/studies/prediction/prediction_claim.ts";
import type { Bench } from "../../lib/records/types.ts";
import { smallBench } from "../studies/small_bench.ts";
import { coverageSentence } from "../../lib/words/coverage/coverage_sentence.ts";

/** Faults of one class each, found by reading pages of many benches: a sentence that said more than its numbers. */
const demo = await loadBench(new URL("../../data-demo", import.meta.url).pathname);
const seed = 1;
const few = demo.shoes.filter(({ maker }) => maker === "Pavrico" || maker === "Tolmeck").slice(0, 8)
  .map(({ shoe_id }) => shoe_id);
const eight: Bench = {
  ...demo,
  shoes: demo.shoes.filter(({ shoe_id }) => few.includes(shoe_id)),
  trials: demo.trials.filter(({ shoe_id }) => few.includes(shoe_id)),
  impressions: demo.impressions.filter(({ shoe_id }) => few.includes(shoe_id)),
  settings: { ...demo.settings, reference_shoes: [] },
};
const prediction = studies.courtPrediction(demo, { seed, resamples: 200, permutations: 500 });

Deno.test("a bench of eight shoes with a rank correlation near 1 has its predictions, not an error", () => {
  const { pairs } = studies.courtPrediction(eight, { seed, resamples: 200, permutations: 200 });
  assert.ok(pairs.some(({ spearman }) => spearman.upper === 1), "an interval that ends at 1");
});

Deno.test("claims over different numbers of shoes are told over their own numbers", () => {
  const claimed = words.prediction.claimedPairs(prediction);
  assert.ok(new Set(claimed.map(({ n }) => n)).size > 1, "one metric lacks a shoe");
  const [said] = words.prediction.summary(prediction).know;
  for (const { n, metric_title, attribute_title } of claimed) {
    const own = said.split(" Over ").find((part) =>
      part.includes(`predicts ${attribute_title.toLowerCase()}`)
    );
    assert.ok(own?.startsWith(`${n} shoes`), `${metric_title}: ${own}`);
  }
});

Deno.test("a claim that no pair has is not counted out: none predicts, and there is no '0 are hints'", () => {
  const open = prediction.pairs.map((pair) => ({ ...pair, claim: "can't tell" as const }));
  for (
    const text of [
      words.prediction.summary({ ...prediction, pairs: open }).know[0],
      chartAlt(charts.predictionGrid(open)),
    ]
  ) {
    assert.match(text, /\bnone (holds up as a prediction|predicts)\b/);
    assert.doesNotMatch(text, /\b0 /, text);
  }
});

Deno.test("the level that p must stay below is the one claims were made at, with what earlier reviews used up", () => {
  const hint = prediction.pairs.find(({ claim, p_familywise: p }) =>
    claim === "hint" && p !== null && p < CLAIM_ALPHA
  );
  assert.ok(hint !== undefined && hint.level < CLAIM_ALPHA, "a hint below .05 that is no claim");
  const said = words.prediction.terms(prediction);
  const [, level] = /below 0\.05 counts, and below (\S+) for a claim that is new/.exec(said)!;
  assert.ok(Math.abs(Number(level) - hint.level) < 5e-4, level);
  const [row] = words.prediction.rows([hint]);
  assert.match(String(row["p, all pairs"]), new RegExp(`, not below ${level}$`));
});

Deno.test("a ceiling below the correlation seen is no example of the most that noise allows", () => {
  const [pair] = words.prediction.claimedPairs(prediction);
  const line = (ceiling: number) =>
    words.prediction.terms({ pairs: [{ ...pair, ceiling }] }).split("\n")
      .find((row) => row.includes("_Ceiling_"))!;
  assert.match(line(0.9), /Here 0\.90/);
  assert.doesNotMatch(line(0.1), /Here/);
});

Deno.test("the first open pair is named with its range, and the picture counts no fewer shoes than the table", () => {
  const { act } = words.prediction.summary(prediction);
  const [row] = words.prediction.unsettledRows(prediction);
  const range = String(row["shoes to settle it"]);
  assert.ok(act.some((line) => line.includes(`settled first`) && line.includes(range)), range);
  const alt = chartAlt(charts.shoesToSettle(prediction));
  const [, first] = /settled with about (\d+) shoes/.exec(alt)!;
  const [low, high] = range.split(" to ").map(Number);
  assert.ok(low <= Number(first) && Number(first) <= high, `${first} in ${range}`);
});

Deno.test("a bench that nobody rated leaves no pair open for lack of shoes", () => {
  const unrated = studies.courtPrediction({ ...eight, impressions: [] }, { seed });
  assert.match(chartAlt(charts.shoesToSettle(unrated)), /no shoe has both/);
});

Deno.test("an audit counts the benches with a true correlation apart from those where nothing is true", () => {
  const audit = studies.predictionAudit(demo, { seed, simulations: 3, powerSimulations: 2 });
  assert.match(
    words.audit.predictionSentence(audit),
    /^On 3 simulated benches .* of cases; on 2 more each, a true correlation of 0\.3/,
  );
});

Deno.test("an MDC is told with its limits, wherever they are known", () => {
  const { metrics } = studies.trialReliability(demo, { seed, resamples: 200 });
  for (const metric of metrics) {
    const { estimate, lower, upper } = metric.mdc.mean_across_sessions;
    const said = words.repeatability.sentence(metric);
    if (estimate === null || lower === null || upper === null) continue;
    assert.match(said, /must differ by [\d.]+[^(]* \([\d.]+ to [\d.]+\)/, metric.metric);
  }
});

Deno.test("a SEM without limits stands beside an MDC without limits, for the same reason", () => {
  const { metrics } = studies.trialReliability(demo, { seed, resamples: 200 });
  const lone = metrics.filter(({ sem }) => sem.estimate !== null && sem.lower === null);
  assert.deepEqual(lone.map(({ metric }) => metric), ["mass"]);
  for (const { sem, mdc } of metrics) {
    if (sem.estimate === null || mdc.mean_across_sessions.estimate === null) continue;
    assert.equal(mdc.mean_across_sessions.lower === null, sem.lower === null);
    assert.equal(mdc.mean_across_sessions.upper === null, sem.upper === null);
  }
  assert.deepEqual(lone[0].mdc.mean_across_sessions.warnings[0], lone[0].sem.warnings[0]);
});

Deno.test("of shoes read once each no scatter is called one of trials", () => {
  const once = smallBench([3, 5, 8, 4].map((value, i) => ({
    shoe: `s${i}`,
    session: "a",
    values: [value],
  })));
  const reliability = studies.trialReliability(once, { seed });
  assert.deepEqual(reliability.metrics[0].components, []);
  assert.match(chartAlt(charts.components(reliability.metrics[0])), /no shoe was read twice/);
});

Deno.test("a slope whose own interval leaves out 0 is not called none without a word on why", () => {
  const reliability = studies.trialReliability(demo, { seed, resamples: 200 });
  const profile = studies.orderProfile(demo, reliability, "mass");
  const slope = { ...profile.slope, estimate: -0.2, lower: -0.3, upper: -0.1 };
  const alt = chartAlt(charts.orderEffect({ ...profile, slope, found: false }));
  assert.match(alt, /no sure change .* among all metrics of the bench chance gives as much/);
});

Deno.test("a share that rounds to nothing is called small, categories are whole, and one shoe 'has' a value", () => {
  const near = smallBench([0, 1, 2, 3, 4].map((by) => ({
    shoe: `s${by}`,
    session: "a",
    values: [100 + 10 * by, 100.01 + 10 * by],
  })));
  const reliability = studies.trialReliability(near, { seed });
  const rows = words.repeatability.figureRows(reliability, "height");
  const of = (name: string) => String(rows.find(({ figure }) => figure === name)!.value);
  assert.equal(of("CV, %"), "below 0.1");
  assert.match(of("Distinct categories"), /^\d+$/);
  const residual = words.repeatability.componentRows(reliability, "height").at(-1)!;
  assert.equal(residual["share of the variance, %"], "below 0.1");
  const coverage = studies.benchCoverage(eight, { quarter: "2026Q3" });
  assert.match(coverageSentence(coverage), /1 of 8 shoes has a value/);
});

Deno.test("only sessions with a trial are counted, and a warning without a reading is none of a reading", () => {
  const coverage = studies.benchCoverage(eight, { quarter: "2026Q3" });
  const sessions =
    new Set(eight.trials.filter(({ excluded }) => excluded === null).map((t) => t.session_id)).size;
  assert.ok(sessions < eight.sessions.length);
  const said = words.coverage.summary({ ...eight, warnings: [] }, coverage);
  assert.match(said.know[0], new RegExp(`in ${sessions} sessions`));
  const noRule = {
    file: "rules",
    line: null,
    column: null,
    found: "no rule",
    expected: "one",
    remedy: "",
  } as unknown as Bench["warnings"][number];
  const { act } = words.coverage.summary({ ...eight, warnings: [noRule] }, coverage);
  assert.ok(act.some((line) => line.startsWith("Look at 1 warning")), act.join("\n"));
  assert.doesNotMatch(act.join("\n"), /reading that seems/);
});

Deno.test("what is not fit to publish fits no foot and is set against nothing", () => {
  const reliability = studies.trialReliability(demo, { seed, resamples: 200 });
  const unfit = {
    metrics: reliability.metrics.map((metric) => ({
      ...metric,
      verdict: "not fit to publish" as const,
    })),
  };
  assert.throws(
    () => studies.footFit(demo, { foot_length_mm: 272, reliability: unfit }),
    /not fit to publish, so no fit is told by it/,
  );
  assert.throws(
    () =>
      studies.metricPair(demo, { metrics: ["mass", "platform-width"], seed, reliability: unfit }),
    /not fit to publish, so nothing is set against it/,
  );
});

Deno.test("a weight outside its interval is said to have been looked at alone, as the intervals don't hold together", () => {
  const reliability = studies.trialReliability(demo, { seed, resamples: 200 });
  const scores = studies.indexScores(demo, { reliability, seed });
  const result = studies.indexRecalibration(demo, { reliability, scores, seed });
  const off = {
    ...result,
    weights: result.weights.map((weight) => ({ ...weight, kept: false })),
  };
  const rows = words.index.weightRows(off);
  assert.ok(rows.length > 1);
  for (const row of rows) assert.match(String(row["what it shows"]), /looked at alone/);
});

Deno.test("a profile names the tests that it leaves out once, and a shoe alone on a test is set beside nothing", () => {
  const bench = records.benchUntil(eight, "2026-09-30");
  const reliability = studies.trialReliability(bench, { seed, resamples: 200 });
  const unfit = {
    metrics: reliability.metrics.map((metric) => ({
      ...metric,
      verdict: "not fit to publish" as const,
    })),
  };
  const profile = studies.viewerQuestion(bench, {
    kind: "profile",
    shoe: few[0],
    metric: "",
    attribute: "",
    reliability: { ...reliability, ...unfit },
    seed,
  });
  const left = words.comparison.tell(profile).notes.filter((note) =>
    /not fit to publish/.test(note)
  );
  assert.equal(left.length, 1, left.join("\n"));
});
