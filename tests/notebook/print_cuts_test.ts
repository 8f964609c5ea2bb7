import assert from "node:assert/strict";
import { notebookPage } from "../../lib/notebook/page.ts";
import { safeSvg } from "../../lib/notebook/page_svg.ts";
import { code, display } from "./page_fixture.ts";

/** A chart on a card, a row every 22 px, each with its name and its value. */
function rows(count: number): string {
  const height = 60 + 22 * count;
  const row = (_: unknown, at: number) =>
    `<g transform="translate(0,${
      30 + 22 * at
    })"><text transform="translate(4,11)" y="0.32em">Shoe ${at}</text>` +
    `<rect data-about="Shoe ${at}" y="0" height="22" width="300"><title>Shoe ${at}: ${at}</title></rect></g>`;
  return `<svg xmlns="http://www.w3.org/2000/svg" width="320" height="${height}" viewBox="0 0 320 ${height}">` +
    `<title>Rows</title><rect width="320" height="${height}" fill="#fff"/>${
      Array.from({ length: count }, row).join("")
    }</svg>`;
}

Deno.test("a chart that fits a sheet is not cut, and a taller one only between its rows", () => {
  assert.deepEqual(safeSvg(rows(20))!.cuts, [0]);
  const { cuts, height } = safeSvg(rows(100))!;
  assert.equal(cuts.length, 3);
  for (const [index, cut] of cuts.entries()) {
    if (index > 0) assert.equal((cut - 30) % 22, 0, `${cut} lies between two rows`);
    assert.ok((cuts[index + 1] ?? height!) - cut <= 850);
  }
});

Deno.test("a chart that nowhere may be cut stays whole", () => {
  const solid = rows(1).replace(/height="82"/g, 'height="2000"').replace(
    "0 0 320 82",
    "0 0 320 2000",
  )
    .replace('y="0" height="22"', 'y="0" height="1900"');
  assert.deepEqual(safeSvg(solid)!.cuts, []);
});

Deno.test("a page holds a tall chart once, and its parts point to it", () => {
  const page = notebookPage({
    cells: [code("chart", [display({ "image/svg+xml": rows(100), "text/plain": "Rows" })])],
  }, { title: "A page", provenance: [], invented: false });
  const parts = [...page.matchAll(/<use href="#([\w-]+)"\/>/g)].map(([, id]) => id);
  assert.equal(parts.length, 3);
  assert.equal(new Set(parts).size, 1);
  assert.equal(page.split(`id="${parts[0]}"`).length, 2);
});
