import assert from "node:assert/strict";
import { contributionsChart } from "../../lib/charts/contributions_chart.ts";
import { chartAlt } from "../../lib/charts/figure.ts";
import { gainChart, recalibrationGains } from "../../lib/charts/gain_chart.ts";
import { rankSlopeChart } from "../../lib/charts/rank_slope_chart.ts";
import { ruleHistoryChart } from "../../lib/charts/rule_history_chart.ts";
import { weightsChart } from "../../lib/charts/weights_chart.ts";
import type {
  IndexRecalibration,
  RecalibrationFit,
} from "../../lib/studies/index/index_recalibration.ts";
import { rankMoves } from "../../lib/studies/index/rank_moves.ts";
import type { RuleHistory } from "../../lib/studies/index/rule_history.ts";
import { estimate, inventedScores, metricTitles, nothing, sequence } from "./invented_results.ts";
import { chartFaults, textBoxes } from "./text_boxes.ts";

const random = sequence(3);
const scores = inventedScores();
const old = {
  ...scores,
  shoes: scores.shoes.map((shoe) => ({
    ...shoe,
    terms: metricTitles.slice(0, 7).map(([metric]) => ({
      metric,
      value: 1,
      value_reason: null,
      scaled: 0.5,
      weight: 0.1,
      // Standard scaling gives points below 0 too.
      points: random() - 0.2,
    })),
    bonuses: [{ feature: "heel-clip", points: 0.1 }],
  })),
};
const updated = {
  ...old,
  shoes: old.shoes.map((shoe) => ({
    ...shoe,
    score: shoe.score === null ? null : shoe.score + random() - 0.5,
  })),
};
const moves = rankMoves(old, updated);
const titles = Object.fromEntries(metricTitles.map(([id, title]) => [id, title]));

const weights: Pick<IndexRecalibration, "weights" | "rule" | "confidence" | "advice"> = {
  rule: {
    id: "speed",
    version: "1",
    title: "Speed",
    effective: "2026-01-01",
    target_attribute: "speed",
    offset: 0,
  },
  confidence: 0.95,
  advice: "keep",
  weights: metricTitles.slice(0, 6).map(([metric, title], index) => ({
    place: index,
    metric,
    title,
    old: 0.2,
    new: index === 5
      ? nothing({ code: "on-no-rated-shoe" })
      : estimate(0.1 + 0.05 * index, 0.05, 0.4),
    best_fit: 0.2,
    kept: index === 2,
  })),
};

const history: RuleHistory = {
  today: "2026-09-30",
  versions: ["1", "2"].map((version, place) => ({
    version,
    title: `Speed ${version}`,
    effective: ["2025-07-01", "2026-01-01"][place],
    until: ["2025-12-31", "2026-09-30"][place],
    days: [["2025-09-30", "2025-12-31"], ["2026-03-31", "2026-09-30"]][place],
    link_to_next: null,
  })),
  shoes: old.shoes.map(({ shoe_id, name }, index) => ({
    shoe_id,
    name,
    versions: [["2025-09-30", "2025-12-31"], ["2026-03-31", "2026-09-30"]].map((days, place) => ({
      version: String(place + 1),
      then: days.map((date) => ({
        date,
        score: index % 9 === 0 ? null : random() * 2,
        score_reason: index % 9 === 0 ? { code: "no-term-has-a-value" } : null,
        rank: index % 9 === 0 ? null : 1 + Math.floor(random() * 40),
      })),
      now: null,
    })),
  })),
};

const gains = [
  { title: "Rebound, grip and mass", gain: estimate(0.31, 0.09, 0.55) },
  { title: "Nothing known", gain: nothing({ code: "none-scored-twice" }) },
];

for (const width of [340, 360, 640, 1000]) {
  Deno.test(`the charts of rules stay legible at ${width} px`, () => {
    const options = { width, invented: true };
    const charts = {
      rankSlopeChart: rankSlopeChart(moves, options),
      weightsChart: weightsChart(weights, options),
      gainChart: gainChart(gains, { ...options, wanted: 0.02 }),
      contributionsChart: contributionsChart(old, { ...options, titles, base: 1 }),
      ruleHistoryChart: ruleHistoryChart(history, options),
    };
    for (const [name, chart] of Object.entries(charts)) {
      assert.deepEqual(chartFaults(chart), [], name);
    }
  });
}

Deno.test("rankSlopeChart() writes each shoe's old and new rank, and says how many move far", () => {
  const chart = rankSlopeChart(moves);
  const words = textBoxes(chart).map(({ text }) => text);
  for (const { old_rank, new_rank } of moves.shoes) {
    assert.ok(words.includes(String(old_rank)) && words.includes(String(new_rank)));
  }
  assert.ok(chartAlt(chart).includes(`${moves.more_than_three} move more than three places`));
});

Deno.test("gainChart() names the gain asked for and the reason of one that is missing", () => {
  const chart = gainChart(gains, { wanted: 0.02 });
  assert.match(chartAlt(chart), /\+0\.02 is asked for\. .*\+0\.31 \(\+0\.09 to \+0\.55\)/);
  const words = textBoxes(chart).map(({ text }) => text).join(" ");
  assert.ok(words.includes("no estimate: no shoe has a score in both tables"));
});

Deno.test("recalibrationGains() leaves out the rule in force, whose gain is nothing, and names metrics and proposals", () => {
  const fits = [
    {
      candidate: "weights in force",
      rank_correlation: estimate(0.4, 0.1, 0.6),
      gain: gains[0].gain,
    },
    { candidate: "new weights", rank_correlation: estimate(0.5, 0.2, 0.7), gain: gains[0].gain },
    {
      candidate: "best single metric",
      title: "Mass",
      rank_correlation: estimate(0.5, 0.2, 0.7),
      gain: gains[0].gain,
    },
  ].map((fit) => ({
    title: null,
    in_force: estimate(0.4, 0.1, 0.6),
    ...fit,
    error: 1,
  })) as readonly RecalibrationFit[];
  assert.deepEqual(recalibrationGains({ fits }).map(({ title }) => title), [
    "New weights",
    "Best single metric: Mass",
  ]);
});

Deno.test("weightsChart() says of each weight where it goes and whether the old one lies outside its interval", () => {
  const words = textBoxes(weightsChart(weights)).map(({ text }) => text);
  assert.ok(words.includes("0.2 → 0.2"));
  assert.ok(words.includes("0.2 → 0.1, the old one outside its interval"));
});

Deno.test("contributionsChart() draws every shoe's points from one nought a column, all columns on one scale", () => {
  const chart = contributionsChart(old, { titles, most: 5 });
  const words = textBoxes(chart).map(({ text }) => text);
  assert.ok(words.includes(old.shoes[0].score!.toFixed(2)));
  assert.ok(words.some((text) => /^The first 5 of \d+ shoes\.$/.test(text)));
  const bars = [...chart.querySelectorAll("rect")].filter((rect) =>
    rect.getAttribute("height") === "14"
  );
  const scored = old.shoes.filter(({ score }) => score !== null).slice(0, 5);
  const [one] = bars.map((bar) => Number(bar.getAttribute("width")));
  const largest = scored[0].terms[0].points!;
  const metric = scored[0].terms[0].metric;
  // The first column is the first named term: its bars are as long as its points, on one scale.
  const columns = bars.length / scored.length;
  assert.ok(Number.isInteger(columns) && columns >= 5);
  scored.forEach((shoe, row) => {
    const points = shoe.terms.find((term) => term.metric === metric)!.points!;
    const drawn = Number(bars[row * columns].getAttribute("width"));
    assert.ok(
      Math.abs(drawn / one - Math.abs(points) / Math.abs(largest)) < 0.05 || Math.abs(drawn) < 0.5,
      `row ${row}`,
    );
  });
});

Deno.test("rankSlopeChart() colours only shoes whose order with another is turned round beyond noise", () => {
  const at = (rank_lower: number, rank_upper: number) => ({ rank_lower, rank_upper });
  const table = (
    rows: readonly [string, number, { rank_lower: number; rank_upper: number }][],
  ) => ({
    shoes: rows.map(([shoe_id, score, limits]) => ({
      ...old.shoes[0],
      shoe_id,
      name: shoe_id,
      score,
      reference: false,
      ...limits,
    })),
  });
  const before = table([["a", 4, at(1, 1)], ["b", 3, at(2, 3)], ["c", 2, at(2, 3)], [
    "d",
    1,
    at(4, 4),
  ]]);
  const after = table([["a", 1, at(4, 4)], ["b", 2, at(2, 3)], ["c", 3, at(2, 3)], [
    "d",
    4,
    at(1, 1),
  ]]);
  const { shoes } = rankMoves(before, after);
  // b and c change places too, but could have stood either way in both tables.
  assert.deepEqual(shoes.map(({ shoe_id, flips }) => [shoe_id, flips]), [
    ["a", 3],
    ["b", 2],
    ["c", 2],
    ["d", 3],
  ]);
  const apart = rankMoves(
    before,
    table([["a", 4, at(1, 1)], ["b", 2, at(2, 3)], ["c", 3, at(2, 3)], [
      "d",
      1,
      at(4, 4),
    ]]),
  );
  assert.deepEqual(apart.shoes.map(({ flips }) => flips), [0, 0, 0, 0]);
  const words = textBoxes(rankSlopeChart(apart)).map(({ text }) => text);
  assert.ok(words.includes("may be noise"));
  assert.ok(!words.some((text) => /for sure/.test(text)));
});

Deno.test("charts of rules with nothing to show say why", () => {
  const words = (chart: Parameters<typeof textBoxes>[0]) => textBoxes(chart)[0].text;
  assert.match(words(rankSlopeChart(rankMoves({ shoes: [] }, { shoes: [] }))), /No ranks/);
  assert.match(words(weightsChart({ ...weights, rule: null })), /no index rule/);
  assert.match(words(gainChart([], { wanted: 0.1 })), /No gain/);
  assert.match(words(contributionsChart({ shoes: [], rule: null })), /No score/);
  assert.match(words(ruleHistoryChart({ ...history, shoes: [] })), /No score so far/);
});

Deno.test("ruleHistoryChart() names the shoes asked for", () => {
  const [a, b] = history.shoes.slice(1, 3);
  const words = textBoxes(ruleHistoryChart(history, { shoes: [a.shoe_id, b.shoe_id] }))
    .map(({ text }) => text).join(" ");
  assert.ok(words.includes(a.name) && words.includes(b.name));
});
