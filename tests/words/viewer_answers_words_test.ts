import assert from "node:assert/strict";
import { fileURLToPath } from "node:url";
import { divisionChart } from "../../lib/charts/division_chart.ts";
import { standingChart } from "../../lib/charts/standing_chart.ts";
import { versionsChart } from "../../lib/charts/versions_chart.ts";
import { loadBench } from "../../lib/records/load_bench.ts";
import { catalogueStanding } from "../../lib/studies/comparison/catalogue_standing.ts";
import { indexVersions } from "../../lib/studies/questions/index_versions.ts";
import { panelDivision } from "../../lib/studies/questions/panel_division.ts";
import { sizeChange } from "../../lib/studies/questions/size_change.ts";
import { trialReliability } from "../../lib/studies/repeatability/trial_reliability.ts";
import { wearChange } from "../../lib/studies/wear/wear_change.ts";
import { referenceDrift } from "../../lib/studies/drift/reference_drift.ts";
import { rigSentence } from "../../lib/words/drift/drift_sentences.ts";
import { amountLimits, pFigure } from "../../lib/words/phrases.ts";
import { sizeWords } from "../../lib/words/questions/size_words.ts";
import { versionWords } from "../../lib/words/questions/version_words.ts";
import { sizeLabel } from "../../lib/words/size_label.ts";
import { wearWords } from "../../lib/words/wear/wear_words.ts";
import { textBoxes } from "../charts/text_boxes.ts";

const bench = await loadBench(fileURLToPath(new URL("../../data-demo", import.meta.url)));
const reliability = trialReliability(bench, { seed: 1, resamples: 100 });

const drawnTexts = (svg: Parameters<typeof textBoxes>[0]) => textBoxes(svg).map(({ text }) => text);

Deno.test("a claimed change of play is told with limits on its own side, as amounts, and with the hours it took", () => {
  const wear = wearChange(bench, { metric: "tilt-slip-dry", reliability });
  const { lower, upper } = wear.mean_change;
  assert.ok(lower! < upper! && upper! < 0);
  const { sentence } = wearWords(wear);
  const [, least, most, from, to] =
    /falls by [\d.]+° \(([\d.]+)° to ([\d.]+)°\) on average of 5 pairs after (\d+) to (\d+) h/.exec(
      sentence,
    ) ?? assert.fail(sentence);
  assert.equal(Number(least), Number((-upper!).toFixed(1)));
  assert.equal(Number(most), Number((-lower!).toFixed(1)));
  const hours = wear.pairs.map((pair) => pair.hours);
  assert.deepEqual([Number(from), Number(to)], [Math.min(...hours), Math.max(...hours)]);
});

Deno.test("what another size changes is told as more or less of a longer or shorter foot, in no code of a size system", () => {
  const result = sizeChange(bench, { metric: "inside-length", reliability });
  const { sentence, alt } = sizeWords(result);
  for (const { word, name, foot_mm, change } of result.pairs) {
    assert.equal(word, "changes");
    const foot = `${name} for a foot ${Math.abs(foot_mm).toFixed(1)} mm ${
      foot_mm < 0 ? "shorter" : "longer"
    }`;
    assert.ok(sentence.includes(foot), `${sentence} lacks ${foot}`);
    const amount = `${Math.abs(change.estimate!).toFixed(1)} mm ${
      change.estimate! < 0 ? "less" : "more"
    }`;
    assert.ok(sentence.includes(amount), `${sentence} lacks ${amount}`);
  }
  assert.doesNotMatch(sentence + alt, /us-men|us-women|−\d[^)]*less/);
  assert.deepEqual(["us-men 11", "us-women 8.5", "eu 42", "mondopoint 285"].map(sizeLabel), [
    "US men's 11",
    "US women's 8.5",
    "EU 42",
    "mondopoint 285",
  ]);
});

Deno.test("of one version of the index nothing is said of two, in words or picture, and its axis runs from the first place to the last", () => {
  const result = indexVersions(bench, { shoe: "pavrico-orbinel-2", reliability, seed: 1 });
  assert.equal(result.versions.length, 2);
  const one = { ...result, versions: result.versions.slice(1) };
  for (const [told, two] of [[result, true], [one, false]] as const) {
    const drawn = drawnTexts(versionsChart(told, { width: 640 })).join(" ");
    assert.equal(/two versions/.test(versionWords(told).notes.join(" ")), two);
    assert.equal(/two versions/.test(drawn), two);
    assert.match(drawn, new RegExp(`Place, from 1 to ${told.versions[0].placed}`));
  }
});

Deno.test("a picture of divided shoes counts the shoes it holds, and calls none of them mere chance", () => {
  const result = panelDivision(bench, { seed: 1 });
  for (const [after, most, held] of [[0, 6, 6], [6, 6, 2], [0, 40, 8]]) {
    const texts = drawnTexts(divisionChart(result, { width: 640, after, most }));
    const said = texts.join(" ");
    assert.match(said, new RegExp(`The (next )?${held} least like chance`));
    assert.equal(/The next/.test(said), after > 0);
    assert.equal(texts.filter((text) => /: may be chance$/.test(text)).length, held);
  }
});

Deno.test("a marked shoe is no smaller in the pile than the shoes around it, however tall the picture", () => {
  const result = catalogueStanding(bench, {
    metric: "mass",
    shoes: ["pavrico-orbinel-3"],
    reliability,
  });
  for (const height of [300, 600, 1200]) {
    const svg = standingChart(result, { width: 640, height });
    const rings = [...svg.querySelectorAll("circle")].map((ring) => Number(ring.getAttribute("r")));
    const scales = [...svg.querySelectorAll("path")].map((path) =>
      Number(/scale\(([\d.]+)\)/.exec(path.getAttribute("transform") ?? "")?.[1] ?? 1)
    );
    assert.ok(5 * Math.max(...scales) >= Math.max(...rings), `at ${height} px`);
  }
});

Deno.test("no p is written as 0", () => {
  assert.deepEqual([0.0004, 0.00099, 0.001, 0.0449].map(pFigure), [
    "< 0.001",
    "< 0.001",
    "0.001",
    "0.045",
  ]);
});

Deno.test("what falls, falls by an amount between two amounts; limits on both sides of 0 keep their signs", () => {
  assert.deepEqual(amountLimits(-2.3, -1.5), [1.5, 2.3]);
  assert.deepEqual(amountLimits(1.5, 2.3), [1.5, 2.3]);
  assert.deepEqual(amountLimits(-0.4, 0.2), [-0.4, 0.2]);
  const drift = referenceDrift(bench);
  const claimed = drift.rigs.filter(({ verdict }) => verdict === "the bench drifts");
  assert.ok(claimed.length > 0);
  for (const rig of claimed) assert.doesNotMatch(rigSentence(rig), /(?:falls|fell) by [^)]*−/);
});
