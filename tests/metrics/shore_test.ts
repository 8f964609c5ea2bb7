import assert from "node:assert/strict";
import fc from "fast-check";
import { modulusFromShore, modulusFromShoreA, shoreAFromModulus } from "../../lib/metrics/mod.ts";
import { assertClose } from "../assert_close.ts";
import { check } from "./physics.ts";

Deno.test("modulusFromShoreA() is Gent's relation (1958) at nine hardnesses", () => {
  const { cases } = check("gent-shore-a").computed;
  assert.equal(cases.length, 9);
  for (const { shore_a, modulus_mpa } of cases) {
    assertClose(modulusFromShoreA(shore_a).value, modulus_mpa, { relative: 1e-13 });
  }
});

Deno.test("modulusFromShoreA() says when a hardness lies outside Gent's 20 to 80", () => {
  for (const inside of [20, 50, 80]) {
    assert.doesNotMatch(String(modulusFromShoreA(inside).caution), /outside/);
  }
  for (const outside of [19, 81, 95]) {
    assert.match(String(modulusFromShoreA(outside).caution), /lies outside/);
  }
});

Deno.test("modulusFromShore() refuses Shore D instead of pretending a conversion", () => {
  assert.throws(() => modulusFromShore(50, "D"), {
    name: "RangeError",
    message: /50 Shore D has no conversion.*expected a reading on scale A/,
  });
  assert.throws(() => modulusFromShore(50, "C" as "A"), /scale is "C", expected one of A, D/);
  assert.equal(modulusFromShore(50, "A").value, modulusFromShoreA(50).value);
});

Deno.test("shoreAFromModulus() undoes modulusFromShoreA(), which rises with hardness", () => {
  fc.assert(fc.property(fc.double({ min: 0, max: 99, noNaN: true }), (shore_a) => {
    const { value, standard_uncertainty } = modulusFromShoreA(shore_a, { u_shore_a: 1 });
    const back = shoreAFromModulus(value, { u_modulus_mpa: Number(standard_uncertainty) });
    assertClose(back.value, shore_a, { within: 1e-10 });
    assertClose(back.standard_uncertainty, 1, { within: 1e-10 });
    assert.ok(modulusFromShoreA(shore_a + 0.5).value > value);
  }));
});

Deno.test("modulusFromShoreA()'s uncertainty is the slope of the relation", () => {
  const slope = (modulusFromShoreA(60.001).value - modulusFromShoreA(59.999).value) / 0.002;
  const { standard_uncertainty } = modulusFromShoreA(60, { u_shore_a: 2 });
  assertClose(standard_uncertainty, 2 * slope, { relative: 1e-7 });
});

Deno.test("modulusFromShoreA() refuses 100 and more, where the relation runs to infinity", () => {
  for (const shore_a of [-1, 100, 101, NaN]) {
    assert.throws(() => modulusFromShoreA(shore_a), /shore_a is .*, expected a hardness/);
  }
  assert.throws(() => shoreAFromModulus(0.1), RangeError);
});
