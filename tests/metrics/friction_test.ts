import assert from "node:assert/strict";
import fc from "fast-check";
import {
  frictionFromPull,
  frictionFromTilt,
  frictionInterval,
  normalForceFromMass,
  slipAngle,
  tiltFromFriction,
} from "../../lib/metrics/mod.ts";
import { assertClose } from "../assert_close.ts";
import { check, closed } from "./physics.ts";

Deno.test("frictionFromTilt() is tan θ with its slope, at all twelve reference angles", () => {
  const { cases } = check("tilt-friction").computed;
  assert.equal(cases.length, 12);
  for (const { degrees, mu, u_mu_for_half_a_degree } of cases) {
    const found = frictionFromTilt(degrees, { u_tilt_deg: 0.5 });
    assertClose(found.value, mu, closed(1));
    assertClose(found.standard_uncertainty, u_mu_for_half_a_degree, { relative: 1e-12 });
  }
});

Deno.test("frictionFromPull() with normalForceFromMass() gives the reference frictions", () => {
  const { from_force } = check("tilt-friction").computed;
  assert.equal(from_force.length, 3);
  for (const { pull_n, mass_kg, mu } of from_force) {
    const normal_force_n = normalForceFromMass(mass_kg).value;
    assertClose(frictionFromPull(pull_n, { normal_force_n }).value, mu, closed(1));
  }
});

Deno.test("frictionFromTilt() gives the tangents of the ramp standards' limits, and its caution allows no class", () => {
  const { tangents } = check("ramp-classes").computed; // DIN 51130 from memory, related only
  for (const [degrees, tangent] of Object.entries(tangents)) {
    assertClose(frictionFromTilt(Number(degrees)).value, tangent as number, closed(1));
  }
  assert.match(String(frictionFromTilt(35).caution), /no safety rating.*no slip class/s);
});

Deno.test("frictionInterval() maps 35° to 42° on painted hard court to a friction of 0.70 to 0.90", () => {
  const { lower, upper } = frictionInterval(35, 42); // common practice, no source
  assert.deepEqual([lower.toFixed(2), upper.toFixed(2)], ["0.70", "0.90"]);
});

Deno.test("slipAngle() takes the middle of the bracket with half the step over √3", () => {
  const found = slipAngle(38, 40);
  assert.equal(found.value, 39);
  assertClose(found.standard_uncertainty, 1 / Math.sqrt(3), closed(1));
  assertClose(found.friction_low, Math.tan((38 * Math.PI) / 180), closed(1));
  assertClose(found.friction_high, Math.tan((40 * Math.PI) / 180), closed(1));
  assertClose(
    slipAngle(38, 40, { u_tilt_deg: 0.5 }).standard_uncertainty,
    Math.sqrt(1 / 3 + 0.25),
    closed(1),
  );
});

Deno.test("slipAngle()'s friction lies inside its interval, and a finer step narrows it", () => {
  const angle = fc.double({ min: 0, max: 80, noNaN: true });
  const step = fc.double({ min: 0.1, max: 5, noNaN: true });
  fc.assert(fc.property(angle, step, (held, rise) => {
    const wide = slipAngle(held, held + rise);
    assert.ok(wide.friction_low < wide.friction && wide.friction < wide.friction_high);
    const narrow = slipAngle(held, held + rise / 2);
    assert.ok(Number(narrow.standard_uncertainty) < Number(wide.standard_uncertainty));
  }));
});

Deno.test("tiltFromFriction() undoes frictionFromTilt(), value and uncertainty", () => {
  fc.assert(fc.property(fc.double({ min: 0, max: 85, noNaN: true }), (tilt) => {
    const { value, standard_uncertainty } = frictionFromTilt(tilt, { u_tilt_deg: 0.3 });
    const back = tiltFromFriction(value, { u_friction: Number(standard_uncertainty) });
    assertClose(back.value, tilt, { within: 1e-11 });
    assertClose(back.standard_uncertainty, 0.3, { within: 1e-11 });
  }));
});

Deno.test("frictionFromPull() carries the uncertainty of both forces", () => {
  const found = frictionFromPull(30, { normal_force_n: 60, u_pull_n: 0.6, u_normal_force_n: 0.6 });
  assertClose(found.standard_uncertainty, 0.5 * Math.hypot(0.02, 0.01), closed(1));
  assert.equal(frictionFromPull(30, { normal_force_n: 60 }).standard_uncertainty, null);
});

Deno.test("friction metrics refuse angles outside 0 to below 90, and slips no steeper than the hold", () => {
  for (const tilt of [-0.1, 90, 120, NaN, Infinity]) {
    assert.throws(() => frictionFromTilt(tilt), { name: "RangeError" });
  }
  assert.throws(() => frictionFromTilt(90), {
    message: "tilt_deg is 90, expected an angle of at least 0 and below 90 degrees",
  });
  assert.throws(() => slipAngle(40, 40), /slipped_deg is 40, expected an angle above held_deg, 40/);
  assert.throws(() => frictionInterval(42, 35), RangeError);
  assert.throws(() => frictionFromPull(-1, { normal_force_n: 10 }), RangeError);
  assert.throws(() => frictionFromPull(1, { normal_force_n: 0 }), RangeError);
  assert.throws(() => normalForceFromMass(0), RangeError);
  assert.throws(() => tiltFromFriction(-0.1), RangeError);
});

Deno.test("frictionFromPull() takes any normal force above 0, half a newton too", () => {
  assertClose(frictionFromPull(0.4, { normal_force_n: 0.5 }).value, 0.8, closed(1));
  assert.throws(() => frictionFromPull(0.4, { normal_force_n: 0 }), RangeError);
});
