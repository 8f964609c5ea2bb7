import assert from "node:assert/strict";
import { showChart, showMarkdown } from "../../lib/notebook/in_cell.ts";

const jupyterDisplay = Symbol.for("Jupyter.display");

function bundleOf(shown: unknown): Record<string, unknown> {
  return (shown as Record<symbol, () => Record<string, unknown>>)[jupyterDisplay]();
}

Deno.test("showChart() shows the drawing with its namespace, and its alt text where none can be shown", () => {
  const outerHTML = '<svg aria-label="Bias 0.3 cm, 12 &lt; 13 shoes" width="9"><rect></rect></svg>';
  assert.deepEqual(bundleOf(showChart({ outerHTML })), {
    "image/svg+xml": outerHTML.replace("<svg", '<svg xmlns="http://www.w3.org/2000/svg"'),
    "text/plain": "Bias 0.3 cm, 12 < 13 shoes",
  });
  const named = '<svg xmlns="http://www.w3.org/2000/svg"><title>A &amp; B</title></svg>';
  assert.deepEqual(bundleOf(showChart(named)), { "image/svg+xml": named, "text/plain": "A & B" });
  assert.equal(bundleOf(showChart(named, { alt: "Mine" }))["text/plain"], "Mine");
});

Deno.test("showChart() refuses what is no svg and says what it was given", () => {
  assert.throws(
    () => showChart("<figure><svg></svg></figure>"),
    /found "<figure>.*expected an <svg>/,
  );
});

Deno.test("showMarkdown() shows its text as prose, and as text where prose can't be shown", () => {
  assert.deepEqual(bundleOf(showMarkdown("SEM is **0.4 cm**")), {
    "text/markdown": "SEM is **0.4 cm**",
    "text/plain": "SEM is **0.4 cm**",
  });
});
