import assert from "node:assert/strict";
import { judgeProposal } from "../../../lib/studies/proposal/judge_proposal.ts";
import { loadBench } from "../../../lib/records/load_bench.ts";
import { ruleProposal } from "../../../lib/studies/proposal/rule_proposal.ts";

const bench = await loadBench(new URL("../../../data-demo", import.meta.url).pathname);
const seed = 7;

Deno.test("judgeProposal() takes the proposal asked last where none is named, and gives its verdict", async () => {
  const dates = bench.proposals.map(({ asked_on }) => asked_on);
  assert.ok(new Set(dates).size > 1, "the demo's proposals were asked on different days");
  const { proposal, verdict } = await judgeProposal(bench, "", { seed });
  assert.equal(proposal.asked_on, dates.toSorted().at(-1));
  assert.deepEqual(verdict, ruleProposal(bench, proposal, { seed }));
});

Deno.test("judgeProposal() judges the one named, and refuses a name that is not there", async () => {
  for (const { id } of bench.proposals) {
    assert.equal((await judgeProposal(bench, id, { seed })).proposal.id, id);
  }
  await assert.rejects(judgeProposal(bench, "no-such-proposal", { seed }), RangeError);
});

Deno.test("judgeProposal() says that a bench has no proposal yet", async () => {
  await assert.rejects(
    judgeProposal({ ...bench, proposals: [] }, "", { seed }),
    /has no proposal yet: write one into proposals/,
  );
});
