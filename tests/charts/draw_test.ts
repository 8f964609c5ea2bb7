import assert from "node:assert/strict";
import * as Plot from "@observablehq/plot";
import { chartSvg } from "../../lib/charts/chart_svg.ts";
import { draw, drawNothing, svgElement } from "../../lib/charts/draw.ts";
import { chartFaults, textBoxes } from "./text_boxes.ts";

const hostile = `<script>alert("1")</script> & <b>'bold'</b>`;

function sample(alt = "Grip rises with friction.") {
  return draw({
    alt,
    heading: hostile,
    provenance: hostile,
    notes: [hostile],
    invented: true,
    clip: true,
    key: [{ label: hostile, mark: svgElement("circle", { r: 5 }) }],
    marks: [
      Plot.dot([{ x: 1, y: 1 / 3 }, { x: 2, y: 2 }], {
        x: "x",
        y: "y",
        title: () => hostile,
        ariaLabel: () => hostile,
      }),
      Plot.link([0], { x1: 1, x2: 2, y1: 1, y2: 2, markerEnd: "arrow" }),
    ],
  });
}

Deno.test("draw() gives a bare <svg> with xmlns, role, title and description", () => {
  const chart = sample("Grip rises with friction. It does so in 30 shoes.");
  const svg = chartSvg(chart);
  assert.match(svg, /^<svg /);
  assert.equal(chart.getAttribute("xmlns"), "http://www.w3.org/2000/svg");
  const [title] = chart.querySelectorAll("title");
  const [description] = chart.querySelectorAll("desc");
  assert.equal(title.textContent, "Grip rises with friction.");
  assert.equal(description.textContent, "Grip rises with friction. It does so in 30 shoes.");
  assert.deepEqual(chartFaults(chart), []);
});

Deno.test("draw() gives the same bytes whatever was drawn before it", () => {
  const first = chartSvg(sample());
  sample("Something else.");
  assert.equal(chartSvg(sample()), first);
  assert.match(first, /clip-path="url\(#c[0-9a-f]{12}-part-0\)"/);
});

Deno.test("draw() gives different ids to different charts", () => {
  const ids = (chart: ReturnType<typeof sample>) =>
    [...chartSvg(chart).matchAll(/\sid="([^"]*)"/g)].map(([, id]) => id);
  const [one, other] = [ids(sample()), ids(sample("Something else."))];
  assert.ok(one.length >= 4);
  assert.equal(one.filter((id) => other.includes(id)).length, 0);
});

Deno.test("draw() keeps markup in names as text, in elements and in attributes", () => {
  const svg = chartSvg(sample());
  assert.doesNotMatch(svg, /<script|<b>/);
  assert.match(svg, /&lt;script&gt;/);
  assert.match(svg, /aria-label="&lt;script&gt;/);
});

Deno.test("draw() takes out what XML can't hold, in marks too", () => {
  const chart = draw({
    alt: "A name with odd characters.",
    title: "\u0000\u202eodd\ud800",
    marks: [
      Plot.text([0], { x: () => 1, y: () => 1, text: () => "a\u0007b\u202ec\ud800d" }),
    ],
  });
  const svg = chartSvg(chart);
  // deno-lint-ignore no-control-regex
  assert.doesNotMatch(svg, /[\u0000-\u0008\u202a-\u202e]/);
  assert.ok(svg.isWellFormed());
  assert.ok(textBoxes(chart).some(({ text }) => text === "abc\ufffdd"));
});

Deno.test("draw() refuses a chart without words and one too narrow to read", () => {
  assert.throws(() => draw({ alt: " ", marks: [] }), /alt text/);
  assert.throws(() => draw({ alt: "A finding.", width: 100, marks: [] }), RangeError);
});

Deno.test("drawNothing() says in words why there is nothing, and wraps them", () => {
  const chart = drawNothing(`No shoe has both ${"a very long metric title ".repeat(8)}.`, {
    width: 340,
    invented: true,
  });
  assert.ok(textBoxes(chart).length > 3);
  assert.deepEqual(chartFaults(chart), []);
});
