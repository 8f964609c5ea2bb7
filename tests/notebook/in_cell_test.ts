import assert from "node:assert/strict";
import { drawNothing } from "../../lib/charts/draw.ts";
import { narrowChartType, showChart, showMarkdown } from "../../lib/notebook/in_cell.ts";

const jupyterDisplay = Symbol.for("Jupyter.display");

async function bundleOf(shown: unknown): Promise<Record<string, unknown>> {
  return await (shown as Record<symbol, () => Promise<Record<string, unknown>>>)[jupyterDisplay]();
}

Deno.test("showChart() shows a drawing with its namespace, and its alt text where none can be shown", async () => {
  const drawn = '<svg aria-label="Bias 0.3 cm, 12 &lt; 13 shoes" width="9"><rect></rect></svg>';
  assert.deepEqual(await bundleOf(showChart(drawn)), {
    "image/svg+xml": drawn.replace("<svg", '<svg xmlns="http://www.w3.org/2000/svg"'),
    "text/plain": "Bias 0.3 cm, 12 < 13 shoes",
  });
  const named = '<svg xmlns="http://www.w3.org/2000/svg"><title>A &amp; B</title></svg>';
  assert.deepEqual(await bundleOf(showChart(named)), {
    "image/svg+xml": named,
    "text/plain": "A & B",
  });
  assert.equal((await bundleOf(showChart(named, { alt: "Mine" })))["text/plain"], "Mine");
});

Deno.test("showChart() puts the letters of a chart into it, so that it needs no font of the machine", async () => {
  const chart = drawNothing("No shoe yet.", { title: "Index" });
  const shown = await bundleOf(showChart(chart));
  assert.match(String(shown["image/svg+xml"]), /@font-face\{font-family:Inter/);
  assert.match(String(shown["text/plain"]), /No shoe yet/);
});

Deno.test("showChart() refuses what is no svg and says what it was given", () => {
  assert.throws(
    () => showChart("<figure><svg></svg></figure>"),
    /found "<figure>.*expected an <svg>/,
  );
});

Deno.test("showMarkdown() shows its text as prose, and as text where prose can't be shown", async () => {
  assert.deepEqual(await bundleOf(showMarkdown("SEM is **0.4 cm**")), {
    "text/markdown": "SEM is **0.4 cm**",
    "text/plain": "SEM is **0.4 cm**",
  });
});

Deno.test("showChart() of a function brings the chart twice, in its own width and in that of a phone", async () => {
  const draw = (size: { readonly width?: number }) => drawNothing("No shoe yet.", size);
  const shown = await bundleOf(showChart(draw));
  assert.match(String(shown["image/svg+xml"]), /viewBox="0 0 640 /);
  assert.match(String(shown[narrowChartType]), /viewBox="0 0 360 /);
  assert.equal((await bundleOf(showChart(draw({}))))[narrowChartType], undefined);
});
