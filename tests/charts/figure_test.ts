import assert from "node:assert/strict";
import { drawNothing } from "../../lib/charts/draw.ts";
import { chartImage, figure } from "../../lib/charts/figure.ts";

const hostile = `<script>alert("1")</script>&"`;
const chart = drawNothing("Nothing yet.");

Deno.test("figure() wraps the bare <svg> with title, words and provenance, all inert", () => {
  const html = figure(chart, { title: hostile, alt: hostile, provenance: hostile });
  assert.match(html, /^<figure class="chart">/);
  assert.equal(html.match(/<svg /g)?.length, 1);
  assert.doesNotMatch(html, /<script/);
  assert.equal(html.match(/&lt;script&gt;/g)?.length, 3);
});

Deno.test("figure() takes the chart's own words when no others are given", () => {
  assert.match(figure(chart, { title: "T", provenance: "P" }), /<figcaption>Nothing yet\. /);
});

Deno.test("chartImage() holds the whole chart in a data URL, and the narrow one beside it", async () => {
  const image = await chartImage(chart, { alt: hostile });
  const data = /src="data:image\/svg\+xml;base64,([^"]*)"/.exec(image)![1];
  const svg = new TextDecoder().decode(Uint8Array.fromBase64(data));
  assert.match(svg, /^<svg .*@font-face.*Nothing yet\.<\/text>/);
  assert.match(image, /alt="&lt;script&gt;/);
  const both = await chartImage(chart, { narrow: drawNothing("Nothing yet.", { width: 360 }) });
  assert.match(both, /^<picture><source media="\(max-width: 480px\)" srcset="data:/);
});
