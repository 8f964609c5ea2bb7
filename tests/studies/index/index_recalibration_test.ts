import assert from "node:assert/strict";
import { mean, sampleStandardDeviation } from "simple-statistics";
import { loadProposal } from "../../../lib/records/load_proposal.ts";
import { writeDraft } from "../../../lib/records/write_draft.ts";
import { loadBench } from "../../../lib/records/load_bench.ts";
import { spearman } from "../../../lib/statistics/spearman.ts";
import { applyRule } from "../../../lib/studies/index/apply_rule.ts";
import { indexScores } from "../../../lib/studies/index/index_scores.ts";
import {
  indexRecalibration,
  recalibrationData,
} from "../../../lib/studies/index/index_recalibration.ts";
import { ruleProposal } from "../../../lib/studies/proposal/rule_proposal.ts";
import { ruleValues } from "../../../lib/studies/index/rule_values.ts";
import { assertClose } from "../../assert_close.ts";
import { demoWithPlantedNoise, withoutHalf } from "../rule_data.ts";
import { sayReason } from "../../../lib/words/reasons.ts";

const { bench, reliability } = await demoWithPlantedNoise();
const options = { seed: 20260101, reliability };
const found = indexRecalibration(bench, options);
const rule = bench.rules.at(-1)!;

Deno.test("new weights are at least 0 and sum to the old sum", () => {
  const weights = found.weights.map((weight) => weight.new.estimate!);
  assert.ok(weights.every((weight) => weight >= 0));
  assertClose(weights.reduce((a, b) => a + b), 1, { within: 1e-12 });
  for (const { kept, old, new: { estimate }, kept_reason } of found.weights) {
    assert.equal(kept, estimate === old);
    assert.equal(kept, kept_reason !== null);
  }
});

Deno.test("in the demo wear gives its weight away and grip gets more, as planted", () => {
  const weight = (id: string) => found.weights.find(({ metric }) => metric === id)!;
  assert.ok(weight("outsole-wear").new.estimate! < 0.25);
  assert.ok(weight("tilt-slip-dry").new.estimate! > 0.1);
  assert.ok(weight("outsole-wear").new.upper! < 0.25);
  assert.equal(found.advice, "not enough evidence");
  assert.ok(found.shoes_needed! > 0);
});

Deno.test("the weights in force are judged by their published scores, the mean by no order at all", () => {
  const { table } = ruleValues(bench, rule.terms.map(({ metric }) => metric), null);
  const data = recalibrationData(bench, rule);
  const scores = new Map(applyRule(bench, rule, table).map((row) => [row.shoe_id, row.score!]));
  const rho = spearman(data.shoe_ids.map((id) => scores.get(id)!), data.ratings, {
    interval: "none",
  });
  const fit = (name: string) => found.fits.find(({ candidate }) => candidate === name)!;
  assertClose(fit("weights in force").rank_correlation.estimate, rho.estimate!, { within: 1e-12 });
  assert.equal(fit("weights in force").gain.estimate, 0);
  assert.equal(fit("the mean").rank_correlation.estimate, null);
  assert.match(sayReason(fit("the mean").rank_correlation.estimate_reason!), /same score/);
  assert.ok(fit("the mean").error! > 0);
  assertClose(
    found.gain.estimate,
    fit("new weights").rank_correlation.estimate! - rho.estimate!,
    { within: 1e-12 },
  );
});

Deno.test("the link keeps mean and spread of the published scale", () => {
  const column = (key: "old_score" | "new_score") => found.rank_moves.shoes.map((row) => row[key]);
  assertClose(mean(column("new_score")), mean(column("old_score")), { within: 1e-9 });
  assertClose(
    sampleStandardDeviation(column("new_score")),
    sampleStandardDeviation(column("old_score")),
    { within: 1e-9 },
  );
});

Deno.test("weights that might have come out otherwise widen the limits of scores", () => {
  const plain = indexScores(bench, { ...options, rule });
  const [first, second, ...rest] = rule.terms.map(({ weight }) => weight);
  const drawn = indexScores(bench, {
    ...options,
    rule,
    weightDraws: [[first + 0.2, second - 0.2, ...rest], [first - 0.2, second + 0.2, ...rest]],
  });
  const width = ({ shoes }: typeof plain) => mean(shoes.map(({ upper, lower }) => upper! - lower!));
  assert.ok(width(drawn) > 1.2 * width(plain));
  assert.deepEqual(drawn.shoes.map(({ score }) => score), plain.shoes.map(({ score }) => score));
  const same = indexScores(bench, {
    ...options,
    rule,
    weightDraws: [rule.terms.map(({ weight }) => weight)],
  });
  same.shoes.forEach(({ lower }, place) => {
    assertClose(lower, plain.shoes[place].lower!, { within: 1e-9 });
  });
});

Deno.test("the draft is a proposal that loads, and its gain is judged with weights fitted without each shoe", async () => {
  const out = await Deno.makeTempDir();
  try {
    const path = await writeDraft(out, found.draft);
    const { proposal } = await loadProposal(bench, path!);
    assert.equal(proposal.against, rule.version);
    assertClose(proposal.rule.terms.reduce((sum, { weight }) => sum + weight, 0), 1, {
      within: 1e-12,
    });
    const verdict = ruleProposal(bench, proposal, options);
    assert.match(verdict.gain_basis, /fitted again without them/);
    // Rounding the draft's weights may swap two shoes.
    assertClose(verdict.gain.estimate, found.gain.estimate!, { within: 0.01 });
    const edited = {
      ...proposal,
      rule: {
        ...proposal.rule,
        terms: proposal.rule.terms.map((term, j) => ({ ...term, weight: j + 1 })),
      },
    };
    const other = ruleProposal(bench, edited, options);
    assert.match(other.gain_basis, /only shoes first rated after it count/);
    assert.equal(other.gain.estimate, null);
  } finally {
    await Deno.remove(out, { recursive: true });
  }
});

Deno.test("with half the shoes lacking a term, the others are used and the rest named", () => {
  const half = withoutHalf(bench, "tilt-slip-dry");
  const part = indexRecalibration(half, { ...options, resamples: 200 });
  assert.equal(part.shoes + part.left_out.length, bench.shoes.length);
  assert.ok(part.shoes > 15 && part.shoes < 30);
  assert.ok(part.left_out.some(({ reason }) => reason === "no value for tilt-slip-dry"));
  assert.notEqual(part.gain.estimate, null);
});

Deno.test("without a rule, ratings or shoes with all terms there is a reason and no advice to change", () => {
  const cases = [
    [{ ...bench, rules: [] }, /no index rule in force/],
    [{ ...bench, impressions: [] }, /no shoes; 6 are needed/],
    [{ ...bench, trials: bench.trials.filter((row) => row.metric_id !== "mass") }, /are needed/],
  ] as const;
  for (const [empty, reason] of cases) {
    const result = indexRecalibration(empty, options);
    assert.equal(result.advice, "not enough evidence");
    assert.match(result.advice_reason, reason);
    assert.equal(result.draft, null);
    JSON.stringify(result, (_, value) => {
      assert.ok(value !== undefined && !Number.isNaN(value));
      return value;
    });
  }
});

Deno.test("in the cheddar study no weights are shown to beat equal ones", async () => {
  const cheese = await loadBench(
    new URL("../../references/bench-cheese", import.meta.url).pathname,
  );
  const result = indexRecalibration(cheese, { seed: 1, reliability: { metrics: [] } });
  assert.ok(result.weights.every(({ kept }) => kept));
  assert.equal(result.draft, null);
  assert.equal(result.gain.n, 30);
  assert.ok(Math.abs(result.gain.estimate!) < 0.05);
  assert.notEqual(result.advice, "adopt");
});
