import assert from "node:assert/strict";
import { loadBench } from "../../../lib/records/load_bench.ts";
import type { Bench, Trial } from "../../../lib/records/types.ts";
import { indexScores } from "../../../lib/studies/index/index_scores.ts";
import { retestPlan } from "../../../lib/studies/retest/retest_plan.ts";
import {
  type MetricReliability,
  trialReliability,
} from "../../../lib/studies/repeatability/trial_reliability.ts";
import { indexSentence } from "../../../lib/words/index/index_sentence.ts";
import { sayReason } from "../../../lib/words/reasons.ts";
import { assertClose } from "../../assert_close.ts";

const demo = new URL("../../../data-demo", import.meta.url).pathname;

/** The demo's noise as it was planted, so that these tests stand on the scores alone. */
async function plantedNoise(): Promise<{ metrics: MetricReliability[] }> {
  const truth = JSON.parse(await Deno.readTextFile(`${demo}/truth.json`));
  const metrics = Object.entries(truth.metrics).map(([metric, about]) => ({
    metric,
    components: Object.entries((about as { variances: Record<string, number> }).variances).map(
      ([source, variance]) => ({ source, variance, share: 0, boundary: false }),
    ),
  }));
  return { metrics: metrics as unknown as MetricReliability[] };
}

const bench = await loadBench(demo);
const reliability = await plantedNoise();

Deno.test("indexScores() takes the rule in force and ranks every shoe that has its terms", () => {
  const scores = indexScores(bench, { reliability });
  assert.equal(scores.rule?.version, "2");
  const ranked = scores.shoes.filter((shoe) => shoe.score !== null && !shoe.reference);
  assert.ok(ranked.length > 40);
  for (const shoe of ranked) {
    assert.ok(shoe.lower! <= shoe.score! && shoe.score! <= shoe.upper!, shoe.shoe_id);
    assert.ok(shoe.rank_lower! <= shoe.rank! && shoe.rank! <= shoe.rank_upper!, shoe.shoe_id);
  }
});

Deno.test("the sentence counts every shoe whose rank interval reaches 1, and band 1 holds the same ones", () => {
  const scores = indexScores(bench, { reliability });
  const first = scores.shoes.filter(({ rank_lower }) => rank_lower === 1);
  assert.ok(first.length > 2);
  assert.deepEqual(scores.shoes.filter(({ band }) => band === 1), first);
  assert.ok(indexSentence(scores).includes(`but ${first.length - 1} more shoes could be first`));
});

Deno.test("a reference shoe has a score and no rank, unless the bench ranks its references", () => {
  const references = bench.settings.reference_shoes;
  const of = (rank_references: boolean) =>
    indexScores({ ...bench, settings: { ...bench.settings, rank_references } }, { reliability })
      .shoes.filter(({ shoe_id }) => references.includes(shoe_id));
  assert.equal(of(false).length, 2);
  assert.ok(
    of(false).every(({ score, rank, band }) => score !== null && rank === null && band === null),
  );
  assert.ok(of(true).every(({ rank, reference }) => rank !== null && !reference));
});

Deno.test("where no noise is known no shoe leads alone, and nobody is ranked for certain", () => {
  const scores = indexScores(bench, { reliability: { metrics: [] } });
  assert.match(indexSentence(scores), /^Can't tell which shoe is first/);
  assert.ok(
    scores.shoes.every(({ rank_lower, rank_upper }) => rank_lower === null && rank_upper === null),
  );
});

Deno.test("one shoe of unknown noise could have any place, so that it and the leader are both first", () => {
  const scores = indexScores(bench, { reliability });
  const [leader, ...others] = scores.shoes;
  const last = others.filter(({ rank }) => rank !== null).at(-1)!;
  const shoes = [leader, ...others].map((shoe) =>
    shoe.shoe_id === last.shoe_id ? { ...shoe, rank_lower: null, rank_upper: null } : shoe
  );
  assert.match(indexSentence({ ...scores, shoes }), /could be first as well, 1 of them since/);
});

Deno.test("a score is the offset plus the points of its terms and bonuses", () => {
  const rule = bench.rules.at(-1)!;
  for (const shoe of indexScores(bench, { reliability }).shoes) {
    if (shoe.score === null) continue;
    const parts = [
      ...shoe.terms.map((term) => term.points ?? 0),
      ...shoe.bonuses.map((b) => b.points),
    ];
    assertClose(shoe.score, rule.offset + parts.reduce((a, b) => a + b, 0), { within: 1e-12 });
  }
});

Deno.test("the same seed gives the same scores and intervals, and another seed other limits", () => {
  const once = indexScores(bench, { reliability, seed: 1 });
  assert.equal(JSON.stringify(indexScores(bench, { reliability, seed: 1 })), JSON.stringify(once));
  const other = indexScores(bench, { reliability, seed: 2 });
  assert.equal(other.shoes[0].score, once.shoes[0].score);
  assert.notEqual(other.shoes[0].lower, once.shoes[0].lower);
});

Deno.test("a duplicated shoe shares its twin's rank and band", () => {
  const twin = bench.shoes[5].shoe_id;
  const copy = (row: Trial) => ({ ...row, shoe_id: "the-twin" });
  const doubled: Bench = {
    ...bench,
    shoes: [...bench.shoes, { ...bench.shoes[5], shoe_id: "the-twin" }],
    trials: [...bench.trials, ...bench.trials.filter((row) => row.shoe_id === twin).map(copy)],
    features: [
      ...bench.features,
      ...bench.features.filter((row) => row.shoe_id === twin)
        .map((row) => ({ ...row, shoe_id: "the-twin" })),
    ],
  };
  const { shoes } = indexScores(doubled, { reliability });
  const [a, b] = [twin, "the-twin"].map((id) => shoes.find((shoe) => shoe.shoe_id === id)!);
  assert.equal(a.score, b.score);
  assert.equal(a.rank, b.rank);
});

Deno.test("without a rule there is no table, and the reason is said", () => {
  const scores = indexScores({ ...bench, rules: [] }, { reliability });
  const { rule, rule_reason, shoes } = scores;
  assert.equal(rule, null);
  assert.match(sayReason(rule_reason!), /no index rule/);
  assert.deepEqual(shoes, []);
  assert.match(indexSentence(scores), /no index table/);
});

Deno.test("a score whose noise nobody has measured has no interval, and the reason names the metric", () => {
  const { shoes } = indexScores(bench, { reliability: { metrics: [] } });
  assert.equal(shoes[0].lower, null);
  assert.match(sayReason(shoes[0].interval_reason!), /noise of .*heel-rebound/);
});

Deno.test("a score that is linear in one mean of five trials has limits 1.96 standard errors either side", () => {
  // One shoe, one linear term: the standard error is that of the mean of five trials.
  const rule = bench.rules.at(-1)!;
  const only = {
    ...rule,
    terms: [{
      metric: "heel-rebound",
      weight: 1,
      scaling: { kind: "range" as const, low: 0, high: 100 },
    }],
    bonuses: [],
    multiplier: 100,
    offset: 0,
  };
  const trial = bench.trials.find((row) => row.metric_id === "heel-rebound" && row.value !== null)!;
  const shoe = bench.shoes.find((row) => row.shoe_id === trial.shoe_id)!;
  const readings: Trial[] = [1, 2, 3, 4, 5].map((number) => ({
    ...trial,
    trial: number,
    value: 30,
    excluded: null,
  }));
  const [scored] = indexScores({ ...bench, shoes: [shoe], trials: readings }, {
    rule: only,
    reliability: {
      metrics: [{
        metric: "heel-rebound",
        components: [
          { source: "shoe", variance: 9, share: 0.6, boundary: false },
          { source: "residual", variance: 5, share: 0.4, boundary: false },
        ],
      } as unknown as MetricReliability],
    },
    draws: 20_000,
  }).shoes;
  assertClose(scored.score, 30, { within: 1e-9 });
  assertClose(scored.lower, 30 - 1.959964, { within: 0.04 });
  assertClose(scored.upper, 30 + 1.959964, { within: 0.04 });
});

Deno.test("the table is of the rule in force on the last day with a reading or a rating", () => {
  const until = "2025-12-20"; // the second edition came on 2026-01-01
  const benched = {
    ...bench,
    sessions: bench.sessions.filter(({ date }) => date <= until),
    trials: bench.trials.filter(({ session_id }) =>
      bench.sessions.some((session) => session.session_id === session_id && session.date <= until)
    ),
  };
  const version = (ratedUntil: string) => {
    const impressions = bench.impressions.filter(({ date }) => date <= ratedUntil);
    const rated = { ...benched, impressions };
    const { rule } = indexScores(rated, { reliability, draws: 100 });
    assert.equal(retestPlan(rated, { reliability: study, slots: 3 }).rule?.version, rule?.version);
    return rule?.version;
  };
  const study = trialReliability(benched, { seed: 1, resamples: 100 });
  assert.equal(version(until), "1");
  assert.equal(version("2026-02-28"), "2");
});
