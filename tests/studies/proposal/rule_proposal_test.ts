import assert from "node:assert/strict";
import { sayReason } from "../../../lib/words/reasons.ts";
import type { Bench, RuleProposal } from "../../../lib/records/types.ts";
import { spearman } from "../../../lib/statistics/spearman.ts";
import { applyRule } from "../../../lib/studies/index/apply_rule.ts";
import { panelValues } from "../../../lib/studies/panel/panel_values.ts";
import { settlesWords } from "../../../lib/words/proposal/proposal_sentences.ts";
import { proposalResult, proposalSummary } from "../../../lib/words/proposal/proposal_summary.ts";
import { ruleProposal, type RuleVerdict } from "../../../lib/studies/proposal/rule_proposal.ts";
import { ruleValues } from "../../../lib/studies/index/rule_values.ts";
import { assertClose } from "../../assert_close.ts";
import { demoWithPlantedNoise, withoutHalf } from "../rule_data.ts";

const { bench, reliability } = await demoWithPlantedNoise();
const options = { seed: 20260101, reliability };
const proposed = (id: string) => bench.proposals.find((one) => one.id === id)!;
const judge = (id: string) => ruleProposal(bench, proposed(id), options);
const [good, useless, late] = [
  judge("weigh-what-players-feel"),
  judge("reward-the-toe-guard"),
  judge("add-forefoot-bending"),
];

/** Another rule or other criteria in a proposal of the demo. */
function changed(
  id: string,
  parts: { rule?: Partial<RuleProposal["rule"]>; criteria?: Partial<RuleProposal["criteria"]> },
): RuleProposal {
  const one = proposed(id);
  return {
    ...one,
    rule: { ...one.rule, ...parts.rule },
    criteria: { ...one.criteria, ...parts.criteria },
  };
}

Deno.test("the demo's good proposal is adopted, its useless one kept out, its late one left open", () => {
  assert.deepEqual(
    [good, useless, late].map(({ verdict }) => verdict),
    ["adopt", "keep", "not enough evidence"],
  );
  const open = late.criteria.find(({ outcome }) => outcome === "can't be judged")!;
  assert.equal(open.name, "min_gain");
  assert.match(settlesWords(open.settles!), /shoes.* 22 rated shoes wait .* re-bench them first/);
});

Deno.test("the gain and both rank correlations are near those of the shoes at hand", () => {
  const { rule } = proposed("weigh-what-players-feel");
  const old = bench.rules.find(({ version }) => version === "2")!;
  const { table } = ruleValues(bench, bench.metrics.map(({ id }) => id), null);
  const felt = panelValues(bench, "speed").shoes;
  const rho = (one: typeof rule) => {
    const scores = new Map(applyRule(bench, one, table).map((row) => [row.shoe_id, row.score!]));
    return spearman(felt.map(({ shoe_id }) => scores.get(shoe_id)!), felt.map((s) => s.value), {
      interval: "none",
    }).estimate!;
  };
  // Kin shoes count for less than strangers, so that the two differ a little.
  assertClose(good.gain.estimate, rho(rule) - rho(old), { within: 0.08 });
  assertClose(good.gain_old.estimate, rho(old), { within: 0.08 });
  assert.equal(good.gain.n, felt.length);
  assert.ok(good.lines < good.gain.n && good.makers < good.lines);
});

Deno.test("a gain passes at its lower limit, fails above its upper one, and can't be judged between", () => {
  const { lower, upper } = good.gain;
  const outcome = (min_gain: number) => {
    const result = ruleProposal(
      bench,
      changed("weigh-what-players-feel", { criteria: { min_gain } }),
      options,
    );
    return [result.criteria[0].outcome, result.verdict];
  };
  assert.deepEqual(outcome(lower!), ["passes", "adopt"]);
  assert.deepEqual(outcome(lower! + 1e-6), ["can't be judged", "not enough evidence"]);
  assert.deepEqual(outcome(upper!), ["can't be judged", "not enough evidence"]);
  assert.deepEqual(outcome(upper! + 1e-6), ["fails", "keep"]);
});

Deno.test("a count passes at its limit and fails beyond it, whatever the gain", () => {
  const share = good.rank_moves.share!;
  const verdict = (max_rank_moves: number) =>
    ruleProposal(
      bench,
      changed("weigh-what-players-feel", { criteria: { max_rank_moves } }),
      options,
    ).verdict;
  assert.equal(verdict(share), "adopt");
  assert.equal(verdict(share - 0.01), "keep");
});

Deno.test("the rule in force proposed against itself moves nothing and gains nothing", () => {
  const same = ruleProposal(
    bench,
    { ...proposed("weigh-what-players-feel"), rule: bench.rules.at(-1)! },
    options,
  );
  assert.deepEqual([same.gain.estimate, same.gain.lower, same.gain.upper], [0, 0, 0]);
  assert.equal(same.verdict, "keep");
  assert.deepEqual([same.rank_moves.largest, same.flips.flipped], [0, 0]);
  assert.deepEqual(same.flips.real, []);
  assertClose(same.link.slope, 1, { within: 1e-12 });
  assert.deepEqual(same.in_force?.version, "2");
});

Deno.test("a real flip is told apart in both tables, one way and the other", () => {
  assert.ok(good.flips.real.length > 0);
  assert.ok(good.flips.real.length <= good.flips.flipped);
  for (const { was_ahead, now_ahead } of good.flips.real) {
    const row = (id: string, table: RuleVerdict["scores_old"]) =>
      table.shoes.find(({ shoe_id }) => shoe_id === id)!;
    assert.ok(row(was_ahead, good.scores_old).score! > row(now_ahead, good.scores_old).score!);
    assert.ok(row(was_ahead, good.scores_new).score! < row(now_ahead, good.scores_new).score!);
    assert.ok(row(was_ahead, good.scores_old).rank_upper! < 50);
    assert.notEqual(row(was_ahead, good.scores_old).rank_upper, 1);
  }
});

Deno.test("a bonus worth more than the bench puts between most pairs outruns it", () => {
  const guard = useless.bonuses.find(({ feature }) => feature === "drag-toe-guard")!;
  assert.equal(guard.outruns_bench, true);
  assert.ok(guard.places_gained! > 10);
  assert.ok(late.bonuses.every(({ outruns_bench }) => !outruns_bench));
  assert.match(
    proposalSummary(useless).markdown,
    /Think again about 0.3 points for drag-toe-guard/,
  );
});

Deno.test("a late metric leaves shoes without a score and puts rated ones first on the re-bench list", () => {
  const products = bench.shoes.length - bench.settings.reference_shoes.length;
  assert.equal(late.coverage.shoes, products);
  assert.equal(late.coverage.scorable_new, products - 22);
  assert.equal(late.rebench.length, 22);
  const rated = late.rebench.map(({ rated }) => rated);
  assert.deepEqual(rated, rated.toSorted((a, b) => Number(b) - Number(a)));
  for (const { metrics, reason } of late.rebench) {
    assert.deepEqual(metrics, ["forefoot-bending-stiffness"]);
    assert.match(sayReason(reason), /before the metric existed|never read/);
  }
});

Deno.test("a folder where half the shoes lack a metric is judged on the others", () => {
  const half = withoutHalf(bench, "tilt-slip-dry");
  const result = ruleProposal(half, proposed("weigh-what-players-feel"), options);
  // A reference shoe is an instrument: neither scored nor lost.
  const benched = (shoe: string) =>
    half.trials.some((row) => row.metric_id === "tilt-slip-dry" && row.shoe_id === shoe);
  const products = half.shoes.map(({ shoe_id }) => shoe_id)
    .filter((shoe) => !half.settings.reference_shoes.includes(shoe));
  assert.equal(result.coverage.scorable_new, products.filter(benched).length);
  assert.equal(result.coverage.lost.length, products.length - result.coverage.scorable_new);
  assert.equal(result.criteria.find(({ name }) => name === "min_coverage")!.outcome, "fails");
  assert.equal(result.verdict, "keep");
  assert.equal(result.rank_moves.compared, result.coverage.scorable_new);
  assert.ok(result.gain.n <= 25 && result.gain.estimate !== null);
});

Deno.test("nobody's ratings, or no shoe with a score, can't be judged; nothing throws", () => {
  const unrated = ruleProposal(
    { ...bench, impressions: [] },
    proposed("weigh-what-players-feel"),
    options,
  );
  assert.equal(unrated.verdict, "not enough evidence");
  assert.equal(unrated.gain.estimate, null);
  const unread: Bench = {
    ...bench,
    trials: bench.trials.filter(({ metric_id }) => metric_id !== "mass"),
  };
  const empty = ruleProposal(unread, proposed("weigh-what-players-feel"), options);
  assert.equal(empty.rank_moves.share, null);
  assert.equal(empty.criteria[1].outcome, "can't be judged");
  assert.equal(empty.verdict, "keep"); // no shoe can be scored: the coverage asked for is not there
});

Deno.test("a duplicated shoe ties with its twin under both rules and flips with nobody against it", () => {
  const first = bench.shoes[5].shoe_id;
  const twin = <T extends { shoe_id: string }>(rows: readonly T[]) => [
    ...rows,
    ...rows.filter(({ shoe_id }) => shoe_id === first).map((row) => ({ ...row, shoe_id: "twin" })),
  ];
  const doubled: Bench = {
    ...bench,
    shoes: twin(bench.shoes),
    trials: twin(bench.trials),
    features: twin(bench.features),
    impressions: twin(bench.impressions),
  };
  const result = ruleProposal(doubled, proposed("weigh-what-players-feel"), options);
  const [a, b] = [first, "twin"].map((id) =>
    result.rank_moves.shoes.find(({ shoe_id }) => shoe_id === id)!
  );
  assert.deepEqual([a.old_rank, a.new_rank], [b.old_rank, b.new_rank]);
  assert.equal(result.flips.pairs, 49 * 48 / 2 - 1); // two references take no place
});

Deno.test("a fifth more or less of a weight leaves the others in proportion and the sum as it was", () => {
  for (const { weight, lower, higher } of good.sensitivity) {
    assertClose(lower.weight, weight * 0.8, { within: 1e-12 });
    assertClose(higher.weight, weight * 1.2, { within: 1e-12 });
    assert.ok(lower.same_order! > 0.9 && lower.same_order! <= 1);
  }
});

Deno.test("a weight's step counts the shoes that move by more than three places, reference shoes left out", () => {
  const { rule } = proposed("weigh-what-players-feel");
  const { table } = ruleValues(bench, rule.terms.map(({ metric }) => metric), null);
  const placesOf = (weights: readonly number[]) => {
    const terms = rule.terms.map((term, j) => ({ ...term, weight: weights[j] }));
    const scores = applyRule(bench, { ...rule, effective: "", terms }, table)
      .filter(({ shoe_id, score }) =>
        score !== null && !bench.settings.reference_shoes.includes(shoe_id)
      );
    const ordered = scores.map(({ score }) => score!).sort((a, b) => b - a);
    return new Map(scores.map(({ shoe_id, score }) => [shoe_id, ordered.indexOf(score!)]));
  };
  const whole = rule.terms.reduce((sum, { weight }) => sum + weight, 0);
  const plain = placesOf(rule.terms.map(({ weight }) => weight));
  good.sensitivity.forEach(({ lower, higher }, place) => {
    for (const step of [lower, higher]) {
      const left = whole - rule.terms[place].weight;
      const moved = placesOf(
        rule.terms.map(({ weight }, j) =>
          j === place ? step.weight : weight * (whole - step.weight) / left
        ),
      );
      const far = [...plain].filter(([shoe, at]) => Math.abs(moved.get(shoe)! - at) > 3).length;
      assertClose(step.share_moved, far / plain.size, { within: 1e-12 });
    }
  });
});

Deno.test("shoes at an end of a narrow range pile up and are counted", () => {
  const narrow = changed("weigh-what-players-feel", {
    rule: {
      terms: [{ metric: "mass", weight: 1, scaling: { kind: "range", low: 370, high: 365 } }],
    },
  });
  const [mass] = ruleProposal(bench, narrow, options).pile_ups
    .filter(({ table }) => table === "proposed");
  assert.equal(mass.piled, true);
  assert.ok(mass.at_floor + mass.at_ceiling > 35);
});

Deno.test("under a standard scaling the gain sets each shoe against the catalogue without it", () => {
  const standard = changed("weigh-what-players-feel", {
    rule: {
      terms: [{ metric: "mass", weight: 1, scaling: { kind: "standard" } }],
      bonuses: [],
    },
  });
  const result = ruleProposal(bench, standard, options);
  assert.ok(result.gain.estimate !== null);
  // One term only: its order is that of the metric, with or without the shoe itself.
  const ranged = changed("weigh-what-players-feel", {
    rule: {
      terms: [{ metric: "mass", weight: 1, scaling: { kind: "range", low: 900, high: 100 } }],
      bonuses: [],
    },
  });
  const { gain_new } = ruleProposal(bench, ranged, options);
  assertClose(result.gain_new.estimate, gain_new.estimate!, { within: 0.02 });
});

Deno.test("a version that is not there and a metric nobody knows are refused by name", () => {
  const one = proposed("weigh-what-players-feel");
  assert.throws(
    () => ruleProposal(bench, { ...one, against: "7" }, options),
    /against version "7" of "speed-index", which is not there; the bench has 1, 2/,
  );
  const unknown = changed("weigh-what-players-feel", {
    rule: { terms: [{ metric: "bounce", weight: 1, scaling: { kind: "standard" } }] },
  });
  assert.throws(() => ruleProposal(bench, unknown, options), /weighs "bounce", which is no metric/);
});

Deno.test("the same data and seed give the same bytes, with the keys of the contract", () => {
  const result = proposalResult(bench, {
    seed: 1,
    verdict: good,
    proposal: { file: "x.json", sha256: "" },
  });
  const again = proposalResult(bench, {
    seed: 1,
    verdict: judge("weigh-what-players-feel"),
    proposal: { file: "x.json", sha256: "" },
  });
  assert.equal(JSON.stringify(result), JSON.stringify(again));
  const keys = Object.keys(result);
  for (
    const key of [
      "kind",
      "schema",
      "made_with",
      "seed",
      "data",
      "warnings",
      "verdict",
      "criteria",
      "criteria_sha256",
      "gain",
      "coverage",
      "rank_moves",
      "flips",
      "sensitivity",
      "bonuses",
      "scores_old",
      "scores_new",
      "rebench",
    ]
  ) assert.ok(keys.includes(key), key);
});
