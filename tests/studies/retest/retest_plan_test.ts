import assert from "node:assert/strict";
import { fileURLToPath } from "node:url";
import { loadBench } from "../../../lib/records/load_bench.ts";
import type { IndexRule } from "../../../lib/records/types.ts";
import { retestPlan } from "../../../lib/studies/retest/retest_plan.ts";
import { trialReliability } from "../../../lib/studies/repeatability/trial_reliability.ts";
import { randomStream } from "../../../lib/statistics/random_stream.ts";
import { planSentence } from "../../../lib/words/retest/retest_words.ts";
import { assertClose } from "../../assert_close.ts";
import { smallBench } from "../small_bench.ts";

const demo = await loadBench(fileURLToPath(new URL("../../../data-demo", import.meta.url)));
const reliability = trialReliability(demo, { seed: 1, resamples: 100 });

const rule: IndexRule = {
  id: "one-term",
  version: "1",
  title: "One term",
  effective: "2000-01-01",
  target_attribute: "feel",
  terms: [{ metric: "height", weight: 1, scaling: { kind: "range", low: -1000, high: 1000 } }],
  bonuses: [],
  multiplier: 2000,
  offset: 0,
  missing: "reweight",
  where: null,
  note: null,
};

/** A noise of known size: shoe variance 100, trial variance 8, nothing else. */
const known = {
  metrics: [{
    ...trialReliability(
      smallBench([
        { shoe: "a", session: "s1", values: [1, 2] },
        { shoe: "b", session: "s1", values: [3, 4] },
      ]),
      { seed: 1, resamples: 100 },
    ).metrics[0],
    trials_per_visit: 4,
    components: [["shoe", 100], ["residual", 8]].map(([source, variance]) => ({
      source: source as string,
      variance: variance as number,
      share: 0,
      boundary: false,
      lower: null,
      upper: null,
      levels: 3,
    })),
  }],
};

const small = {
  ...smallBench([
    { shoe: "a", session: "s1", values: [10, 12, 11, 11] },
    { shoe: "b", session: "s1", values: [40, 42, 41, 41] },
  ]),
  rules: [rule],
};

Deno.test("the expected drop in index variance is that of the textbook posterior", () => {
  const { visits, expected } = retestPlan(small, { slots: 1, reliability: known });
  // One point of the index a cm. Known with 4 trials: 100 against 8/4; with 8 in two visits: 8/8.
  const [before, after] = [1 / (1 / 100 + 1 / 2), 1 / (1 / 100 + 1 / 1)];
  assertClose(visits[0].gain.index_variance, (before - after) / (2 * before), { within: 1e-9 });
  assertClose(expected.index_variance_left, (before + after) / (2 * before), { within: 1e-9 });
});

Deno.test("a shoe that was never benched comes before one that was", () => {
  const shoes = [...small.shoes, { ...small.shoes[0], shoe_id: "c", model: "c" }];
  const { visits: [first] } = retestPlan({ ...small, shoes }, { slots: 1, reliability: known });
  assert.equal(first.shoe_id, "c");
  assert.equal(first.state, "missing");
  assert.ok(first.would_settle.some(({ question }) => question === "place"));
});

Deno.test("each visit of a plan gains no more a minute than the one before it on the same index", () => {
  const { visits } = retestPlan(demo, { slots: 45, reliability });
  assert.equal(visits.length, 45);
  assert.deepEqual(visits.map(({ order }) => order), visits.map((_, index) => index + 1));
  const noisy = visits.filter(({ state }) => state === "noisy");
  assert.ok(noisy.length > 5);
  // Rebenching one shoe can make its neighbours' order worth a little more, hence the slack.
  noisy.slice(1).forEach((visit, index) =>
    assert.ok(visit.gain.per_minute <= noisy[index].gain.per_minute * 1.1)
  );
});

Deno.test("gains on the index in force add up to what the plan says is left", () => {
  const { visits, expected } = retestPlan(demo, { slots: 60, reliability });
  const rule = demo.rules.at(-1)!;
  const gained = visits.filter(({ gain }) => gain.index === rule.title)
    .reduce((sum, { gain }) => sum + gain.index_variance, 0);
  assertClose(1 - gained, expected.index_variance_left!, { within: 1e-9 });
  assert.ok(expected.wrong_neighbours_after! < expected.wrong_neighbours_before!);
  assert.ok(expected.open_pairs_after! < expected.open_pairs_before!);
});

Deno.test("a late metric that a proposal waits for queues its back catalogue, one visit a shoe", () => {
  const { visits, back_catalogue } = retestPlan(demo, { slots: 60, reliability });
  const late = visits.filter(({ metric }) => metric === "forefoot-bending-stiffness");
  assert.equal(new Set(late.map(({ shoe_id }) => shoe_id)).size, 22);
  assert.equal(late.length, 22);
  assert.ok(late.every(({ because }) => /add-forefoot-bending/.test(because.proposal!)));
  assert.deepEqual(back_catalogue, [{
    metric: "forefoot-bending-stiffness",
    introduced: "2026-02-14",
    missing: 22,
    queued: 22,
  }]);
  // By value: what it would tell about neighbours falls from first to last.
  assert.ok(late[0].gain.wrong_neighbours > late.at(-1)!.gain.wrong_neighbours);
});

Deno.test("a plan keeps to its minutes, and cheap visits come sooner", () => {
  const cheap = { "outsole-wear": 2 };
  const plan = retestPlan(demo, { minutes: 45, minutesPerVisit: cheap, reliability });
  assert.ok(plan.minutes <= 45);
  assert.ok(plan.visits.filter(({ metric }) => metric === "outsole-wear").length > 10);
});

Deno.test("retired and computed metrics are never on the list", () => {
  const metrics = demo.metrics.map((metric) =>
    metric.id === "outsole-wear" ? { ...metric, retired: "2026-01-01" } : metric
  );
  const { visits } = retestPlan({ ...demo, metrics }, { slots: 60, reliability });
  assert.ok(visits.every(({ metric }) => metric !== "outsole-wear" && metric !== "friction-dry"));
});

Deno.test("without a rule every metric counts alike, and the plan says so", () => {
  const plan = retestPlan({ ...demo, rules: [] }, { slots: 5, reliability });
  assert.equal(plan.rule, null);
  assert.equal(plan.rule_reason!.code, "no-rule");
  assert.equal(plan.expected.index_variance_left, null);
  assert.equal(plan.visits.length, 5);
});

Deno.test("a plan wants slots or minutes, one of them and above 0", () => {
  const plan = (options: object) => () => retestPlan(demo, { reliability, ...options });
  assert.throws(plan({}), /neither/);
  assert.throws(plan({ slots: 3, minutes: 30 }), /both/);
  assert.throws(plan({ slots: 0 }), /at least 1/);
  assert.throws(plan({ minutes: 30, minutesPerVisit: { mass: 0 } }), /above 0/);
});

Deno.test("a plan is plain JSON and the same every time", () => {
  const plan = retestPlan(demo, { slots: 10, reliability });
  assert.deepEqual(JSON.parse(JSON.stringify(plan)), plan);
  assert.deepEqual(retestPlan(demo, { slots: 10, reliability }), plan);
});

Deno.test("the open pairs that a plan expects are those that simulated visits leave", () => {
  // Two shoes 1.2 apart on a scale of one point a cm; a further visit each. What is known of either before
  // is normal about its expected value; draws of truth and visit say how often the pair stays open.
  const close = {
    ...smallBench([
      { shoe: "a", session: "s1", values: [10, 12, 11, 11] },
      { shoe: "b", session: "s1", values: [13.2, 13.8, 13, 14] },
    ]),
    rules: [rule],
  };
  const { expected, visits } = retestPlan(close, { slots: 2, reliability: known });
  assert.equal(new Set(visits.map(({ shoe_id }) => shoe_id)).size, 2);
  const [before, after] = [1 / (1 / 100 + 1 / 2), 1 / (1 / 100 + 1 / 1)];
  const gap = 2.5 * 100 / (100 + 2);
  const stream = randomStream(5);
  let open = 0;
  const draws = 20_000;
  for (let draw = 0; draw < draws; draw++) {
    const shown = gap + Math.sqrt(2 * (before - after)) * stream.normal();
    if (Math.abs(shown) <= 1.959964 * Math.sqrt(2 * after)) open++;
  }
  assertClose(expected.open_pairs_after, open / draws, { within: 0.01 });
  assert.equal(expected.open_pairs_before, 1);
});

Deno.test("a plan's sentence settles no more pairs than it expects, and says none where it expects none", () => {
  for (const slots of [10, 60]) {
    const plan = retestPlan(demo, { slots, reliability });
    const settled = Math.round(plan.expected.open_pairs_before! - plan.expected.open_pairs_after!);
    const said = planSentence(plan);
    if (settled < 1) assert.match(said, /none is expected to be settled/);
    else {assert.ok(
        said.includes(`about ${settled} of the ${plan.expected.open_pairs_before} pairs`),
      );}
  }
});

Deno.test("a visit on a metric outside the index in force says so, and takes nothing off that index", () => {
  const { visits, expected } = retestPlan(demo, { slots: 10, reliability });
  const outside = visits.filter(({ gain }) => !gain.in_force);
  assert.ok(outside.length > 0);
  if (outside.length === visits.length) assert.equal(expected.index_variance_left, 1);
  assert.ok(outside.every(({ gain }) => gain.index !== demo.rules.at(-1)!.title));
});
