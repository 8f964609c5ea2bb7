import assert from "node:assert/strict";
import { chartAlt } from "../../lib/charts/figure.ts";
import { indexSentence } from "../../lib/words/index/index_sentence.ts";
import { indexChart } from "../../lib/charts/index_chart.ts";
import { inventedScores } from "./invented_results.ts";
import { chartFaults, textBoxes } from "./text_boxes.ts";

for (const width of [340, 360, 640, 1000]) {
  Deno.test(`indexChart() keeps 45 shoes legible at ${width} px`, () => {
    assert.deepEqual(chartFaults(indexChart(inventedScores(), { width, invented: true })), []);
  });
}

Deno.test("indexChart() writes each rank with the ranks it might as well be", () => {
  const scores = inventedScores(12);
  const words = textBoxes(indexChart(scores)).map(({ text }) => text);
  for (const { rank, rank_lower, rank_upper } of scores.shoes) {
    if (rank !== null) assert.ok(words.includes(`${rank} (${rank_lower}–${rank_upper})`));
  }
});

Deno.test("indexChart() gives the reason of a withheld score in full, below if not beside", () => {
  const scores = inventedScores(12);
  const words = textBoxes(indexChart(scores, { width: 340 })).map(({ text }) => text).join(" ");
  assert.ok(
    words.includes(
      "no value for friction-dusty, abrasion-depth, and the rule withholds such scores.",
    ),
  );
});

Deno.test("indexChart() says why a score has no interval, rather than draw it as certain", () => {
  const scores = inventedScores(4);
  const shoes = scores.shoes.map((shoe, index) =>
    index === 1
      ? { ...shoe, lower: null, upper: null, interval_reason: { code: "no-repeats", subjects: 3 } }
      : shoe
  );
  const chart = indexChart({ ...scores, shoes });
  assert.deepEqual(chartFaults(chart), []);
  const wanted = `${shoes[1].name}: no interval: no shoe was read twice.`;
  assert.ok(textBoxes(chart).some(({ text }) => text === wanted));
});

Deno.test("indexChart() shows the first shoes only when asked, and says so", () => {
  const words = textBoxes(indexChart(inventedScores(), { most: 10 })).map(({ text }) => text);
  assert.ok(words.includes("The first 10 of 45 shoes."));
});

Deno.test("indexChart() names the shoes that could be first in its alt text", () => {
  const scores = inventedScores();
  const alt = chartAlt(indexChart(scores));
  assert.ok(alt.includes(indexSentence(scores)));
  const first = scores.shoes.filter(({ band }) => band === 1).map(({ name }) => name).join(", ");
  assert.ok(alt.includes(`Those that could be first: ${first}.`));
});

Deno.test("indexChart() draws no shoe as words, one shoe, and shoes none of which has a score", () => {
  const none = inventedScores(0);
  assert.equal(textBoxes(indexChart(none))[0].text, "No shoe to score: the bench has none yet.");
  assert.deepEqual(chartFaults(indexChart(inventedScores(1), { width: 340 })), []);
  const scores = inventedScores(4);
  const withheld = scores.shoes.map((shoe) => ({
    ...shoe,
    name: `<b>&"${"Courtside ".repeat(9)}${shoe.name}`,
    score: null,
    score_reason: { code: "no-term-has-a-value" },
    lower: null,
    upper: null,
    rank: null,
    rank_lower: null,
    rank_upper: null,
    band: null,
  }));
  assert.deepEqual(chartFaults(indexChart({ ...scores, shoes: withheld }, { width: 340 })), []);
});
