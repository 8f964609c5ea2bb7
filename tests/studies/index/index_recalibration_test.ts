import assert from "node:assert/strict";
import { mean, sampleStandardDeviation } from "simple-statistics";
import { loadProposal } from "../../../lib/records/load_proposal.ts";
import { writeDraft } from "../../../lib/records/write_draft.ts";
import { loadBench } from "../../../lib/records/load_bench.ts";
import { indexScores } from "../../../lib/studies/index/index_scores.ts";
import { indexRecalibration } from "../../../lib/studies/index/index_recalibration.ts";
import { adviceReason, adviceSentence } from "../../../lib/words/index/recalibration_sentences.ts";
import { gainBasisWords } from "../../../lib/words/proposal/proposal_sentences.ts";
import { ruleProposal } from "../../../lib/studies/proposal/rule_proposal.ts";
import { sayReason } from "../../../lib/words/reasons.ts";
import { assertClose } from "../../assert_close.ts";
import { demoWithPlantedNoise, withoutHalf } from "../rule_data.ts";

const { bench, reliability } = await demoWithPlantedNoise();
const options = { seed: 20260101, reliability };
const found = indexRecalibration(bench, options);
const rule = bench.rules.at(-1)!;

Deno.test("new weights are at least 0 and sum to the old sum", () => {
  const weights = found.weights.map((weight) => weight.new.estimate!);
  assert.ok(weights.every((weight) => weight >= 0));
  assertClose(weights.reduce((a, b) => a + b), 1, { within: 1e-12 });
  for (const { kept, old, new: { lower, upper } } of found.weights) {
    assert.equal(kept, lower! <= old && old <= upper!);
  }
});

Deno.test("in the demo wear gives its weight away and grip gets more, as planted", () => {
  const weight = (id: string) => found.weights.find(({ metric }) => metric === id)!;
  assert.ok(weight("outsole-wear").new.estimate! < 0.25);
  assert.ok(weight("tilt-slip-dry").new.estimate! > 0.1);
  assert.ok(weight("outsole-wear").new.upper! < 0.25);
  assert.equal(found.advice, "not enough evidence");
  assert.equal(found.because.kind, "open");
});

Deno.test("the weights in force gain nothing over themselves, and every other candidate has limits", () => {
  const fit = (name: string) => found.fits.find(({ candidate }) => candidate === name)!;
  assert.equal(fit("weights in force").gain.estimate, 0);
  for (const { candidate, gain, error } of found.fits) {
    assert.ok(gain.lower! <= gain.estimate! && gain.estimate! <= gain.upper!, candidate);
    assert.ok(error! > 0);
  }
  assert.deepEqual(found.gain, fit("new weights").gain);
});

Deno.test("proposals on file stand among the candidates with the gain that their own verdict gives", () => {
  const onFile = found.fits.filter(({ candidate }) => candidate === "proposal");
  assert.deepEqual(onFile.map(({ title }) => title), bench.proposals.map(({ title }) => title));
  bench.proposals.forEach((proposal, place) => {
    assert.deepEqual(ruleProposal(bench, proposal, options).gain, onFile[place].gain);
  });
});

Deno.test("the advice is never to keep while a candidate's limit reaches what makes a change worth while", () => {
  for (const min_gain of [0.01, 0.05, 0.2, 0.3, 0.4, 0.6]) {
    const result = indexRecalibration(bench, { ...options, min_gain });
    const reached = result.fits.some(({ candidate, gain }) =>
      candidate !== "weights in force" && gain.upper! >= min_gain
    );
    if (result.advice === "keep") assert.ok(!reached);
    if (reached) assert.doesNotMatch(adviceSentence(result), /no candidate/);
    assert.equal(result.draft === null, result.advice === "keep");
  }
  assert.equal(indexRecalibration(bench, { ...options, min_gain: 0.6 }).advice, "keep");
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

Deno.test("the draft is a proposal that loads, and its verdict has the gain of the recalibration to the last digit", async () => {
  const out = await Deno.makeTempDir();
  try {
    const path = await writeDraft(out, found.draft);
    const proposal = await loadProposal(bench, path!);
    assert.equal(proposal.against, rule.version);
    assertClose(proposal.rule.terms.reduce((sum, { weight }) => sum + weight, 0), 1, {
      within: 1e-12,
    });
    const verdict = ruleProposal(bench, proposal, options);
    assert.match(gainBasisWords(verdict.gain_basis), /gives them no credit/);
    assertClose(verdict.gain.estimate, found.gain.estimate!, { within: 1e-9 });
    assertClose(verdict.gain.lower, found.gain.lower!, { within: 1e-9 });
    const edited = {
      ...proposal,
      rule: {
        ...proposal.rule,
        terms: proposal.rule.terms.slice(1),
      },
    };
    const other = ruleProposal(bench, edited, options);
    assert.match(
      gainBasisWords(other.gain_basis),
      /only shoes first rated after that day count: 0/,
    );
    assert.equal(other.gain.estimate, null);
  } finally {
    await Deno.remove(out, { recursive: true });
  }
});

Deno.test("with half the shoes lacking a term, the others are used and the rest named", () => {
  const half = withoutHalf(bench, "tilt-slip-dry");
  const part = indexRecalibration(half, options);
  assert.equal(part.shoes + part.left_out.length, bench.shoes.length);
  assert.ok(part.shoes > 15 && part.shoes < 30);
  assert.ok(
    part.left_out.some(({ reason }) => sayReason(reason) === "no value for tilt-slip-dry"),
  );
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
    assert.match(adviceReason(result), reason);
    assert.equal(result.draft, null);
    JSON.stringify(result, (_, value) => {
      assert.ok(value !== undefined && !Number.isNaN(value));
      return value;
    });
  }
});

Deno.test("in the cheddar study equal weights are not shown to be worth a change, though acetic acid weighs too much", async () => {
  const cheese = await loadBench(
    new URL("../../references/bench-cheese", import.meta.url).pathname,
  );
  const result = indexRecalibration(cheese, { seed: 1, reliability: { metrics: [] } });
  assert.deepEqual(result.weights.filter(({ kept }) => !kept).map(({ place }) => place), [0]);
  assert.equal(result.gain.n, 30);
  assert.ok(Math.abs(result.gain.estimate!) < 0.05);
  assert.notEqual(result.advice, "adopt");
});
