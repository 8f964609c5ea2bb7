import assert from "node:assert/strict";
import { colour, seriesColours, seriesSymbols, type } from "../../lib/charts/theme.ts";
import { colourDistance, contrast, oklab, type Sight } from "./colour_distance.ts";

Deno.test("the colour arithmetic puts white at L = 1 and black on white at a contrast of 21", () => {
  const [L, a, b] = oklab("#FFFFFF");
  assert.ok(Math.abs(L - 1) < 1e-6 && Math.abs(a) < 1e-6 && Math.abs(b) < 1e-6);
  assert.equal(contrast("#000000", "#FFFFFF").toFixed(6), "21.000000");
  // Okabe & Ito's six colours: closest pair in normal sight 0.156 (measured elsewhere, another implementation).
  const okabeIto = ["#E69F00", "#56B4E9", "#009E73", "#0072B2", "#D55E00", "#CC79A7"];
  assert.equal(closest(okabeIto, "normal").toFixed(3), "0.156");
});

Deno.test("six series colours stay apart for every kind of sight, and in lightness", () => {
  assert.equal(seriesColours.length, 6);
  assert.equal(new Set(seriesSymbols).size, 6);
  for (const sight of ["normal", "protanopia", "deuteranopia", "tritanopia"] as const) {
    const distance = closest(seriesColours, sight);
    assert.ok(distance >= (sight === "normal" ? 0.2 : 0.15), `${sight}: ${distance}`);
  }
  const lightness = seriesColours.map((hex) => oklab(hex)[0]).sort((a, b) => a - b);
  const steps = lightness.slice(1).map((value, index) => value - lightness[index]);
  assert.ok(Math.min(...steps) >= 0.07, `lightness steps ${steps}`);
});

Deno.test("text has a contrast of 4.5 or more on the card and on its bands, marks 3 or more", () => {
  for (const ground of [colour.card, colour.band]) {
    for (const text of [colour.ink, colour.quiet, colour.accent]) {
      assert.ok(contrast(text, ground) >= 4.5, `${text} on ${ground}: ${contrast(text, ground)}`);
    }
    for (const mark of [colour.mark, colour.accent, colour.context, colour.line]) {
      assert.ok(contrast(mark, ground) >= 3, `${mark} on ${ground}: ${contrast(mark, ground)}`);
    }
  }
  for (const mark of seriesColours) assert.ok(contrast(mark, colour.card) >= 3, mark);
  assert.ok(type.small >= 12);
});

function closest(colours: readonly string[], sight: Sight): number {
  return Math.min(
    ...colours.flatMap((one, index) =>
      colours.slice(index + 1).map((other) => colourDistance(one, other, sight))
    ),
  );
}
