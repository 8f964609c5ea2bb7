import assert from "node:assert/strict";
import { darkSeriesColours, groundColours, plateOpacity } from "../../lib/charts/picture_ground.ts";
import { colour, seriesColours, seriesSymbols, type } from "../../lib/charts/theme.ts";
import { ciede2000, contrastRatio, labOf, seenDistance, sights } from "../../lib/colour_sight.ts";
import { contrast, type Dichromat, lab, oklab } from "./colour_distance.ts";

Deno.test("the colour arithmetic puts white at L = 1 and black on white at a contrast of 21", () => {
  const [L, a, b] = oklab("#FFFFFF");
  assert.ok(Math.abs(L - 1) < 1e-6 && Math.abs(a) < 1e-6 && Math.abs(b) < 1e-6);
  assert.equal(contrast("#000000", "#FFFFFF").toFixed(6), "21.000000");
  assert.equal(contrastRatio("#000000", "#FFFFFF").toFixed(6), "21.000000");
  assert.deepEqual(labOf("#FFFFFF").map((value) => Math.abs(Math.round(value * 10))), [1000, 0, 0]);
});

Deno.test("ciede2000() gives the published test values of its formula", () => {
  // Sharma, Wu & Dalal, 'The CIEDE2000 color-difference formula', Color Research & Application 30(1), 2005, table 1
  // (pairs and differences from memory; they cover the turns of hue and the rotation in the blue).
  const published: [number[], number[], number][] = [
    [[50, 2.6772, -79.7751], [50, 0, -82.7485], 2.0425],
    [[50, 3.1571, -77.2803], [50, 0, -82.7485], 2.8615],
    [[50, 2.8361, -74.02], [50, 0, -82.7485], 3.4412],
    [[50, -1.3802, -84.2814], [50, 0, -82.7485], 1],
    [[50, 2.5, 0], [50, 0, -2.5], 4.3065],
    [[50, 2.5, 0], [73, 25, -18], 27.1492],
    [[50, 2.5, 0], [61, -5, 29], 22.8977],
    [[50, 2.5, 0], [56, -27, -3], 31.903],
    [[50, 2.5, 0], [58, 24, 15], 19.4535],
    [[60.2574, -34.0099, 36.2677], [60.4626, -34.1751, 39.4387], 1.2644],
    [[2.0776, 0.0795, -1.135], [0.9033, -0.0636, -0.5514], 0.9082],
  ];
  type Lab = [number, number, number];
  for (const [one, other, expected] of published) {
    assert.equal(ciede2000(one as Lab, other as Lab).toFixed(4), expected.toFixed(4));
    assert.equal(ciede2000(other as Lab, one as Lab).toFixed(4), expected.toFixed(4));
  }
});

for (const [name, series] of [["light", seriesColours], ["dark", darkSeriesColours]] as const) {
  Deno.test(`six series colours on the ${name} ground stay apart for every kind of sight, and in lightness`, () => {
    assert.equal(series.length, 6);
    assert.equal(new Set(seriesSymbols).size, 6);
    for (const sight of sights) {
      const distances = series.flatMap((one, index) =>
        series.slice(index + 1).map((other) => seenDistance(one, other, sight))
      );
      const least = sight === "normal" ? 22 : 13;
      assert.ok(Math.min(...distances) >= least, `${sight}: ${Math.min(...distances)}`);
    }
    const lightness = series.map((hex) => oklab(hex)[0]).sort((a, b) => a - b);
    const steps = lightness.slice(1).map((value, index) => value - lightness[index]);
    assert.ok(Math.min(...steps) >= 0.03, `lightness steps ${steps}`);
  });
}

const dichromats: readonly Dichromat[] = ["protanopia", "deuteranopia", "tritanopia"];

/** Colours all over the sRGB cube. */
const cube = [0x20, 0x60, 0xa0, 0xe0].flatMap((r, _, levels) =>
  levels.flatMap((g) =>
    levels.map((b) => `#${[r, g, b].map((one) => one.toString(16).padStart(2, "0")).join("")}`)
  )
);

Deno.test("the kit's colours without simulation are those of the sRGB primaries and white", () => {
  for (const hex of cube) {
    labOf(hex).forEach((value, index) => assert.ok(Math.abs(value - lab(hex)[index]) < 0.3, hex));
  }
});

Deno.test("colours that the confusion lines of a dichromat join lie near each other in the kit's simulation too", () => {
  for (const sight of dichromats) {
    // Pairs that the geometry of confusion makes one, and that others tell apart at a glance.
    const pairs = cube.flatMap((one, index) => cube.slice(index + 1).map((other) => [one, other]));
    const joined = pairs.filter(([one, other]) =>
      ciede2000(lab(one, sight), lab(other, sight)) < 6 && ciede2000(lab(one), lab(other)) > 20
    );
    assert.ok(joined.length >= 5, `${sight}: ${joined.length}`);
    for (const [one, other] of joined) {
      const share = seenDistance(one, other, sight) / seenDistance(one, other);
      // The kit's tritanopia keeps more of what is lost than the geometry does.
      const most = sight === "tritanopia" ? 0.7 : 0.35;
      assert.ok(share < most, `${sight}: ${one} and ${other}: ${share}`);
    }
  }
});

Deno.test("series colours stay 12 apart or more by the geometry of confusion lines too, for each of three colour-blind eyes", () => {
  for (const series of [seriesColours, darkSeriesColours]) {
    for (const sight of dichromats) {
      const distances = series.flatMap((one, index) =>
        series.slice(index + 1).map((other) => ciede2000(lab(one, sight), lab(other, sight)))
      );
      assert.ok(Math.min(...distances) >= 12, `${sight}: ${Math.min(...distances)}`);
    }
  }
});

Deno.test("text has a contrast of 4.5 or more and marks 3 or more, on every ground and on a plate over any footage", () => {
  const white = over("#10191F", "#FFFFFF", plateOpacity);
  const black = over("#10191F", "#000000", plateOpacity);
  const grounds = [
    ["light", colour.card],
    ["light", colour.band],
    ["dark", groundColours("dark").colour.card],
    ["dark", groundColours("dark").colour.band],
    ["transparent", white],
    ["transparent", black],
  ] as const;
  for (const [ground, behind] of grounds) {
    const { colour: own, series } = groundColours(ground);
    for (const text of [own.ink, own.quiet, own.accent]) {
      assert.ok(contrast(text, behind) >= 4.5, `${text} on ${behind}: ${contrast(text, behind)}`);
    }
    const isBand = behind === own.band;
    for (const mark of [own.mark, own.accent, own.context, own.line, ...(isBand ? [] : series)]) {
      assert.ok(contrast(mark, behind) >= 3, `${mark} on ${behind}: ${contrast(mark, behind)}`);
    }
  }
  assert.ok(type.small >= 12);
});

/** A colour laid over another, as the renderer mixes them. */
function over(top: string, bottom: string, opacity: number): string {
  const part = (hex: string, at: number) => parseInt(hex.slice(at, at + 2), 16);
  return `#${
    [1, 3, 5].map((at) =>
      Math.round(opacity * part(top, at) + (1 - opacity) * part(bottom, at)).toString(16)
        .padStart(2, "0")
    ).join("")
  }`;
}
