import assert from "node:assert/strict";
import { composeSvg } from "../../lib/charts/compose_svg.ts";
import { chartAlt } from "../../lib/charts/figure.ts";
import { indexChart } from "../../lib/charts/index_chart.ts";
import { reliabilityChart } from "../../lib/charts/reliability_chart.ts";
import { inventedReliability, inventedScores } from "./invented_results.ts";
import { chartFaults, textBoxes } from "./text_boxes.ts";

const words = {
  title:
    "The Dunmarrow Courtside Comfort Wide 1 grips better than the Ashgrove Volley 1 by enough to feel",
  alt: "Grip: 0.82 against 0.74.",
  provenance: "Data 3fa91c2e · rule court-index 3 · 36 trials · bench up to 2026-09-30",
  invented: true,
};

for (const [width, height] of [[1920, 1080], [1080, 1080], [1080, 1920]]) {
  Deno.test(`composeSvg() makes a sound picture of ${width} by ${height}`, () => {
    const bodies = [
      (slot: { width: number }) => indexChart(inventedScores(12), { width: slot.width }),
      (slot: { width: number }) => indexChart(inventedScores(1), { width: slot.width }),
      (slot: { width: number }) =>
        reliabilityChart({ metrics: inventedReliability().slice(0, 5), confidence: 0.95 }, {
          width: slot.width,
        }),
    ];
    for (const body of bodies) {
      const picture = composeSvg(body, { ...words, size: { width, height } });
      assert.deepEqual(chartFaults(picture), []);
      assert.equal(picture.getAttribute("viewBox"), `0 0 ${width} ${height}`);
      assert.equal(chartAlt(picture), words.alt);
      assert.equal([...picture.querySelectorAll("desc")].length, 1);
      assert.ok(textBoxes(picture).some(({ text }) => text === "Invented data"));
    }
  });
}

Deno.test("composeSvg() leaves the mark off for measured data, and shrinks a very long title", () => {
  const size = { width: 1080, height: 1080 };
  const body = (slot: { width: number }) => indexChart(inventedScores(4), { width: slot.width });
  const plain = composeSvg(body, { ...words, invented: false, size });
  assert.ok(!textBoxes(plain).some(({ text }) => text === "Invented data"));
  const long = composeSvg(body, { ...words, title: `${words.title}, and ${words.title}`, size });
  assert.deepEqual(chartFaults(long), []);
  assert.ok(textBoxes(long)[0].size < textBoxes(plain)[0].size);
});

Deno.test("composeSvg() refuses a chart that holds more than can be read", () => {
  const all = { metrics: inventedReliability(), confidence: 0.95 };
  const body = (slot: { width: number }) => reliabilityChart(all, { width: slot.width });
  const wide = { ...words, size: { width: 1920, height: 1080 } };
  assert.throws(() => composeSvg(body, wide), /show fewer rows/);
  const tall = { ...words, size: { width: 1080, height: 1920 } };
  assert.deepEqual(chartFaults(composeSvg(body, tall)), []);
});

Deno.test("composeSvg() refuses a picture too small to read", () => {
  assert.throws(
    () =>
      composeSvg((slot) => indexChart(inventedScores(4), { width: slot.width }), {
        ...words,
        size: { width: 200, height: 200 },
      }),
    RangeError,
  );
});
