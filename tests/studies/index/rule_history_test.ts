import assert from "node:assert/strict";
import { benchUntil } from "../../../lib/records/quarters.ts";
import { indexScores } from "../../../lib/studies/index/index_scores.ts";
import { ruleHistory } from "../../../lib/studies/index/rule_history.ts";
import { assertClose } from "../../assert_close.ts";
import { demoWithPlantedNoise } from "../rule_data.ts";
import { historySentence } from "../../../lib/words/index/history_sentence.ts";

const { bench, reliability } = await demoWithPlantedNoise();
const history = ruleHistory(bench);

Deno.test("every version in force is looked up at each quarter's end and on its last day", () => {
  assert.deepEqual(history.versions.map(({ version, until, days }) => [version, until, days]), [
    ["1", "2025-12-31", ["2025-09-30", "2025-12-31"]],
    ["2", "2026-09-29", ["2026-03-31", "2026-06-30", "2026-09-29"]],
  ]);
});

Deno.test("a score of the past is the one that the index table gave on that day", () => {
  for (const [place, version] of history.versions.entries()) {
    for (const day of version.days) {
      const then = indexScores(benchUntil(bench, day), { reliability, draws: 100 });
      assert.equal(then.rule!.version, version.version);
      for (const { shoe_id, score, rank } of then.shoes) {
        const found = history.shoes.find((shoe) => shoe.shoe_id === shoe_id)!
          .versions[place].then.find(({ date }) => date === day)!;
        assert.deepEqual([found.score, found.rank], [score, rank], `${shoe_id} ${day}`);
      }
    }
  }
});

Deno.test("the link between versions carries mean and spread of one scale to the other", () => {
  const [{ link_to_next }] = history.versions;
  const pairs = history.shoes.flatMap(({ versions: [old, updated] }) =>
    old.now?.score == null || updated.now?.score == null ? [] : [[old.now.score, updated.now.score]]
  );
  const mean = (values: number[]) => values.reduce((a, b) => a + b) / values.length;
  const onNew = pairs.map(([old]) => link_to_next!.intercept! + link_to_next!.slope! * old);
  assertClose(mean(onNew), mean(pairs.map(([, updated]) => updated)), { within: 1e-9 });
  const spread = (values: number[]) => mean(values.map((v) => (v - mean(values)) ** 2));
  assertClose(spread(onNew), spread(pairs.map(([, updated]) => updated)), { within: 1e-9 });
  assert.equal(history.versions[1].link_to_next, null);
});

Deno.test("a rule that holds only after the last data, or none at all, has no history yet", () => {
  const future = bench.rules.map((rule) => ({ ...rule, effective: "2030-01-01" }));
  assert.deepEqual(ruleHistory({ ...bench, rules: future }).versions, []);
  assert.match(historySentence(ruleHistory({ ...bench, rules: [] })), /No version/);
  assert.equal(ruleHistory({ ...bench, sessions: [], trials: [], impressions: [] }).today, null);
});
