import assert from "node:assert/strict";
import { drawableText, isDrawable } from "../../lib/charts/drawable_text.ts";
import { svgElement } from "../../lib/charts/draw.ts";
import widths from "../../lib/charts/fonts/widths.json" with { type: "json" };
import {
  limitLines,
  shortenApart,
  shortenText,
  textWidth,
  wrapText,
} from "../../lib/charts/text_width.ts";

for (
  const [weight, file] of [["regular", "Inter-Regular.ttf"], ["bold", "Inter-Bold.ttf"]] as const
) {
  Deno.test(`the width table agrees with every glyph of ${file}`, () => {
    const advance = advances(
      Deno.readFileSync(new URL(`../../lib/charts/fonts/${file}`, import.meta.url)),
    );
    const entries = Object.entries<number>(widths[weight]);
    assert.ok(entries.length > 500);
    for (const [character, width] of entries) {
      assert.equal(width, Math.round(advance(character.codePointAt(0)!)), `"${character}"`);
    }
  });
}

Deno.test("textWidth() grows with size and weight, and takes an unknown character as the words that stand for it", () => {
  assert.equal(textWidth("", 12), 0);
  assert.equal(textWidth("鞋", 12), textWidth("[Chinese or Japanese]", 12));
  assert.ok(textWidth("Rebound", 12, "bold") > textWidth("Rebound", 12));
  assert.ok(Math.abs(textWidth("Rebound", 24) - 2 * textWidth("Rebound", 12)) < 1e-9);
});

Deno.test("wrapText() keeps every word, and no line is wider than asked", () => {
  const text =
    "Outsole abrasion depth after ten seconds of Donaudampfschifffahrtsgesellschaft sanding";
  const lines = wrapText(text, 90, 12);
  assert.ok(lines.every((line) => textWidth(line, 12) <= 90));
  assert.equal(lines.join("").replaceAll(" ", ""), text.replaceAll(" ", ""));
  assert.deepEqual(wrapText("", 90, 12), [""]);
});

Deno.test("shortenText() leaves a short name alone and ends a long one in an ellipsis that fits", () => {
  assert.equal(shortenText("Volley 3", 90, 12), "Volley 3");
  const short = shortenText("Dunmarrow Courtside Comfort Wide 3", 90, 12);
  assert.ok(short.endsWith("…") && textWidth(short, 12) <= 90);
  assert.equal(shortenText("Volley", 1, 12), "…");
});

Deno.test("limitLines() ends the last line in an ellipsis only when something is left out", () => {
  const text = "Outsole abrasion depth after ten seconds of sanding";
  const two = limitLines(text, 2, 120, 12);
  assert.equal(two.length, 2);
  assert.ok(two[1].endsWith("…") && textWidth(two[1], 12) <= 120);
  assert.deepEqual(limitLines(text, 9, 120, 12), wrapText(text, 120, 12));
});

Deno.test("shortenApart() never makes two shoes look the same", () => {
  const names = [
    "Dunmarrow Courtside Comfort Wide 1",
    "Dunmarrow Courtside Comfort Wide 2",
    "Volley",
    "Dunmarrow Courtside Comfort Wide 1",
  ];
  const short = shortenApart(names, 110, 12);
  assert.equal(new Set(short).size, 3);
  assert.equal(short[0], short[3]);
  assert.ok(short.every((name) => textWidth(name, 12) <= 110));
  const middles = shortenApart(
    ["A same start of a name XXXX and end", "A same start of a name YYYY and end"],
    90,
    12,
  );
  assert.notEqual(middles[0], middles[1]);
});

/** Reads a TrueType font's advance widths: tables head, hhea, hmtx and cmap format 4 (OpenType specification). */
function advances(bytes: Uint8Array): (codePoint: number) => number {
  const view = new DataView(bytes.buffer, bytes.byteOffset);
  const table = new Map<string, number>();
  for (let index = 0; index < view.getUint16(4); index++) {
    const at = 12 + 16 * index;
    table.set(String.fromCharCode(...bytes.slice(at, at + 4)), view.getUint32(at + 8));
  }
  const unitsPerEm = view.getUint16(table.get("head")! + 18);
  const metrics = view.getUint16(table.get("hhea")! + 34);
  const cmap = table.get("cmap")!;
  let map = 0;
  for (let index = 0; index < view.getUint16(cmap + 2); index++) {
    const at = cmap + view.getUint32(cmap + 8 + 8 * index);
    if (view.getUint16(at) === 4) map = at;
  }
  const segments = view.getUint16(map + 6) / 2;
  const glyph = (code: number): number => {
    for (let index = 0; index < segments; index++) {
      const at = (column: number) => map + 14 + 2 * index + 2 * segments * column;
      if (code > view.getUint16(at(0))) continue;
      const start = view.getUint16(at(1) + 2);
      if (code < start) return 0;
      const delta = view.getUint16(at(2) + 2);
      const offset = view.getUint16(at(3) + 2);
      if (offset === 0) return (code + delta) & 0xffff;
      const found = view.getUint16(at(3) + 2 + offset + 2 * (code - start));
      return found === 0 ? 0 : (found + delta) & 0xffff;
    }
    return 0;
  };
  return (code) => {
    const index = Math.min(glyph(code), metrics - 1);
    return view.getUint16(table.get("hmtx")! + 4 * index) / unitsPerEm * 1000;
  };
}

Deno.test("what the kit's fonts lack is said in words, Greek and Cyrillic and accents are not", () => {
  assert.equal(drawableText("Volley 東京 2"), "Volley [Chinese or Japanese] 2");
  assert.equal(drawableText("カタカナ"), "[Japanese]");
  assert.equal(drawableText("حذاء سريع 3"), "[Arabic] 3");
  assert.equal(drawableText("Speed🎾🔥 Pro"), "Speed [emoji] Pro");
  assert.equal(drawableText("👨‍👩‍👧"), "[emoji]");
  for (const text of ["Ωμέγα", "Скорость", "Šárka ÷ 2 → 3°", "plain"]) {
    assert.equal(drawableText(text), text);
    assert.ok(isDrawable(text));
  }
  assert.ok(!isDrawable("靴"));
});

Deno.test("a drawn text holds no letter that the font lacks, and keeps its room", () => {
  const drawn = svgElement("text", { x: 0, y: 0 }, "Volley 東京");
  assert.equal(drawn.textContent, "Volley [Chinese or Japanese]");
  assert.equal(textWidth("Volley 東京", 12), textWidth("Volley [Chinese or Japanese]", 12));
  assert.equal(svgElement("desc", {}, "Volley 東京").textContent, "Volley 東京");
  const [one, other] = shortenApart(["東京", "大阪"], 200, 12);
  assert.notEqual(one, other);
});
