import assert from "node:assert/strict";
import { join } from "node:path";
import { chartPng } from "../../lib/charts/chart_png.ts";
import { drawNothing } from "../../lib/charts/draw.ts";
import { pictureDifference, pixelsOf } from "./picture_difference.ts";
import { drawnPictures, picturesDir } from "./stored_pictures.ts";

/** So much of a picture may be another: less than a label that has moved. */
const TOLERANCE = 0.001;

Deno.test("the main charts look as they were when their pictures were last looked at", async () => {
  const drawn = await drawnPictures();
  const kept = [...Deno.readDirSync(picturesDir)].map(({ name }) => name.replace(/\.png$/, ""));
  assert.deepEqual(kept.sort(), [...drawn.keys()].sort());
  const changed: string[] = [];
  for (const [name, bytes] of drawn) {
    const part = pictureDifference(
      await Deno.readFile(join(picturesDir, `${name}.png`)),
      bytes,
    );
    if (part > TOLERANCE) changed.push(`${name}: ${(100 * part).toFixed(2)}% of its pixels`);
  }
  // If a change is meant: deno run -A tests/charts/stored_pictures.ts, look at them, commit them.
  assert.deepEqual(changed, []);
});

Deno.test("pictureDifference() sees one changed word, another size, and no change where there is none", async () => {
  const picture = (words: string, width = 360) =>
    chartPng(drawNothing(words, { width }), { width, background: "#fff" });
  const before = await picture("No shoe was benched yet.");
  assert.equal(pictureDifference(before, await picture("No shoe was benched yet.")), 0);
  assert.ok(
    pictureDifference(before, await picture("No shoe was played in yet.")) > TOLERANCE,
  );
  assert.equal(pictureDifference(before, await picture("No shoe was benched yet.", 380)), 1);
});

Deno.test("pixelsOf() reads the colours that a chart is drawn in", async () => {
  const svg =
    `<svg xmlns="http://www.w3.org/2000/svg" width="2" height="2"><rect width="2" height="2" fill="#f00"/>` +
    `<rect x="1" y="1" width="1" height="1" fill="#0000ff"/></svg>`;
  const { width, height, data } = pixelsOf(await chartPng(svg, { width: 2 }));
  assert.deepEqual([width, height], [2, 2]);
  const red = [255, 0, 0, 255];
  assert.deepEqual([...data], [...red, ...red, ...red, 0, 0, 255, 255]);
});
