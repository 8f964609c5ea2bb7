import assert from "node:assert/strict";
import { units } from "../../lib/records/units.ts";
import { inUnit, noiseInUnit, unitWords } from "../../lib/words/unit_words.ts";
import { noiseDecimals } from "../../lib/words/digits.ts";

Deno.test("unitWords() turns codes into what a reader knows", () => {
  const said = ["N.m/deg", "1", "Cel", "deg", "mm3", "[lbf_av]/[in_i]", "um/min", "/min", "mm/km"];
  assert.deepEqual(said.map(unitWords), [
    "N·m/°",
    "",
    "°C",
    "°",
    "mm³",
    "lbf/in",
    "µm/min",
    "per min",
    "mm/km",
  ]);
});

Deno.test("unitWords() leaves no code's brackets, dots or letters for a degree in any unit of a bench", () => {
  for (const { code } of units) assert.doesNotMatch(unitWords(code), /[[\]._]|deg|Cel/, code);
});

Deno.test("inUnit() writes a true minus, and no 0 for what is not 0", () => {
  assert.equal(inUnit(-2.31, { unit: "cm", decimals: 1 }), "−2.3 cm");
  assert.equal(inUnit(0.0312, { unit: "1", decimals: 1 }), "0.031");
  assert.equal(inUnit(12, { unit: "Cel", decimals: 0 }), "12°C");
});

Deno.test("noiseInUnit() writes two significant digits, whatever the size, rounded before they are counted", () => {
  const written = [2.2987, 10.178, 0.03667, 123.4, 0.0996, 0.0042, 0].map((noise) =>
    noiseInUnit(noise, { unit: "mm" })
  );
  assert.deepEqual(written, [
    "2.3 mm",
    "10 mm",
    "0.037 mm",
    "123 mm",
    "0.10 mm",
    "0.0042 mm",
    "0 mm",
  ]);
  assert.equal(noiseDecimals(9.96), 0);
});
