import assert from "node:assert/strict";
import fc from "fast-check";
import {
  heelToToeDrop,
  lastLengthFromSize,
  massAtReferenceSize,
  stackHeight,
  stackPositions,
} from "../../lib/metrics/mod.ts";
import { assertClose } from "../assert_close.ts";

Deno.test("stackHeight() and heelToToeDrop() subtract, with uncertainties in quadrature", () => {
  const heel = stackHeight(92, { rim_depth_mm: 61, u_rim_height_mm: 0.3, u_rim_depth_mm: 0.4 });
  assert.equal(heel.value, 31);
  assertClose(heel.standard_uncertainty, 0.5, { within: 1e-14 });
  const drop = heelToToeDrop(31, {
    forefoot_stack_mm: 22,
    u_heel_stack_mm: 0.5,
    u_forefoot_stack_mm: 1.2,
  });
  assert.equal(drop.value, 9);
  assertClose(drop.standard_uncertainty, 1.3, { within: 1e-14 });
  assert.equal(heelToToeDrop(20, { forefoot_stack_mm: 22 }).value, -2);
});

Deno.test("stackHeight(), heelToToeDrop() and stackPositions() refuse impossible heights", () => {
  assert.throws(
    () => stackHeight(50, { rim_depth_mm: 51 }),
    /rim_depth_mm is 51, expected .* 0 to 50/,
  );
  assert.throws(() => stackHeight(0, { rim_depth_mm: 0 }), RangeError);
  assert.throws(() => heelToToeDrop(-1, { forefoot_stack_mm: 2 }), RangeError);
  assert.throws(() => stackPositions(0), RangeError);
});

Deno.test("massAtReferenceSize() of the reference size itself is the mass, exponent or not", () => {
  const found = massAtReferenceSize(380, {
    size: 42,
    reference_size: 42,
    size_system: "eu",
    u_mass_g: 0.5,
  });
  assert.equal(found.value, 380);
  assertClose(found.standard_uncertainty, 0.5, { within: 1e-14 });
});

Deno.test("massAtReferenceSize() scales by the square of the last, worked by hand from EU 44 to 42", () => {
  const found = massAtReferenceSize(380, {
    size: 44,
    reference_size: 42,
    size_system: "eu",
    u_mass_g: 0,
    u_exponent: 0.5,
  });
  assertClose(found.value, 380 * (42 / 44) ** 2, { relative: 1e-12 });
  assertClose(found.standard_uncertainty, found.value * 0.5 * Math.log(44 / 42), {
    relative: 1e-12,
  });
});

Deno.test("massAtReferenceSize() there and back is the mass again, and a bigger size is lighter brought down", () => {
  const size = fc.double({ min: 36, max: 50, noNaN: true });
  const exponent = fc.double({ min: 0.5, max: 3, noNaN: true });
  fc.assert(fc.property(size, size, exponent, (one, two, exponent) => {
    const there = massAtReferenceSize(400, {
      size: one,
      reference_size: two,
      size_system: "eu",
      exponent,
    });
    const back = massAtReferenceSize(there.value, {
      size: two,
      reference_size: one,
      size_system: "eu",
      exponent,
    });
    assertClose(back.value, 400, { relative: 1e-12 });
    if (one > two + 0.001) assert.ok(there.value < 400);
  }));
});

Deno.test("massAtReferenceSize() gives one answer whichever system names the same two lasts", () => {
  const eu = massAtReferenceSize(400, { size: 44, reference_size: 42, size_system: "eu" });
  const inUk = (size: number) =>
    lastLengthFromSize(size, { size_system: "eu" }).value * 3 / 25.4 - 25;
  const uk = massAtReferenceSize(400, {
    size: inUk(44),
    reference_size: inUk(42),
    size_system: "uk",
  });
  assertClose(uk.value, eu.value, { relative: 1e-12 });
});

Deno.test("massAtReferenceSize() refuses a mass of nothing, a child's size and an exponent above 3", () => {
  const sizes = { size: 44, reference_size: 42, size_system: "eu" } as const;
  assert.throws(() => massAtReferenceSize(0, sizes), /mass_g is 0/);
  assert.throws(
    () => massAtReferenceSize(400, { ...sizes, size: 25 }),
    /size is 25, expected an adult eu size/,
  );
  assert.throws(() => massAtReferenceSize(400, { ...sizes, exponent: 4 }), /exponent is 4/);
});
