import assert from "node:assert/strict";
import { chartPng } from "../../lib/charts/chart_png.ts";
import { chartSvg } from "../../lib/charts/chart_svg.ts";
import { drawNothing } from "../../lib/charts/draw.ts";
import { indexChart } from "../../lib/charts/index_chart.ts";
import { pngPainter } from "../../lib/charts/png_painter.ts";
import { inventedScores } from "./invented_results.ts";

Deno.test("chartPng() gives a PNG of the width asked for, and the same bytes twice", async () => {
  const chart = indexChart(inventedScores(8));
  const png = await chartPng(chart, { width: 900 });
  assert.deepEqual([...png.slice(0, 8)], [137, 80, 78, 71, 13, 10, 26, 10]);
  assert.equal(new DataView(png.buffer, png.byteOffset).getUint32(16), 900);
  assert.deepEqual(await chartPng(chart, { width: 900 }), png);
});

Deno.test("chartPng() fits a picture inside width and height without stretching it", async () => {
  const png = await chartPng(indexChart(inventedScores(8)), { width: 400, height: 200 });
  const view = new DataView(png.buffer, png.byteOffset);
  assert.equal(view.getUint32(20), 200);
  assert.ok(view.getUint32(16) < 400);
});

Deno.test("chartPng() draws the letters, which a renderer without fonts leaves out in silence", async () => {
  const svg = chartSvg(drawNothing("Rebound height, Šárka, é, →, ρ, ≥, −1"));
  const without = await chartPng(svg.replaceAll(/<text.*?<\/text>/g, ""));
  assert.ok((await chartPng(svg)).length > without.length * 1.5);
  // A character the font lacks comes out as nothing or as one and the same box; these must all be themselves.
  const template = chartSvg(drawNothing("X"));
  const drawn = new Set<string>();
  for (const text of ["", "鞋", "→", "Š", "é", "ρ", "≥", "−", "◆", "½", "µ"]) {
    drawn.add((await chartPng(template.replace(/>X<\/text>/, `>${text}</text>`))).toBase64());
  }
  // "鞋" is not in the font, so it is either the empty picture or the only box.
  assert.ok(drawn.size >= 10, `${drawn.size} different pictures`);
});

Deno.test("chartPng() refuses a size that is not a whole number of pixels", async () => {
  const chart = drawNothing("Nothing.");
  await assert.rejects(chartPng(chart, { width: 0 }), RangeError);
  await assert.rejects(chartPng(chart, { height: 10.5 }), RangeError);
});

Deno.test("chartPng() works with leave to read the kit and the package cache only", async () => {
  const root = new URL("../../", import.meta.url);
  const cache = new URL("../", import.meta.resolve("@resvg/resvg-wasm/index_bg.wasm"));
  const code = `
    import { chartPng } from "./lib/charts/chart_png.ts";
    import { drawNothing } from "./lib/charts/draw.ts";
    console.log((await chartPng(drawNothing("Nothing yet."))).length);
  `;
  const child = new Deno.Command(Deno.execPath(), {
    args: [
      "run",
      "--no-prompt",
      "--no-check",
      `--allow-read=${root.pathname},${cache.pathname}`,
      "--ext=ts",
      "-",
    ],
    cwd: root,
    stdin: "piped",
    stdout: "piped",
    stderr: "piped",
  }).spawn();
  const writer = child.stdin.getWriter();
  await writer.write(new TextEncoder().encode(code));
  await writer.close();
  const { stdout, stderr } = await child.output();
  assert.ok(Number(new TextDecoder().decode(stdout)) > 1000, new TextDecoder().decode(stderr));
});

Deno.test("A PNG painter gives each picture the bytes of chartPng(), in any order they are awaited", async () => {
  const charts = [4, 8].map((shoes) => chartSvg(indexChart(inventedScores(shoes))));
  const painter = pngPainter();
  const painted = charts.map((chart) => painter.paint(chart, { width: 500 }));
  for (const index of [1, 0]) {
    assert.deepEqual(await painted[index], await chartPng(charts[index], { width: 500 }));
  }
  painter.end();
});

Deno.test("A PNG painter says what it can't draw, and draws on", async () => {
  const painter = pngPainter();
  const refused = painter.paint("<svg", { width: 500 });
  const impossible = painter.paint(chartSvg(drawNothing("Nothing yet.")), { width: 0 });
  const drawn = painter.paint(chartSvg(drawNothing("Nothing yet.")), { width: 500 });
  await assert.rejects(refused, /\S/);
  await assert.rejects(impossible, /width is 0, expected a number above 0/);
  assert.equal(new DataView((await drawn).buffer).getUint32(16), 500);
  painter.end();
});
