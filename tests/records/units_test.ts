import assert from "node:assert/strict";
import fc from "fast-check";
import { convert, parseQuantity, sameDimension, unitOf, units } from "../../lib/records/units.ts";
import { assertClose } from "../assert_close.ts";

Deno.test("convert() gives the exact values of the yard, the pound and the degree Fahrenheit", () => {
  // NIST Special Publication 811 (2008), appendix B.8, factors printed in bold (exact); from memory.
  assert.equal(convert(1, "in", "mm"), 25.4);
  assert.equal(convert(1, "[lb_av]", "g"), 453.59237);
  assert.equal(convert(16, "oz", "lb"), 1);
  assert.equal(convert(1, "oz", "g"), 28.349523125);
  assert.equal(convert(1, "lbf", "N"), 4.4482216152605);
  assert.equal(convert(1, "kgf", "N"), 9.80665);
  assertClose(convert(1, "psi", "kPa"), 6.894757293168, { relative: 1e-12 });
  assert.deepEqual([32, 212, -40].map((f) => convert(f, "°F", "°C")), [0, 100, -40]);
  assert.equal(convert(25, "Cel", "K"), 298.15);
});

Deno.test("convert() between decimal units rounds once: 284 mm is 28.4 cm", () => {
  assert.equal(convert(284, "mm", "cm"), 28.4);
  assert.equal(convert(0.45, "1", "%"), 45);
  assert.equal(convert(0.3, "Nm/deg", "N.m/deg"), 0.3);
  assert.equal(convert(1, "N/mm", "kN/m"), 1);
});

Deno.test("convert() there and back again keeps a value to the last digits", () => {
  const known = fc.constantFrom(...units);
  fc.assert(
    fc.property(known, known, fc.double({ min: -1e6, max: 1e6, noNaN: true }), (a, b, value) => {
      fc.pre(a.dimension === b.dimension);
      const back = convert(convert(value, a.code, b.code), b.code, a.code);
      const scale = Math.max(Math.abs(value), a.dimension === "temperature" ? 500 : 0);
      assert.ok(
        Math.abs(back - value) <= 4e-15 * scale + 1e-300,
        `${value} ${a.code} became ${back}`,
      );
    }),
  );
});

Deno.test("convert() refuses unknown units and other dimensions, and says which", () => {
  assert.throws(() => convert(1, "furlong", "m"), /RangeError.*"furlong" is no unit known here/s);
  assert.throws(() => convert(1, "g", "cm"), /Cannot convert g \(mass\) to cm \(length\)/);
  assert.throws(() => convert(1, "shore-a", "shore-d"), RangeError);
});

Deno.test("Every unit of the data contract is known, with the everyday spellings it names", () => {
  const pairs = [
    ["in", "[in_i]"],
    ["oz", "[oz_av]"],
    ["lbf", "[lbf_av]"],
    ["°", "deg"],
    ["degC", "Cel"],
    ["°C", "Cel"],
    ["degF", "[degF]"],
    ["°F", "[degF]"],
    ["N*m/deg", "N.m/deg"],
    ["Nm/deg", "N.m/deg"],
  ];
  for (const [spelling, code] of pairs) assert.equal(unitOf(spelling)?.code, code);
  for (const code of ["cm", "mm", "g", "N", "deg", "s", "%", "1", "shore-a"]) {
    assert.equal(unitOf(code)?.code, code);
  }
  assert.ok(units.every(({ source }) => source.length > 0));
});

Deno.test("No spelling names two units", () => {
  const spellings = units.flatMap(({ code, spellings }) => [code, ...spellings]);
  assert.deepEqual(spellings.filter((text, i) => spellings.indexOf(text) !== i), []);
});

Deno.test("sameDimension() is false for units that nobody knows", () => {
  assert.equal(sameDimension("mm", "in"), true);
  assert.equal(sameDimension("N", "g"), false);
  assert.equal(sameDimension("ell", "ell"), false);
});

Deno.test("parseQuantity() reads what testers write in a cell", () => {
  const read = (text: string) => parseQuantity(text);
  assert.deepEqual(read("11.2 in"), { value: 11.2, unit: "[in_i]" });
  assert.deepEqual(read("28,4 cm"), { value: 28.4, unit: "cm" });
  assert.deepEqual(read("159 °F"), { value: 159, unit: "[degF]" });
  assert.deepEqual(read(" −3.5°C "), { value: -3.5, unit: "Cel" });
  assert.deepEqual(read('11"'), { value: 11, unit: "[in_i]" });
  assert.deepEqual(read("0,512 kg"), { value: 0.512, unit: "kg" });
  assert.deepEqual(read("1e-3"), { value: 0.001, unit: null });
  assert.deepEqual(parseQuantity("1,234 g", { decimal: "," }), { value: 1.234, unit: "g" });
});

Deno.test("parseQuantity() refuses what can be read in two ways, and offers the ways", () => {
  assert.deepEqual(parseQuantity("1,234 g"), {
    expected: "a number that can be read in one way only",
    fix: "Write 1234 or 1.234.",
  });
  assert.deepEqual(parseQuantity("1,234.5 g"), {
    expected: "a number without marks between its thousands",
    fix: "Write 1234.5 if that is meant.",
  });
  assert.deepEqual(parseQuantity("28.4 cm", { decimal: "," }), {
    expected: '"," as the decimal mark',
    fix: 'Write it with ",", without marks between thousands.',
  });
  assert.deepEqual(parseQuantity("30 CM"), {
    expected: "a known unit after the number",
    fix: "Write cm if that is meant.",
  });
  assert.deepEqual(parseQuantity("about 30"), {
    expected: "a number and a unit",
    fix: 'Write it like "28.4 cm".',
  });
});

Deno.test("parseQuantity() never throws and never makes up a number", () => {
  fc.assert(
    fc.property(
      fc.oneof(fc.string(), fc.stringMatching(/^ ?[-+]?[0-9.,' ]{1,8}(e[0-9])? ?(cm|in|°F|g)?$/)),
      (text) => {
        const read = parseQuantity(text);
        if (!("value" in read)) return assert.ok(read.expected.length > 0);
        assert.ok(Number.isFinite(read.value));
        const digits = text.match(/\d/g)?.length ?? 0;
        assert.ok(digits > 0, text);
      },
    ),
    { numRuns: 20_000, seed: 1 },
  );
});

Deno.test("convert() follows the prefixes of the SI and the minute, hour and day of its brochure, unit by unit", () => {
  // BIPM, The International System of Units, 9th edition, tables 7 and 8 (from memory).
  const factors: readonly (readonly [from: string, to: string, factor: number])[] = [
    ["J", "mJ", 1e3],
    ["kN", "N", 1e3],
    ["kgf", "N", 9.80665],
    ["kPa", "Pa", 1e3],
    ["MPa", "kPa", 1e3],
    ["N.m", "N.mm", 1e3],
    ["N.m", "N.cm", 1e2],
    ["N/mm", "N/m", 1e3],
    ["N/cm", "N/m", 1e2],
    ["N.m/deg", "N.mm/deg", 1e3],
    ["N.m/deg", "N.m/rad", 180 / Math.PI],
    ["rad", "deg", 180 / Math.PI],
    ["N.m2", "N.mm2", 1e6],
    ["kg", "g", 1e3],
    ["g", "mg", 1e3],
    ["m3", "L", 1e3],
    ["L", "mL", 1e3],
    ["mL", "cm3", 1],
    ["cm3", "mm3", 1e3],
    ["cm2", "mm2", 1e2],
    ["s", "ms", 1e3],
    ["min", "s", 60],
    ["h", "min", 60],
    ["d", "h", 24],
    ["m/s", "km/h", 3.6],
    ["m/s", "cm/s", 1e2],
    ["cm/s", "mm/s", 10],
    ["mm/s", "mm/min", 60],
    ["mm/min", "mm/h", 60],
    ["mm/min", "um/min", 1e3],
    ["mm/m", "um/m", 1e3],
    ["mm/m", "mm/km", 1e3],
    ["Hz", "/min", 60],
    ["g/cm3", "kg/m3", 1e3],
    ["mg/mm3", "g/cm3", 1],
    ["1", "%", 1e2],
    ["%", "[ppth]", 10],
  ];
  for (const [from, to, factor] of factors) {
    assertClose(convert(1, from, to), factor, { relative: 1e-14 });
    assertClose(convert(factor, to, from), 1, { relative: 1e-14 });
  }
});
