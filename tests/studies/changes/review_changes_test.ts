import assert from "node:assert/strict";
import { loadBench } from "../../../lib/records/load_bench.ts";
import { benchUntil, quarterEnd } from "../../../lib/records/quarters.ts";
import type { Bench } from "../../../lib/records/types.ts";
import {
  decisionsBetween,
  indexSteps,
  readReview,
  reviewAdvice,
  reviewChanges,
  type ReviewState,
} from "../../../lib/studies/changes/mod.ts";
import { benchCoverage } from "../../../lib/studies/coverage/bench_coverage.ts";
import { referenceDrift } from "../../../lib/studies/drift/reference_drift.ts";
import { indexScores } from "../../../lib/studies/index/index_scores.ts";
import { trialReliability } from "../../../lib/studies/repeatability/trial_reliability.ts";
import { changesSummary, decisionRows } from "../../../lib/words/changes/change_words.ts";

const demo = await loadBench(new URL("../../../data-demo", import.meta.url).pathname);
const seed = 1;

/** A review's state without its predictions, which cost seconds and are set by hand where a test needs them. */
function stateOf(everything: Bench, quarter: string, kit = "9.9.9"): ReviewState {
  const bench = benchUntil(everything, quarterEnd(quarter));
  const reliability = trialReliability(bench, { seed, resamples: 100 });
  const scores = indexScores(bench, { reliability, seed, draws: 400 });
  return {
    quarter,
    made_with: { kit },
    reliability: reliability.metrics,
    drift: referenceDrift(bench),
    coverage: benchCoverage(bench, { quarter }),
    prediction: [],
    index: scores.shoes,
    rule: scores.rule,
  };
}

const then = stateOf(demo, "2026Q2");
const now = stateOf(demo, "2026Q3");
const steps = indexSteps(demo, { quarter: "2026Q2", until: quarterEnd("2026Q3") });

Deno.test("a review held against itself shows no change, and all its advice still open", () => {
  const same = reviewChanges(now, now, {
    steps: { as_then: now.index, then: now.index, old_rule: now.index },
    earlier: "worked out",
  });
  assert.deepEqual([same.claims, same.verdicts, same.drift, same.moves, same.shoes_new], [
    [],
    [],
    [],
    [],
    [],
  ]);
  assert.ok(same.advice.length > 0 && same.advice.every(({ state }) => state === "open"));
});

Deno.test("a shoe in the table that gets its first score is counted as newly scored, one without a score as new only", () => {
  const [first, second, third] = now.index.filter(({ score }) => score !== null);
  const bare = { ...first, score: null, lower: null, upper: null };
  // Then: one shoe unscored, one scored, the third not there; a fourth that loses its score.
  const lost = { ...first, shoe_id: "lost", score: 50 };
  const before = { ...now, index: [bare, second, lost] };
  const after = {
    ...now,
    index: [first, second, third, { ...bare, shoe_id: "lost" }, { ...bare, shoe_id: "rated" }],
  };
  const changes = reviewChanges(before, after, { steps: null, earlier: "read" });
  assert.deepEqual(changes.shoes_scored, [first.shoe_id, third.shoe_id]);
  assert.deepEqual(changes.shoes_unscored, ["lost"]);
  assert.deepEqual(changes.shoes_new, [third.shoe_id, "rated"]);
  const { markdown } = changesSummary(demo, changes);
  for (
    const sentence of [
      "2 shoes are newly scored.",
      "1 shoe came new into the table, without a score.",
      "1 shoe has no score any more.",
    ]
  ) assert.ok(markdown.includes(sentence), markdown);
});

Deno.test("a bench whose rated shoes get their first readings says that all of them are newly scored", () => {
  const rated = { ...then, index: now.index.map((row) => ({ ...row, score: null })) };
  const scored = now.index.filter(({ score }) => score !== null).length;
  const changes = reviewChanges(rated, now, { steps: null, earlier: "read" });
  assert.deepEqual([changes.shoes_new, changes.moves], [[], []]);
  assert.ok(changesSummary(demo, changes).markdown.includes(`${scored} shoes are newly scored.`));
});

Deno.test("the causes of every move in the index add up to the move, new readings and rule apart", () => {
  const { moves, rule } = reviewChanges(then, now, { steps, earlier: "worked out" });
  assert.ok(moves.length > 0);
  for (const { change, causes } of moves) {
    const parts = causes.readings + causes.rule + causes.corrections +
      (causes.exclusions_or_kit ?? 0);
    assert.ok(Math.abs(change - parts) < 1e-9, `${change} and ${parts}`);
    if (!rule.changed) assert.ok(Math.abs(causes.rule) < 1e-9);
  }
});

Deno.test("a rule adopted between two reviews moves scores by the rule alone where no reading came since", () => {
  const [last] = demo.rules.slice(-1);
  const heavier = {
    ...last,
    version: "3",
    effective: "2026-07-01",
    terms: last.terms.map((term, i) => i === 0 ? { ...term, weight: term.weight * 2 } : term),
  };
  const still = benchUntil(demo, "2026-06-30"); // nothing was benched afterwards
  const ruled = { ...still, rules: [...still.rules, heavier], metrics: demo.metrics };
  const scoresUnder = (rule: typeof last) => {
    const reliability = trialReliability(still, { seed, resamples: 100 });
    return indexScores(still, { rule, reliability, seed, draws: 400 });
  };
  const after = {
    ...then,
    quarter: "2026Q3",
    index: scoresUnder(heavier).shoes,
    rule: { id: last.id, version: "3" },
  };
  const { moves, rule } = reviewChanges(then, after, {
    steps: indexSteps(ruled, { quarter: "2026Q2", until: "2026-09-30" }),
    earlier: "worked out",
  });
  assert.equal(rule.changed, true);
  assert.ok(moves.length > 10);
  for (const { causes, beyond_noise } of moves) {
    assert.ok(Math.abs(causes.readings) < 1e-9);
    assert.ok(Math.abs(causes.rule) > 0);
    assert.equal(beyond_noise, false);
  }
});

Deno.test("readings excluded after a review show as exclusions only against the review made then", () => {
  const metric = demo.rules.at(-1)!.terms[0].metric;
  const session = demo.trials.find((trial) =>
    trial.metric_id === metric && trial.excluded === null
  )!;
  const struck: Bench = {
    ...demo,
    trials: demo.trials.map((trial) =>
      trial.metric_id === metric && trial.shoe_id === session.shoe_id &&
        trial.session_id === session.session_id && trial.trial === session.trial
        ? { ...trial, excluded: "slipped" }
        : trial
    ),
  };
  const after = stateOf(struck, "2026Q3");
  const read = reviewChanges(then, after, {
    steps: indexSteps(struck, { quarter: "2026Q2", until: "2026-09-30" }),
    earlier: "read",
  });
  const moved = read.moves.find(({ shoe_id }) => shoe_id === session.shoe_id)!;
  assert.ok(Math.abs(moved.causes.exclusions_or_kit!) > 1e-6);
  const said = changesSummary(demo, { ...read, kit: { before: "1", after: "1" } }).markdown;
  assert.ok(said.includes(`Readings excluded or mended since moved ${moved.name}.`), said);
  const others = read.moves.filter(({ shoe_id }) => shoe_id !== session.shoe_id);
  assert.ok(others.every(({ causes }) => Math.abs(causes.exclusions_or_kit!) < 1e-9));
});

Deno.test("advice is done where the review gives it no more, moot where its metric is studied no more", () => {
  const [first] = reviewAdvice(then).filter(({ code }) => code === "look-at-readings");
  const clean = {
    ...now,
    reliability: now.reliability.map((row) =>
      row.metric === first.metric ? { ...row, outliers: [] } : row
    ),
  };
  const gone = {
    ...now,
    reliability: now.reliability.filter(({ metric }) => metric !== first.metric),
  };
  const stateIn = (after: ReviewState) =>
    reviewChanges(then, after, { steps: null, earlier: "read" }).advice
      .find(({ code, metric }) => code === first.code && metric === first.metric)!.state;
  assert.equal(stateIn(clean), "done");
  assert.equal(stateIn(gone), "moot");
});

Deno.test("a claim that came and one that went are told with their correlations, and said so", () => {
  const pair = (claim: "predicts" | "can't tell" | "hint", rho: number, n: number) => ({
    metric: "tilt-slip-dry",
    attribute: demo.settings.attributes[0].id,
    claim,
    spearman: { estimate: rho },
    n,
  });
  const changes = (before: ReviewState["prediction"], after: ReviewState["prediction"]) =>
    reviewChanges({ ...then, prediction: before }, { ...now, prediction: after }, {
      steps,
      earlier: "worked out",
    });
  const gained = changes([pair("hint", .4, 30)], [pair("predicts", .6, 48)]);
  assert.deepEqual(
    gained.claims.map((
      row,
    ) => [row.before, row.after, row.rho_before, row.rho_after, row.shoes_after]),
    [["hint", "predicts", .4, .6, 48]],
  );
  assert.match(changesSummary(demo, gained).items[0], /^Newly predicted: .* by tilt at slip/);
  const lost = changes([pair("predicts", .6, 30)], [pair("can't tell", .4, 48)]);
  assert.match(changesSummary(demo, lost).items[0], /^No longer claimed: /);
  assert.deepEqual(changes([pair("hint", .4, 30)], [pair("can't tell", .3, 48)]).claims, []);
});

Deno.test("a file that is no earlier review of this bench is refused with what was found", () => {
  const whole = JSON.parse(JSON.stringify({ kind: "review", ...then }));
  const read = (json: unknown, quarter = "2026Q3") =>
    readReview(typeof json === "string" ? json : JSON.stringify(json), { bench: demo, quarter });
  assert.equal(read(whole).state?.quarter, "2026Q2");
  const found = (json: unknown, quarter?: string) => read(json, quarter).trouble?.found;
  assert.match(found("{")!, /no JSON/);
  assert.match(found({ kind: "retest" })!, /kind "retest"/);
  assert.match(found([])!, /no review/);
  assert.match(found({ ...whole, reliability: [{ metric: "x" }] })!, /reliability\.0\.\w+ isn't/);
  assert.match(found(whole, "2026Q2")!, /the review of 2026Q2/);
  const elsewhere = {
    ...whole,
    coverage: {
      ...whole.coverage,
      shoes: whole.coverage.shoes.map((shoe: { shoe_id: string }) => ({
        shoe_id: `other-${shoe.shoe_id}`,
      })),
    },
  };
  assert.match(found(elsewhere)!, /another bench: 0 of its/);
  const { rule: _, ...older } = whole;
  const changes = reviewChanges(read(older).state!, now, { steps: null, earlier: "read" });
  assert.deepEqual(changes.not_compared, ["rule"]);
  assert.equal(changes.rule.changed, false);
  assert.match(
    changesSummary(demo, changes).items.at(-1)!,
    /rule is not compared: the review of 2026Q2 doesn't hold it/,
  );
});

Deno.test("a correction decided on since moves scores by corrections alone, and old reviews stay as they were", () => {
  const metric = "heel-rebound";
  const decided: Bench = {
    ...demo,
    settings: { ...demo.settings, corrected_metrics: [metric] },
    decisions: [
      decision("2026-05-01", "other", "before"),
      decision("2026-08-20", "correction", metric),
      decision("2026-10-05", "other", "after"),
    ],
  };
  assert.deepEqual(benchUntil(decided, "2026-08-19").settings.corrected_metrics, []);
  assert.deepEqual(benchUntil(decided, "2026-08-20").settings.corrected_metrics, [metric]);
  assert.deepEqual(stateOf(decided, "2026Q2").index, then.index);
  const span = { after: "2026-06-30", until: "2026-09-30" };
  for (const corrected of [undefined, []]) {
    const changes = reviewChanges(then, stateOf(decided, "2026Q3"), {
      steps: indexSteps(decided, { quarter: "2026Q2", until: "2026-09-30", corrected }),
      earlier: "read",
      decisions: decisionsBetween(decided, span),
    });
    const moved = changes.moves.filter(({ causes }) => Math.abs(causes.corrections) > 1e-9);
    assert.ok(moved.length > 10);
    for (const { change, causes } of changes.moves) {
      const { readings, rule, corrections } = causes;
      assert.ok(Math.abs(causes.exclusions_or_kit!) < 1e-9);
      assert.ok(Math.abs(change - readings - rule - corrections) < 1e-9);
    }
    assert.deepEqual(changes.decisions.map(({ about }) => about), [metric]);
    const { markdown } = changesSummary(demo, changes);
    assert.match(markdown, /Correcting heel rebound to the reference shoes moved \d+ scores/);
    assert.match(markdown, /Decided since: heel rebound corrected to the reference shoes\./);
    assert.deepEqual(decisionRows(demo, changes).map(({ date }) => date), ["2026-08-20"]);
  }
  // Without a row in decisions.csv nobody can tell the day: it counts always.
  const undated = { ...decided, decisions: [] };
  assert.deepEqual(benchUntil(undated, "2026-01-01").settings.corrected_metrics, [metric]);
});

Deno.test("a metric withdrawn by decision is advice done, though it is as unfit as before", () => {
  const advised = reviewAdvice(then).find(({ code }) => code === "stop-publishing")!;
  const stateUnder = (decisions: Bench["decisions"]) =>
    reviewChanges(then, then, { steps: null, earlier: "read", decisions }).advice
      .find(({ code, metric }) => code === "stop-publishing" && metric === advised.metric)!.state;
  assert.equal(stateUnder([]), "open");
  assert.equal(stateUnder([decision("2026-08-20", "metric withdrawn", advised.metric)]), "done");
  assert.equal(stateUnder([decision("2026-08-20", "metric withdrawn", "mass")]), "open");
});

function decision(
  date: string,
  kind: Bench["decisions"][number]["kind"],
  about: string,
): Bench["decisions"][number] {
  return {
    date,
    kind,
    about,
    because: "so",
    verdict: null,
    code: null,
    content_sha256: null,
    kit: null,
  };
}
