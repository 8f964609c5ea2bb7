import assert from "node:assert/strict";
import { join } from "node:path";
import { composeSvg } from "../../lib/charts/compose_svg.ts";
import { chartPng } from "../../lib/charts/chart_png.ts";
import { chartSvg } from "../../lib/charts/chart_svg.ts";
import { indexChart } from "../../lib/charts/index_chart.ts";
import { logoImage } from "../../lib/charts/logo_image.ts";
import { darkSeriesColours, groundColours } from "../../lib/charts/picture_ground.ts";
import { colour, seriesColours } from "../../lib/charts/theme.ts";
import { colourFaults, filledSeries } from "../../lib/colour_sight.ts";
import { CantAnswer } from "../../lib/records/cant_answer.ts";
import { readLogo } from "../../lib/records/read_logo.ts";
import { viewerWords } from "../../lib/records/viewer_words.ts";
import type { Bench } from "../../lib/records/types.ts";
import { inventedScores } from "./invented_results.ts";
import { pixelsOf } from "./picture_difference.ts";
import { chartFaults, textBoxes } from "./text_boxes.ts";

const square = `<svg xmlns="http://www.w3.org/2000/svg" width="80" height="40">`;
const drawing =
  `${square}<script>alert(1)</script><rect width="80" height="40" fill="#0a7"/></svg>`;

/** The logo of a bench folder that holds this file. */
async function logoOf(file: string, content: string | Uint8Array) {
  const dir = await Deno.makeTempDir();
  try {
    await Deno.writeFile(
      join(dir, file),
      typeof content === "string" ? new TextEncoder().encode(content) : content,
    );
    const look = { name: null, logo: file, colours: [], words: {} };
    const logo = await readLogo({ dir, settings: { look } as unknown as Bench["settings"] });
    return await logoImage(logo!);
  } finally {
    await Deno.remove(dir, { recursive: true });
  }
}

const refused = (pattern: RegExp) => (error: unknown) =>
  error instanceof CantAnswer && pattern.test(error.message);

Deno.test("a logo as SVG or PNG comes out as a PNG of its own shape, without the script that was in it", async () => {
  const png = await chartPng(drawing, { width: 80 });
  for (const [file, content] of [["logo.svg", drawing], ["logo.png", png]] as const) {
    const { url, width, height } = await logoOf(file, content);
    assert.match(url, /^data:image\/png;base64,iVBOR/);
    assert.deepEqual([width, height], [400, 200]);
    const { data } = pixelsOf(Uint8Array.fromBase64(url.slice(url.indexOf(",") + 1)));
    assert.deepEqual([...data.slice(0, 4)], [0, 170, 119, 255], file);
  }
});

Deno.test("a logo that is no image, empty, broken or huge is refused with what it is and what to do", async () => {
  await assert.rejects(logoOf("logo.png", "not an image"), refused(/no PNG, JPEG or SVG/));
  await assert.rejects(logoOf("logo.svg", "<html></html>"), refused(/no PNG, JPEG or SVG/));
  await assert.rejects(
    logoOf("logo.svg", `<?xml version="1.0"?><!DOCTYPE svg [<!ENTITY a "b">]><svg></svg>`),
    refused(/no PNG|entities/),
  );
  await assert.rejects(logoOf("logo.svg", `${square}</svg>`), refused(/shows nothing/));
  await assert.rejects(logoOf("logo.png", new Uint8Array(2_000_000)), refused(/larger than 1 MB/));
  const png = await chartPng(drawing, { width: 80 });
  await assert.rejects(logoOf("logo.png", png.slice(0, 60)), refused(/shows nothing|can't be/));
  const wide = png.slice();
  new DataView(wide.buffer).setUint32(16, 60_000);
  await assert.rejects(logoOf("logo.png", wide), refused(/60000 by 40 pixels/));
});

Deno.test("colours that some eyes can't tell apart, or that drown in the ground, are refused for that reason", () => {
  const [red, green] = ["#D1495B", "#0B6E4F"];
  const [fault] = colourFaults([green, red]);
  assert.equal(fault.index, 1);
  assert.match(fault.found, /for eyes with protanopia/);
  assert.match(colourFaults(["#FFE066"])[0].found, /contrast of 1\.\d to 1/);
  assert.match(colourFaults(["#1167A2", "#1268A3"])[0].found, /for any eye|for eyes/);
  assert.deepEqual(colourFaults(seriesColours), []);
});

Deno.test("where a look gives few colours the kit's fill up with none that could be taken for them", () => {
  const own = ["#0B4F6C", "#D1495B"];
  const filled = filledSeries(own, seriesColours);
  assert.deepEqual(filled.slice(0, 2), own);
  assert.ok(filled.length > 2);
  assert.deepEqual(colourFaults(filled), []);
});

const options = {
  title: "The Dunmarrow Courtside 1 grips better",
  alt: "Grip: 0.82 against 0.74.",
  provenance: "36 trials to 2026-09-30",
  hash: "3fa94c01aa07",
  invented: true,
};
const body = (slot: { width: number }) => indexChart(inventedScores(5), { width: slot.width });

Deno.test("name and logo stand at the foot and the data's hash in the corner, in every size, without a fault", async () => {
  const sender = { name: "Marrowby Courtside", logo: await logoOf("logo.svg", drawing) };
  for (const [width, height] of [[1920, 1080], [1080, 1080], [1080, 1920]]) {
    const picture = composeSvg(body, { ...options, sender, size: { width, height } });
    const faults = chartFaults(picture);
    // The logo is an image in the picture itself: the only reference it may hold.
    assert.deepEqual(faults.filter((fault) => !/not inert/.test(fault)), [], `${width}`);
    assert.deepEqual(
      [...chartSvg(picture).matchAll(/href="([^"]{15})/g)].map(([, start]) => start),
      ["data:image/png;"],
    );
    const boxes = textBoxes(picture);
    const [name, hash] = [sender.name, options.hash].map((text) =>
      boxes.find((box) => box.text === text)!
    );
    assert.ok(name.left < width / 2 && hash.right > width - 60 && hash.bottom > height - 60);
  }
});

Deno.test("a dark picture holds no colour of the light one, and a transparent one lets footage through", async () => {
  const size = { width: 1080, height: 1080 };
  const dark = chartSvg(composeSvg(body, { ...options, size, ground: "dark" }));
  for (const light of [...Object.values(colour), ...seriesColours]) {
    assert.ok(!dark.includes(light), light);
  }
  assert.ok(dark.includes(groundColours("dark").colour.card));
  assert.ok(darkSeriesColours.length === seriesColours.length);
  const clear = composeSvg(body, { ...options, size, ground: "transparent" });
  const { data } = pixelsOf(await chartPng(clear, { width: 270 }));
  assert.equal(data[3], 0);
  const middle = 4 * (135 * 270 + 266);
  assert.ok(data[middle + 3] > 200 && data[middle + 3] < 255, String(data[middle + 3]));
});

Deno.test("viewerWords() gives metrics and attributes the viewers' words and leaves ids and figures alone", () => {
  const look = { name: null, logo: null, colours: [], words: { mass: "weight", grip: "hold" } };
  const bench = {
    metrics: [{ id: "mass", title: "Mass of one shoe" }, { id: "other", title: "Other" }],
    settings: { look, attributes: [{ id: "grip", title: "Grip", better: "higher" }] },
    trials: [1],
  } as unknown as Bench;
  const seen = viewerWords(bench);
  assert.deepEqual(seen.metrics.map(({ id, title }) => [id, title]), [
    ["mass", "Weight"],
    ["other", "Other"],
  ]);
  assert.deepEqual(seen.settings.attributes.map(({ id, title }) => [id, title]), [
    ["grip", "Hold"],
  ]);
  assert.equal(seen.trials, bench.trials);
});
