import assert from "node:assert/strict";
import { loadBench } from "../../../lib/records/load_bench.ts";
import { proposalsOnFile, unfitWeights } from "../../../lib/studies/proposal/proposals_on_file.ts";
import { ruleProposal } from "../../../lib/studies/proposal/rule_proposal.ts";
import { trialReliability } from "../../../lib/studies/repeatability/trial_reliability.ts";
import { filedRows, unfitSentence } from "../../../lib/words/proposal/filed_words.ts";

const bench = await loadBench(new URL("../../../data-demo", import.meta.url).pathname);
const seed = 1;
const reliability = trialReliability(bench, { seed, resamples: 100 });

Deno.test("every proposal on file gets the verdict that it gets alone, the newest first", () => {
  const filed = proposalsOnFile(bench, { reliability, seed });
  assert.equal(filed.length, bench.proposals.length);
  for (const { id, verdict, gain } of filed) {
    const proposal = bench.proposals.find((one) => one.id === id)!;
    const alone = ruleProposal(bench, proposal, { reliability, seed });
    assert.deepEqual([verdict, gain], [alone.verdict, alone.gain]);
  }
  const days = filed.map(({ asked_on }) => asked_on);
  assert.deepEqual(days, days.toSorted().reverse());
  assert.equal(filedRows(filed).length, filed.length);
});

Deno.test("a proposal for another index can't be judged, and the row says why", () => {
  const [first] = bench.proposals;
  const other = { ...first, rule: { ...first.rule, id: "another-index" } };
  const [row] = proposalsOnFile({ ...bench, proposals: [other] }, { reliability, seed });
  assert.equal(row.verdict, null);
  assert.ok(row.verdict_reason !== null);
  assert.ok(String(filedRows([row])[0].verdict).length > 10);
});

Deno.test("the weight on metrics not fit to publish is their share of all weights, each metric once", () => {
  const term = (metric: string, weight: number) => ({
    metric,
    weight,
    scaling: { kind: "standard" } as const,
  });
  const rule = { terms: [term("a", 1), term("b", 2), term("a", 1), term("c", 4)] };
  const metric = (id: string, verdict: "fit for tiers" | "not fit to publish") => ({
    metric: id,
    title: `Metric ${id}`,
    verdict,
  });
  const unfit = unfitWeights(rule, [
    metric("a", "not fit to publish"),
    metric("b", "fit for tiers"),
    metric("c", "not fit to publish"),
  ]);
  assert.deepEqual(unfit.map(({ metric, share }) => [metric, share]), [["c", 0.5], ["a", 0.25]]);
  assert.match(unfitSentence(unfit, { id: "x" }), /^75% of the weight in force/);
  assert.deepEqual(unfitWeights(null, [metric("a", "not fit to publish")]), []);
});

Deno.test("no weight is said to rest on a fit metric where none can be judged, or where there is no rule", () => {
  const rule = {
    id: "x",
    terms: ["a", "b", "c"].map((metric) => ({
      metric,
      weight: 1,
      scaling: { kind: "standard" } as const,
    })),
  };
  const verdicts = ["can't tell", "too few shoes to tell", "not fit to publish"] as const;
  const unfit = unfitWeights(
    rule,
    ["a", "b", "c"].map((metric, i) => ({ metric, title: metric, verdict: verdicts[i] })),
  );
  assert.equal(
    unfitSentence(unfit, rule),
    "33% of the weight in force rests on a metric that isn't fit to publish: c (33%). " +
      "67% of the weight in force rests on metrics that can't be judged yet: a (33%) and b (33%).",
  );
  assert.match(unfitSentence([], null), /^No rule is in force/);
  assert.match(unfitSentence([], rule), /^Every weight/);
});
