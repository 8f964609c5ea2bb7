import assert from "node:assert/strict";
import { loadBench } from "../../../lib/mod.ts";
import { auditFinding } from "../../../lib/words/audit/audit_finding.ts";
import { glossary } from "../../../lib/words/glossary.ts";
import { recalibrationFinding } from "../../../lib/words/index/recalibration_finding.ts";
import { panelFinding } from "../../../lib/words/panel/panel_finding.ts";
import { predictionFinding } from "../../../lib/words/prediction/prediction_finding.ts";
import { countsSentence } from "../../../lib/words/review/counts_sentence.ts";
import { driftSentence, stepRows } from "../../../lib/words/drift/drift_sentences.ts";
import { studies } from "../../../lib/mod.ts";
import { benchUntil } from "../../../lib/records/quarters.ts";
import { namesIn, unfoundNumbers } from "../numbers_in_words.ts";

const demo = benchUntil(
  await loadBench(new URL("../../../data-demo", import.meta.url).pathname),
  "2026-09-30",
);
const seed = 1;
const reliability = studies.trialReliability(demo, { seed, resamples: 200 });
const panel = studies.panelAgreement(demo, { seed, resamples: 200 });
const prediction = studies.courtPrediction(demo, {
  reliability,
  panel,
  seed,
  resamples: 200,
  permutations: 500,
});
const scores = studies.indexScores(demo, { reliability, seed });
const coverage = studies.benchCoverage(demo, { quarter: "2026Q3" });

Deno.test("predictionFinding() counts every pair of a metric of its own once", () => {
  const [all, ...parts] = [
    ...predictionFinding(prediction).replace(/\(.*?\)/g, "")
      .replace(" over 48 shoes, 34 lines and 7 makers", "").matchAll(/\d+/g),
  ].map(Number);
  assert.equal(all, prediction.pairs.filter(({ derived_from }) => derived_from === null).length);
  assert.equal(all, parts.reduce((sum, count) => sum + count, 0));
  const open = prediction.pairs.filter(({ claim }) => claim === "can't tell");
  assert.match(
    predictionFinding({ ...prediction, pairs: open }),
    /^Of \d+ pairs of a metric and an impression, none holds up as a prediction, and for \d+ these 48 shoes can't tell\.$/,
  );
  assert.match(predictionFinding({ ...prediction, pairs: [] }), /no metric, or no impression/);
});

Deno.test("panelFinding() names the impressions with the highest and the lowest reliability of the panel's value", () => {
  const sorted = panel.attributes.filter(({ value_reliability }) =>
    value_reliability.estimate !== null
  )
    .toSorted((a, b) => b.value_reliability.estimate! - a.value_reliability.estimate!);
  const said = panelFinding(panel);
  assert.ok(
    said.startsWith(`The panel's value is surest on ${sorted[0].title.toLowerCase()}`),
    said,
  );
  assert.ok(said.includes(`least sure on ${sorted.at(-1)!.title.toLowerCase()}`), said);
  assert.deepEqual(unfoundNumbers(said, panel, { names: namesIn(demo) }), []);
  assert.match(panelFinding({ attributes: [] }), /Nobody has rated/);
});

Deno.test("recalibrationFinding() says the gain with its interval and what is asked of it", () => {
  const result = studies.indexRecalibration(demo, { reliability, scores, seed });
  const said = recalibrationFinding(result);
  assert.deepEqual(unfoundNumbers(said, result, { names: namesIn(demo) }), []);
  assert.match(said, /gain −?\d\.\d\d \(.* to .*\).* 0\.05 is worth a change/);
});

Deno.test("countsSentence() says of every shoe and metric that is counted less often why", () => {
  const said = countsSentence({ coverage, prediction, scores });
  const references = scores.shoes.filter(({ reference }) => reference).length;
  assert.ok(
    said.startsWith(`Of ${coverage.shoes.length} shoes ${references} are references`),
    said,
  );
  assert.match(said, /Of \d+ metrics 1 is computed from another/);
  const alone = countsSentence({
    coverage,
    prediction: {
      ...prediction,
      pairs: prediction.pairs.filter(({ derived_from }) => derived_from === null),
    },
    scores,
  });
  assert.match(alone, /1 has no shoe that was rated too/);
});

Deno.test("auditFinding() falls back on the whole sentence where a part was not asked for", () => {
  const none = { repeatability: null, prediction: null };
  assert.equal(auditFinding(none), "");
});

Deno.test("a drift sentence names each metric that jumps once, its table says each jump by how much", () => {
  const drift = studies.referenceDrift(demo);
  const found = drift.steps.filter((step) => step.found);
  assert.ok(found.length > 1);
  assert.equal(stepRows(drift).length, found.length);
  for (const { title } of found) {
    assert.equal(
      driftSentence(drift).split("jump on")[1].toLowerCase().split(title.toLowerCase()).length,
      2,
      title,
    );
  }
});

Deno.test("glossary() explains each term once, and every number in it is the bench's", () => {
  const lines = glossary({ reliability, panel, prediction, scores }).split("\n");
  const terms = lines.map((line) => /^- _([^_]+)_/.exec(line)?.[1]);
  assert.equal(new Set(terms).size, terms.length);
  assert.ok(terms.every((term) => term !== undefined));
  for (
    const word of ["disattenuated", "family-wise", "lines not seen", "signal", "could be first"]
  ) {
    assert.ok(lines.some((line) => line.toLowerCase().includes(word)), word);
  }
  const everything = { reliability, panel, prediction, scores };
  const wrong = lines.flatMap((line) =>
    unfoundNumbers((/ Here (.*)\.$/.exec(line)?.[1] ?? "").replace(/\\/g, ""), everything, {
      names: namesIn(demo),
    })
  );
  assert.deepEqual(wrong, []);
});
