import assert from "node:assert/strict";
import type { Bench } from "../../../lib/records/types.ts";
import { likeShoes } from "../../../lib/studies/questions/like_shoes.ts";
import { trialReliability } from "../../../lib/studies/repeatability/trial_reliability.ts";
import { likeChart } from "../../../lib/charts/like_chart.ts";
import { chartAlt } from "../../../lib/charts/figure.ts";
import { differsWords, likeWords } from "../../../lib/words/questions/like_words.ts";
import { assertClose } from "../../assert_close.ts";
import { likeBench } from "../../benchmarks/like_yardstick.ts";
import { inR, rVector, testInR } from "../../statistics/in_r.ts";

/** Noise as the bench has it; any metric may be published. */
function noiseOf(bench: Bench) {
  const { metrics } = trialReliability(bench, { seed: 1, resamples: 100 });
  return {
    metrics: metrics.map((row) => ({ ...row, verdict: "fit to rank single shoes" as const })),
  };
}

// Shoes 1 to 5 equal the one asked about, shoe 6 is off by two errors on every metric, the rest far away.
const { bench } = likeBench({ shoes: 12, metrics: 12, shape: "normal" }, 5);
const reliability = noiseOf(bench);
const result = likeShoes(bench, { shoe: "s0", reliability });
const shoeOf = (id: string) => result.shoes.find(({ shoe_id }) => shoe_id === id)!;

Deno.test("shoes off by a little on every metric are told apart by all together on benches where no metric tells them by itself", () => {
  const benches = Array.from({ length: 12 }, (_, i) => {
    const made = likeBench({ shoes: 12, metrics: 12, shape: "normal" }, 100 + i).bench;
    return likeShoes(made, { shoe: "s0", reliability: noiseOf(made) });
  });
  const off = benches.map(({ shoes }) => shoes.find(({ shoe_id }) => shoe_id === "s6")!);
  const told = off.filter(({ word }) => word === "told apart");
  const together = told.filter(({ differs_on }) => differs_on.length === 0);
  assert.ok(told.length >= 10, `${told.length} of 12 told apart`);
  assert.ok(together.length >= 4, `${together.length} of 12 by all metrics only`);
  for (const shoe of together) {
    assert.ok(shoe.joint_p_adjusted <= 0.05);
    assert.equal(shoe.distance_at_most, null);
    assert.equal(differsWords(shoe), "differs over all tests together");
  }
});

Deno.test("equal shoes can't be told apart, and what may still lie between them is never nothing, however near they read", () => {
  // One of them reads nearer than noise has it on average.
  assert.ok(shoeOf("s4").distance < 0.7);
  for (const id of ["s1", "s2", "s3", "s4", "s5"]) {
    const { word, joint_p_adjusted, distance_at_most } = shoeOf(id);
    assert.equal(word, "can't be told apart");
    assert.ok(joint_p_adjusted > 0.05 && distance_at_most! > 0.9 && distance_at_most! < 2);
  }
});

testInR(
  "p-values of all metrics together, over all shoes, are R's: Fisher's and twice Holm's of single t tests",
  () => {
    // One metric at a time, the joint p is the t test's own.
    const single = bench.metrics.map(({ id }) =>
      likeShoes(bench, { shoe: "s0", metrics: [id], reliability }).shoes
    );
    const ids = result.shoes.map(({ shoe_id }) => shoe_id);
    const lists = ids.map((id) =>
      single.map((shoes) => shoes.find(({ shoe_id }) => shoe_id === id)!.joint_p)
    );
    const [joint, adjusted] = inR(
      `p <- list(${lists.map(rVector).join(",")})
     joint <- sapply(p, function(x) pchisq(-2 * sum(log(x)), 2 * length(x), lower.tail = FALSE))
     out(joint); out(pmin(1, 2 * p.adjust(joint, "holm")))`,
    );
    result.shoes.forEach((shoe, i) => {
      assertClose(shoe.joint_p, joint[i], { relative: 1e-9 });
      assertClose(shoe.joint_p_adjusted, adjusted[i], { relative: 1e-9 });
    });
  },
);

Deno.test("on one metric the joint test is the single one and takes all of the risk", () => {
  const { shoes } = likeShoes(bench, { shoe: "s0", metrics: ["m0"], reliability });
  for (const { word, differs_on, joint_p_adjusted } of shoes) {
    assert.equal(word === "told apart", joint_p_adjusted <= 0.05);
    assert.equal(word === "told apart", differs_on.length === 1);
  }
  assert.ok(shoes.some(({ word }) => word === "told apart"));
});

Deno.test("a shoe that shares only metrics whose noise is unknown is neither told apart nor like: it can't be told", () => {
  // Two more metrics, read once each: nothing is known of their noise.
  const once = ["once", "again"].map((id) => ({ ...bench.metrics[0], id, title: `Read ${id}` }));
  const first = bench.trials.filter(({ metric_id, session_id, trial }) =>
    metric_id === "m0" && session_id === "d0" && trial === 1
  );
  const own = {
    ...bench,
    metrics: [...bench.metrics, ...once],
    trials: [
      ...bench.trials.filter(({ shoe_id }) => shoe_id !== "s3"),
      ...first.map((row) => ({ ...row, metric_id: "once" })),
      ...first.filter(({ shoe_id }) => shoe_id !== "s3").map((row) => ({
        ...row,
        metric_id: "again",
      })),
    ],
  };
  const found = likeShoes(own, { shoe: "s0", reliability: noiseOf(own) });
  assert.deepEqual(found.cant_tell, [
    { shoe_id: "s3", name: "Maker s3", titles: ["Read once"] },
  ]);
  assert.ok(found.shoes.every(({ shoe_id }) => shoe_id !== "s3"));
  const { notes } = likeWords(found);
  assert.ok(notes.includes(
    "Can't tell of Maker s3: the noise of the tests that they share is unknown.",
  ));
  assert.deepEqual(result.cant_tell, []);
});

Deno.test("a shoe off the end of a scale is told from one far inside it by that test alone, not from one its bound may hold", () => {
  // Equal shoes, which read about 20 on every metric: one is read as more than 40 on the first, another as more than 5.
  const bounds = new Map([["s1", { above: 40 }], ["s2", { above: 5 }]]);
  const own = {
    ...bench,
    trials: bench.trials.map((row) => {
      const bound = row.metric_id === "m0" ? bounds.get(row.shoe_id) ?? null : null;
      return bound === null ? row : { ...row, value: null, bound };
    }),
  };
  const noise = noiseOf(own);
  const found = likeShoes(own, { shoe: "s0", reliability: noise });
  const wordOf = (id: string) => {
    const { metrics, differs_on, word } = found.shoes.find(({ shoe_id }) => shoe_id === id)!;
    return [metrics, differs_on, word];
  };
  assert.deepEqual(wordOf("s1"), [11, ["Metric 0"], "told apart"]);
  assert.deepEqual(wordOf("s2"), [11, [], "can't be told apart"]);
  assert.deepEqual(wordOf("s3"), [12, [], "can't be told apart"]);
  assert.deepEqual(found.bounded.map(({ shoe_id }) => shoe_id).toSorted(), ["s1", "s2"]);
  // Asked the other way round: all shoes that read about 20 differ from the one read as more than 40.
  const turned = likeShoes(own, { shoe: "s1", reliability: noise });
  assert.ok(!turned.left_out.includes("Metric 0"));
  for (const id of ["s0", "s3", "s4", "s5"]) {
    const other = turned.shoes.find(({ shoe_id }) => shoe_id === id)!;
    assert.deepEqual([other.differs_on, other.word], [["Metric 0"], "told apart"]);
  }
});

Deno.test("picture and words name the same shoes as not told apart, and say how far they may still be", () => {
  const open = result.shoes.filter(({ word }) => word !== "told apart");
  const { notes, alt } = likeWords(result);
  const limits = open.map(({ distance_at_most }) => distance_at_most!.toFixed(1)).toSorted();
  assert.ok(
    notes.some((note) => note.includes(`at most ${limits[0]} to ${limits.at(-1)} times the noise`)),
    notes.join("\n"),
  );
  for (const { name, distance_at_most } of open) {
    assert.ok(alt.includes(`${name} ${distance_at_most!.toFixed(1)}`), alt);
  }
  assert.equal(chartAlt(likeChart(result)), alt);
});

Deno.test("a metric that was compared is not said to be left out, nor one computed from its trials; one not fit to publish is", () => {
  const [first, second] = bench.metrics;
  const computed = {
    ...second,
    id: "computed",
    title: "Computed",
    derive: { from: first.id, by: "half", with: {} },
  } as unknown as Bench["metrics"][number];
  const trials = bench.trials.filter(({ metric_id }) => metric_id === first.id);
  const own = {
    ...bench,
    metrics: [...bench.metrics, computed],
    trials: [...bench.trials, ...trials.map((row) => ({ ...row, metric_id: "computed" }))],
  };
  const unfit = {
    metrics: reliability.metrics.map((row) =>
      row.metric === second.id ? { ...row, verdict: "not fit to publish" as const } : row
    ),
  };
  const { left_out, on } = likeShoes(own, { shoe: "s0", reliability: unfit });
  assert.equal(on.length, bench.metrics.length - 1);
  assert.deepEqual(left_out, [second.title]);
});
