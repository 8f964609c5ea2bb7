import assert from "node:assert/strict";
import { combinedUncertainty } from "../../lib/statistics/combined_uncertainty.ts";
import { conformanceProbability, guardBand } from "../../lib/statistics/conformance.ts";
import { assertClose } from "../assert_close.ts";

Deno.test("combinedUncertainty() gives the end gauge of JCGM 100:2008, H.1: 32 nm, 16 degrees of freedom, 93 nm at 99%", () => {
  // H.1.2 to H.1.6, table H.1; lengths in nm, the standard is 50 mm long (values from memory).
  const length = 50.000623e6;
  const parts = [
    { standard: 25, freedom: 18 }, // calibration of the standard
    { standard: 9.7, freedom: 25.6 }, // measured difference
    { standard: 0.58e-6, sensitivity: -length * -0.1, freedom: 50 }, // difference in expansion
    { standard: 0.029, sensitivity: -length * 11.5e-6, freedom: 2 }, // difference in temperature
  ];
  const found = combinedUncertainty(parts, { confidence: 0.99 });
  assertClose(found.standard, 32, { within: 0.5 });
  assert.equal(Math.floor(found.freedom), 16);
  assertClose(found.factor, 2.92, { within: 0.005 });
  assertClose(found.expanded, 93, { within: 0.5 });
});

Deno.test("combinedUncertainty() gives the resistors of JCGM 100:2008, 5.2.2 only where they are independent: 1/√10 of the sum", () => {
  // Ten resistors of 1000 Ω, 100 mΩ each: independent ones make 0.32 Ω, wholly correlated ones 1 Ω.
  const found = combinedUncertainty(Array.from({ length: 10 }, () => ({ standard: 0.1 })));
  assertClose(found.standard, 0.316, { within: 5e-4 });
  assert.equal(found.freedom, Infinity);
  assertClose(found.factor, 1.96, { within: 5e-4 });
});

Deno.test("effective freedom lies between the least of the parts' and their sum", () => {
  const { freedom } = combinedUncertainty([
    { standard: 2, freedom: 4 },
    { standard: 1, freedom: 9 },
  ]);
  // (4 + 1)² / (16/4 + 1/9)
  assertClose(freedom, 25 / (4 + 1 / 9), { within: 1e-12 });
  assert.ok(freedom > 4 && freedom < 13);
});

Deno.test("conformanceProbability() gives the Zener diode of JCGM 106:2012, 7.2: 92% below −5.40 V", () => {
  // Measured −5.47 V, standard uncertainty 0.05 V (values from memory).
  assertClose(conformanceProbability(-5.47, 0.05, { low: null, high: -5.4 }), 0.919, {
    within: 5e-4,
  });
});

Deno.test("a value at an acceptance limit guarded by U at k = 2 conforms with a probability of 97.7%", () => {
  const tolerance = { low: 10, high: 20 };
  const u = 0.3;
  const { low, high, possible } = guardBand(tolerance, 2 * u);
  assert.ok(possible);
  assertClose(conformanceProbability(low!, u, tolerance), 0.97725, { within: 1e-5 });
  assertClose(conformanceProbability(high!, u, tolerance), 0.97725, { within: 1e-5 });
});

Deno.test("guard bands that meet leave no value to accept, and impossible inputs are refused", () => {
  assert.equal(guardBand({ low: 1, high: 2 }, 0.6).possible, false);
  assert.throws(() => guardBand({ low: 2, high: 1 }, 0.1), /from low to high/);
  assert.throws(() => combinedUncertainty([{ standard: -1 }]), /0 or more/);
  assert.throws(() => combinedUncertainty([{ standard: 1, freedom: 0 }]), /above 0/);
});
