import assert from "node:assert/strict";
import * as Plot from "@observablehq/plot";
import { chartPng } from "../../lib/charts/chart_png.ts";
import { chartSvg } from "../../lib/charts/chart_svg.ts";
import { plot } from "../../lib/charts/plot.ts";
import { colour, seriesColours } from "../../lib/charts/theme.ts";
import { chartFaults, textBoxes } from "./text_boxes.ts";

const shoes = [
  { shoe: "a", price: 90, mass: 310, court: "clay" },
  { shoe: "b", price: 120, mass: 290, court: "hard" },
  { shoe: "c", price: 150, mass: 335, court: "clay" },
];
const dots = Plot.dot(shoes, { x: "price", y: "mass", stroke: "court", symbol: "court" });

function texts(chart: ReturnType<typeof plot>): string[] {
  return textBoxes(chart).map(({ text }) => text);
}

Deno.test("charts.plot() draws Plot's marks on the kit's card, as one <svg> that a PNG can be made of", async () => {
  const chart = plot({ marks: [dots, Plot.ruleY([300])], provenance: "Small bench" });
  const svg = chartSvg(chart);
  assert.match(svg, /^<svg /);
  assert.ok(svg.includes(colour.card));
  assert.deepEqual(chartFaults(chart), []);
  assert.ok(texts(chart).includes("Small bench"));
  const png = await chartPng(chart);
  assert.deepEqual([...png.slice(1, 4)], [...new TextEncoder().encode("PNG")]);
});

Deno.test("charts.plot() shows itself in a cell, with words for a reader who can't see it", async () => {
  const display = Symbol.for("Jupyter.display");
  const bare = await plot({ marks: [dots] })[display]();
  assert.match(bare["image/svg+xml"], /^<svg [^>]*xmlns=/);
  assert.match(bare["image/svg+xml"], /@font-face/);
  assert.equal(bare["text/plain"], "mass against price.");
  const said = await plot({ marks: [dots], title: "Light and dear", alt: "The dear are light." })[
    display
  ]();
  assert.equal(said["text/plain"], "The dear are light.");
});

Deno.test("charts.plot() writes title, subtitle and caption on the card, where Plot would make a page of them", () => {
  const chart = plot({
    marks: [dots],
    title: "Light & <dear>",
    subtitle: "Three shoes",
    caption: "As bought",
  });
  assert.equal(chart.localName, "svg");
  for (const words of ["Light & <dear>", "Three shoes", "As bought"]) {
    assert.ok(texts(chart).includes(words), words);
  }
  assert.doesNotMatch(chartSvg(chart), /<dear>|<figure|<h2/);
});

Deno.test("charts.plot() explains colours and symbols together in one key, in the kit's colours", () => {
  const chart = plot({ marks: [dots], color: { legend: true }, symbol: { legend: true } });
  assert.deepEqual(texts(chart).filter((text) => ["clay", "hard"].includes(text)), [
    "clay",
    "hard",
  ]);
  const svg = chartSvg(chart);
  for (const own of seriesColours.slice(0, 2)) {
    // Once in the key at least, once in the chart.
    assert.ok(svg.split(`stroke="${own}"`).length >= 3, own);
  }
  assert.ok(!texts(plot({ marks: [dots] })).includes("clay"), "no key was asked for");
});

Deno.test("charts.plot() gives five amounts, from end to end, of a colour that stands for one", () => {
  const chart = plot({
    marks: [Plot.dot(shoes, { x: "mass", y: "shoe", fill: "price" })],
    color: { legend: true },
  });
  const key = texts(chart);
  for (const amount of ["price 90", "105", "120", "135", "150"]) {
    assert.ok(key.includes(amount), amount);
  }
  const asked = plot({
    marks: [Plot.dot(shoes, { x: "mass", y: "shoe", fill: "price" })],
    color: { legend: true, range: ["black", "white"] },
  });
  assert.match(chartSvg(asked), /fill="rgb\(0, 0, 0\)"/); // the caller's own ramp
});

Deno.test("charts.plot() gives the same bytes for the same chart, and needs 200 pixels", () => {
  assert.equal(chartSvg(plot({ marks: [dots] })), chartSvg(plot({ marks: [dots] })));
  assert.throws(() => plot({ marks: [dots], width: 100 }), /width of 200 or more, got 100/);
});

Deno.test("charts.plot() refuses an option that neither Plot nor the kit has", () => {
  const wrong = { titel: "Mass", marks: [] } as unknown as Parameters<typeof plot>[0];
  assert.throws(() => plot(wrong), {
    name: "RangeError",
    message: /"titel". Did you mean "title"/,
  });
});
