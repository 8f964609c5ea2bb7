import assert from "node:assert/strict";
import fc from "fast-check";
import {
  bendingStiffness,
  flexuralRigidity,
  torsionalStiffness,
  torsionalStiffnessAt,
} from "../../lib/metrics/mod.ts";
import { assertClose } from "../assert_close.ts";
import { normals } from "./normals.ts";
import { check } from "./physics.ts";

const { data, computed } = check("stiffness");
const bent = [0.2, 3, 6.5, 10.5, 15, 20];

Deno.test("bendingStiffness() gives the reference slopes with an intercept and through the origin", () => {
  const free = bendingStiffness(data.load_mm, data.load_n, { line: "own-intercept" });
  assertClose(free.value, computed.slope_of_loading_least_squares_n_per_mm, { relative: 1e-13 });
  const held = bendingStiffness(data.load_mm, data.load_n, { line: "through-origin" });
  assertClose(held.value, computed.slope_through_origin, { relative: 1e-13 });
});

Deno.test("bendingStiffness() has the slope, intercept and standard errors of R's lm()", () => {
  const free = bendingStiffness(data.load_mm, bent, { line: "own-intercept" }); // references/metrics/lines.R
  assertClose(free.value, 1.985714285714285, { relative: 1e-13 });
  assertClose(free.standard_uncertainty, 0.0979379228628724, { relative: 1e-12 });
  assertClose(free.intercept, -0.728571428571424, { relative: 1e-12 });
  assertClose(free.curvature_ratio, 33.54101966249618, { relative: 1e-10 });
  const held = bendingStiffness(data.load_mm, bent, { line: "through-origin" });
  assertClose(held.standard_uncertainty, 0.0579897397593348, { relative: 1e-12 });
});

Deno.test("bendingStiffness() fits the linear part alone when a window is given, and says so", () => {
  const part = bendingStiffness(data.load_mm, bent, { line: "own-intercept", window: [4, 10] });
  assertClose(part.value, 2.25, { relative: 1e-13 }); // references/metrics/lines.R
  assertClose(part.standard_uncertainty, 0.0790569415042097, { relative: 1e-12 });
  assert.equal(part.n, 4);
  assert.match(part.method, /deflection_mm from 4 to 10/);
});

Deno.test("bendingStiffness() warns when the points bend and is silent when noise alone scatters them", () => {
  const curved = bendingStiffness(data.load_mm, bent, { line: "own-intercept" });
  assert.match(curved.warnings.join(), /points bend/);
  const errors = normals(11, 5);
  const deflection = errors.map((_, i) => i);
  const straight = bendingStiffness(deflection, deflection.map((d, i) => 3 * d + 0.2 * errors[i]), {
    line: "own-intercept",
  });
  assert.deepEqual(straight.warnings, []);
  assert.equal(typeof straight.curvature_ratio, "number");
});

Deno.test("bendingStiffness()'s 95% interval covers the true slope in 95 of 100 simulated tests", () => {
  const deflection = [0, 2, 4, 6, 8, 10];
  const errors = normals(6 * 4000, 3);
  for (const [line, t] of [["own-intercept", 2.776445], ["through-origin", 2.570582]] as const) {
    let covered = 0;
    for (let run = 0; run < 4000; run++) {
      const load = deflection.map((d, i) => 2 * d + 0.3 * errors[6 * run + i]);
      const { value, standard_uncertainty } = bendingStiffness(deflection, load, { line });
      if (Math.abs(Number(value) - 2) <= t * Number(standard_uncertainty)) covered++;
    }
    assertClose(covered / 4000, 0.95, { within: 0.0104 }); // three standard errors
  }
});

Deno.test("bendingStiffness() ignores a preload only with an intercept of its own, and scales with the load", () => {
  const slope = fc.double({ min: 0.1, max: 50, noNaN: true });
  const preload = fc.double({ min: 0.5, max: 20, noNaN: true });
  fc.assert(fc.property(slope, preload, (truth, start) => {
    const load = data.load_mm.map((d: number) => start + truth * d);
    const free = bendingStiffness(data.load_mm, load, { line: "own-intercept" });
    assertClose(free.value, truth, { relative: 1e-9 });
    assertClose(free.intercept, start, { relative: 1e-9 });
    const held = bendingStiffness(data.load_mm, load, { line: "through-origin" });
    assert.ok(Number(held.value) > truth);
  }));
});

Deno.test("torsionalStiffness() and torsionalStiffnessAt() give 0.08 N·m/deg for 1.2 N·m at 15°", () => {
  const wanted = computed.torsion_n_m_per_deg_for_1_2_n_m_at_15_deg;
  const found = torsionalStiffness([15], [1.2], { line: "through-origin" });
  assertClose(found.value, wanted, { relative: 1e-14 });
  assert.equal(found.standard_uncertainty_reason, "no point to spare for the scatter");
  const at = torsionalStiffnessAt(1.2, { angle_deg: 15, u_torque_n_m: 0.036, u_angle_deg: 0.6 });
  assertClose(at.value, wanted, { relative: 1e-14 });
  assertClose(at.standard_uncertainty, wanted * 0.05, { relative: 1e-12 }); // 3% and 4%
});

Deno.test("flexuralRigidity() is kL³/3 clamped and kL³/48 on two supports", () => {
  const clamped = flexuralRigidity(2, { length_mm: 80, support: "cantilever" });
  assertClose(clamped.value, computed.cantilever_ei_n_m2_for_k_2_n_per_mm_l_80_mm, {
    relative: 1e-14,
  });
  const spanned = flexuralRigidity(2, {
    length_mm: 80,
    support: "three-point",
    u_stiffness_n_per_mm: 0.08,
    u_length_mm: 0.8,
  });
  assertClose(spanned.value, computed.three_point_ei_n_m2, { relative: 1e-14 });
  // 4% of the stiffness, and three times 1% of the length
  assertClose(spanned.standard_uncertainty, computed.three_point_ei_n_m2 * 0.05, {
    relative: 1e-12,
  });
});

Deno.test("stiffness metrics have no answer where points set no rising slope, and say why", () => {
  const line = "own-intercept";
  assert.match(String(bendingStiffness([2, 2], [1, 3], { line }).value_reason), /one place/);
  assert.match(String(bendingStiffness([2], [1], { line }).value_reason), /one place/);
  assert.match(String(bendingStiffness([0, 1], [3, 1], { line }).value_reason), /does not rise/);
  const none = bendingStiffness([0, 1], [0, 1], { line, window: [5, 6] });
  assert.deepEqual([none.value, none.n, none.value_reason], [
    null,
    0,
    "no point lies in the window",
  ]);
});

Deno.test("stiffness metrics refuse unequal lists, odd windows and unknown lines", () => {
  const line = "own-intercept";
  assert.throws(() => bendingStiffness([0, 1], [0], { line }), /deflection_mm holds 2 .* load_n 1/);
  assert.throws(() => torsionalStiffness([0, 1], [0, NaN], { line }), /torque_n_m\[1\] is NaN/);
  assert.throws(() => bendingStiffness([0, 1], [0, 1], { line, window: [2, 1] }), RangeError);
  assert.throws(
    () => bendingStiffness([0, 1], [0, 1], { line: "x" as "own-intercept" }),
    RangeError,
  );
  assert.throws(() => torsionalStiffnessAt(1, { angle_deg: 0 }), RangeError);
  assert.throws(
    () => flexuralRigidity(2, { length_mm: 80, support: "x" as "cantilever" }),
    RangeError,
  );
});
