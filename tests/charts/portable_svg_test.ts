import assert from "node:assert/strict";
import { Resvg } from "@resvg/resvg-wasm";
import { chartPng } from "../../lib/charts/chart_png.ts";
import { chartSvg } from "../../lib/charts/chart_svg.ts";
import { drawNothing } from "../../lib/charts/draw.ts";
import { kitFonts } from "../../lib/charts/kit_fonts.ts";
import { portableSvg } from "../../lib/charts/portable_svg.ts";
import { subsetFont } from "../../lib/charts/subset_font.ts";

Deno.test("subsetFont() draws every letter it keeps exactly as the whole font does", async () => {
  await chartPng(drawNothing("Starts the renderer."));
  const { regular } = await kitFonts();
  const letters = "Ag0Šéüñ→ρ≥−½µ…◆%";
  const subset = subsetFont(regular, letters);
  assert.ok(subset.length < 12_000, `${subset.length} bytes`);
  for (const letter of letters) {
    const svg = `<svg xmlns="http://www.w3.org/2000/svg" width="60" height="60">` +
      `<text x="10" y="40" font-size="30" font-family="Inter">${letter}</text></svg>`;
    const [small, whole] = [subset, regular].map((font) =>
      new Resvg(svg, { font: { fontBuffers: [font], loadSystemFonts: false } }).render().pixels
    );
    assert.ok(whole.some((value) => value !== 0), letter);
    assert.ok(small.every((value, index) => value === whole[index]), letter);
  }
});

Deno.test("subsetFont() gives the same bytes whatever the order of the letters", async () => {
  const { bold } = await kitFonts();
  assert.deepEqual(subsetFont(bold, "shoe é"), subsetFont(bold, "é eohs"));
});

Deno.test("subsetFont() says what is wrong with bytes that are no font", () => {
  assert.throws(() => subsetFont(new Uint8Array(4), "a"), /Not a TrueType font/);
});

Deno.test("portableSvg() adds the fonts to the chart and changes nothing else", async () => {
  const chart = drawNothing("Nothing yet.", { heading: "Bold words" });
  const svg = await portableSvg(chart);
  assert.equal(svg.replace(/<style>.*?<\/style>/, ""), chartSvg(chart));
  assert.equal(svg.match(/@font-face/g)?.length, 2);
  assert.equal(await portableSvg(chart), svg);
  assert.ok(svg.length < 30_000, `${svg.length} bytes`);
});
