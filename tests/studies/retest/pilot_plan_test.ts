import assert from "node:assert/strict";
import { loadBench } from "../../../lib/records/load_bench.ts";
import { benchStage } from "../../../lib/studies/coverage/bench_stage.ts";
import { pilotPlan, pilotWithin } from "../../../lib/studies/retest/pilot_plan.ts";
import { stageMarkdown, stageSentences } from "../../../lib/words/coverage/stage_words.ts";
import { pilotSentence } from "../../../lib/words/retest/pilot_words.ts";
import { smallBench } from "../small_bench.ts";

const twelve = Array.from({ length: 12 }, (_, i) => ({
  shoe: `s${i}`,
  session: "a",
  values: [40 + i],
}));

Deno.test("a metric that no shoe was read twice on gets a pilot of five shoes over its range, three readings each", () => {
  const pilot = pilotPlan(smallBench(twelve));
  assert.deepEqual(pilot.shoes, ["s0", "s3", "s6", "s8", "s11"]);
  assert.deepEqual(new Set(pilot.visits.map(({ trials }) => trials)), new Set([3]));
  assert.equal(pilot.minutes, 50);
  assert.match(
    pilotSentence(pilot, pilot.visits)!,
    /the noise of height is unknown, and 3 readings each of 5 shoes tell it, in about 50 minutes/,
  );
});

Deno.test("one shoe read twice ends the need of a pilot, and the demo needs none", async () => {
  const [first, ...rest] = twelve;
  const repeated = smallBench([{ ...first, values: [40, 41] }, ...rest]);
  assert.deepEqual(pilotPlan(repeated).visits, []);
  assert.deepEqual(pilotPlan(await loadBench("data-demo")).visits, []);
});

Deno.test("a pilot keeps within the time there is, but for its first metric", () => {
  const bench = smallBench(twelve);
  const [metric] = bench.metrics;
  const two = { ...bench, metrics: [metric, { ...metric, id: "other" }] };
  const pilot = pilotPlan(two);
  assert.equal(pilot.visits.length, 10);
  assert.equal(pilotWithin(pilot, { minutes: 60 }).length, 5);
  assert.equal(pilotWithin(pilot, { minutes: 5 }).length, 5);
  assert.equal(pilotWithin(pilot, { slots: 20 }).length, 10);
});

Deno.test("single readings, one shoe, no ratings and no direction are each said in at most two sentences", async () => {
  const single = benchStage(smallBench(twelve));
  const said = stageSentences(single, "answer");
  assert.equal(said.length, 1);
  assert.match(
    said[0],
    /read once a shoe and visit.*no place told from chance\. Three readings each of five/,
  );
  assert.match(stageSentences(single, "review").join(" "), /Nobody has rated a shoe yet/);
  const alone = benchStage(smallBench([{ shoe: "s", session: "a", values: [40, 41] }]));
  assert.match(stageSentences(alone, "answer")[0], /One shoe has been read/);
  const undirected = benchStage(smallBench(twelve, { about: { better: "none" } }));
  assert.match(stageSentences(undirected, "answer").at(-1)!, /no best is named on it/);
  assert.deepEqual(stageSentences(benchStage(await loadBench("data-demo")), "review"), []);
});

Deno.test("a page of a young bench begins with what it can't say yet; one that lacks nothing has no such heading", async () => {
  const young = stageMarkdown(smallBench(twelve), "review");
  assert.match(young, /^## What this bench can't say yet\n\n- Every metric was read once/);
  assert.match(young, /\n- Nobody has rated a shoe yet/);
  assert.equal(stageMarkdown(await loadBench("data-demo"), "review"), "");
});
