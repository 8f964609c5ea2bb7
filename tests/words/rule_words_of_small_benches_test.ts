import assert from "node:assert/strict";
import { charts, loadBench, studies, words } from "bench-to-court";
import { chartAlt } from "../../lib/charts/figure.ts";
import { settleWords } from "../../lib/words/index/settle_words.ts";
import { textBoxes } from "../charts/text_boxes.ts";
import { demo, eight } from "./eight_shoes.ts";

/** Sentences about rules and weights, read on thirty cheeses read once each and on eight shoes of the demo. */
const cheese = await loadBench(new URL("../references/bench-cheese", import.meta.url).pathname);
const seed = 1;
const ofCheese = studies.indexRecalibration(cheese, { seed });
const ofEight = studies.indexRecalibration(eight, { seed });
const verdicts = new Map(eight.proposals.map((proposal) => [
  proposal.id,
  studies.ruleProposal(eight, proposal, { seed }),
]));
const written = (chart: Parameters<typeof textBoxes>[0]) =>
  textBoxes(chart).map(({ text }) => text).join(" ");

Deno.test("thirty cheeses of one maker stand on 1 maker, not on 1 makers", () => {
  const { markdown } = words.index.recalibrationSummary(ofCheese);
  assert.match(markdown, /[Oo]n 30 shoes \(30 lines, 1 maker\)/);
});

Deno.test("a weight outside its interval is nowhere shown to be off, as many were looked at", () => {
  const outside = ofCheese.weights.filter(({ kept }) => !kept);
  assert.equal(outside.length, 1);
  const { know } = words.index.recalibrationSummary(ofCheese);
  assert.match(know[1], /^Outside its interval, each looked at alone: acetic acid .* by chance\.$/);
  for (const text of [know.join(" "), chartAlt(charts.weights(ofCheese))]) {
    assert.doesNotMatch(text, /\boff\b/);
  }
});

Deno.test("each candidate's rank correlation stands beside that of the weights in force judged alike, which its gain is over", () => {
  for (const { fits } of [ofCheese, ofEight]) {
    for (const { candidate, rank_correlation, in_force, gain } of fits) {
      if (gain.estimate === null) continue;
      assert.ok(
        Math.abs(rank_correlation.estimate! - in_force.estimate! - gain.estimate) < 0.1,
        `${candidate}: ${rank_correlation.estimate} − ${in_force.estimate}, not ${gain.estimate}`,
      );
    }
  }
  const equal = words.index.fitRows(ofCheese).find(({ candidate }) =>
    candidate === "equal weights"
  )!;
  assert.equal(equal["rank correlation"], equal["in force, judged alike"]);
});

Deno.test("where seven shoes bear no best fit, no weight is called right and no bar is explained", () => {
  assert.ok(ofEight.weights.every(({ best_fit }) => best_fit === null));
  for (const row of words.index.weightRows(ofEight)) {
    assert.equal(row["what it shows"], "too few shoes for a best fit");
  }
  const text = written(charts.weights(ofEight));
  assert.doesNotMatch(text, /Bars are/);
  assert.match(text, /no best fit: too few shoes/);
});

Deno.test("of a score no term is said to bring most, unless it does", () => {
  const [first] = ofCheese.scores_new.shoes;
  const most = Math.max(...first.terms.map(({ points }) => points!));
  assert.ok(most < first.score! / 2);
  assert.doesNotMatch(chartAlt(charts.contributions(ofCheese.scores_new)), /most of it/);
});

Deno.test("a reference shoe is in no count of bonuses, ranges or scores taken apart", () => {
  assert.match(chartAlt(charts.contributions(ofEight.scores_new)), /scores of 7 shoes/);
  for (const { bonuses, pile_ups } of verdicts.values()) {
    assert.ok(pile_ups.every(({ shoes }) => shoes <= 7));
    assert.ok(bonuses.every(({ with: has, without }) => has + without <= 7));
  }
});

Deno.test("where the noise of all scores is unknown, no number of orders is said to change beyond it", () => {
  const chart = charts.rankSlope(ofCheese.rank_moves);
  for (const text of [chartAlt(chart), written(chart)]) {
    assert.match(text, /[Ww]hether an order changes beyond noise can't be told/);
    assert.doesNotMatch(text, /\b0 (of 30 )?(shoes )?(are shown to )?change order/);
  }
  assert.match(chartAlt(chart), /: 1 moves more than three places/);
  assert.match(
    chartAlt(charts.rankSlope(ofEight.rank_moves)),
    /; \d of 7 (is|are) shown to change order/,
  );
});

Deno.test("one version of a rule leaves no empty sentence and explains no break of its line", () => {
  const chart = charts.ruleHistory(studies.ruleHistory(cheese));
  assert.doesNotMatch(chartAlt(chart), /\.\s*\./);
  assert.doesNotMatch(written(chart), /Lines break|rule changes/);
});

Deno.test("three shoes more let a proposal be judged, and are not said to settle it", () => {
  const { criteria } = verdicts.get("add-forefoot-bending")!;
  const gain = criteria.find(({ name }) => name === "min_gain")!;
  assert.ok(gain.settles?.kind === "more-shoes");
  assert.equal(gain.settles.settle.shoes, null);
  assert.equal(
    settleWords(gain.settles.settle, "a rating and both scores"),
    "3 more shoes with a rating and both scores are needed before anything can be said.",
  );
});

Deno.test("pairs that the table in force tells apart are counted among all pairs, not among those that change their order", () => {
  const verdict = verdicts.get("weigh-what-players-feel")!;
  assert.ok(verdict.flips.told_apart > verdict.flips.flipped);
  assert.match(
    words.proposal.paragraphs(eight, verdict).flips,
    new RegExp(`Of all 21 pairs the table in force tells ${verdict.flips.told_apart} apart`),
  );
});

Deno.test("the gain of a changed weight is called another figure than the verdict's, which knows of kin", () => {
  const [row] = words.proposal.sensitivityRows(verdicts.get("reward-the-toe-guard")!);
  assert.ok("gain, plain rank correlation" in row);
});

Deno.test("the picture of ranks counts the shoes that the text tells apart the other way round, and no others", () => {
  const verdict = studies.ruleProposal(
    demo,
    demo.proposals.find(({ id }) => id === "weigh-what-players-feel")!,
    { seed },
  );
  const { real } = verdict.flips;
  assert.ok(real.length > 0);
  const turned = new Set(real.flatMap(({ was_ahead, now_ahead }) => [was_ahead, now_ahead]));
  const { rank_moves } = verdict;
  const drawn = rank_moves.shoes.filter(({ flips, places }) => flips > 0 && places !== 0);
  assert.deepEqual(drawn.map(({ shoe_id }) => shoe_id).toSorted(), [...turned].toSorted());
  assert.match(
    chartAlt(charts.rankSlope(rank_moves)),
    new RegExp(`${turned.size} of ${rank_moves.compared} are shown to change order`),
  );
});

Deno.test("who stands first in a proposed table is told with how many could be first", () => {
  const verdict = verdicts.get("weigh-what-players-feel")!;
  const { could_be_old, could_be_new, changes } = verdict.flips.leader;
  assert.ok(changes && could_be_old > 1);
  assert.match(
    words.proposal.paragraphs(eight, verdict).flips,
    new RegExp(`; ${could_be_old} shoes could be first in the table in force, ${could_be_new} in`),
  );
});
