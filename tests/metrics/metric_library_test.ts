import assert from "node:assert/strict";
import * as metrics from "../../lib/metrics/mod.ts";
import { convert, unitOf } from "../../lib/records/units.ts";
import { assertClose } from "../assert_close.ts";
import { check } from "./physics.ts";

const { metricLibrary } = metrics;

/** Constants that make an entry computable: required ones by hand, the rest by default. */
const given: Readonly<Record<string, number | string>> = {
  drop_height_cm: 60,
  normal_force_n: 90,
  seconds: 10,
  density_mg_per_mm3: 1.12,
  control_mass_loss_mg: 195,
  length_mm: 80,
  support: "cantilever",
  angle_deg: 15,
  size: 42,
  size_system: "eu",
  reference_size: 41,
  foot_length_mm: 262,
  foot_width_mm: 100,
};

/** A reading within each entry's domain. */
const readings: Readonly<Record<string, number>> = {
  rebound_height_cm: 30,
  drop_height_cm: 60,
  tilt_deg: 38,
  friction: 0.8,
  pull_n: 70,
  mass_kg: 10,
  depth_mm: 0.7,
  mass_loss_mg: 84,
  shore_a: 62,
  modulus_mpa: 3.6,
  time_constant_s: 185,
  stiffness_n_per_mm: 2,
  torque_n_m: 1.2,
  mass_g: 380,
  inside_length_mm: 275,
  last_length_mm: 282,
  inside_width_mm: 96,
  foot_length_mm: 263,
};

Deno.test("metricLibrary names exported functions and returns what they return, unit and caution included", () => {
  assert.ok(Object.keys(metricLibrary).length >= 20);
  for (const [name, entry] of Object.entries(metricLibrary)) {
    const direct =
      (metrics as unknown as Record<string, (reading: number, options: object) => object>)[name];
    assert.equal(typeof direct, "function", `${name} is exported`);
    const required = entry.constants.filter((each) => each.default === undefined && !each.optional);
    const constants = Object.fromEntries(required.map(({ name }) => [name, given[name]]));
    const reading = readings[entry.reading];
    const found = entry.compute(reading, constants);
    assert.deepEqual(found, direct(reading, constants), name);
    assert.ok(Number.isFinite(found.value), `${name} is ${found.value}`);
    assert.deepEqual([found.unit, found.caution], [entry.unit, entry.caution], name);
    assert.ok(entry.source.length > 0);
  }
});

Deno.test("metricLibrary carries uncertainties, once every u_ constant of an entry is given", () => {
  for (const [name, { constants, reading, compute }] of Object.entries(metricLibrary)) {
    const asked = constants.filter((each) => each.default === undefined);
    const filled = Object.fromEntries(
      asked.map((each) => [each.name, each.optional ? 0.1 : given[each.name]]),
    );
    const { standard_uncertainty } = compute(readings[reading], filled);
    assert.ok(Number(standard_uncertainty) > 0, `${name} gives ${standard_uncertainty}`);
  }
});

Deno.test("metricLibrary speaks only units that a bench folder can hold", () => {
  for (const [name, { unit, reading_unit }] of Object.entries(metricLibrary)) {
    assert.ok(unitOf(unit), `${name}: ${unit}`);
    assert.ok(unitOf(reading_unit), `${name}: ${reading_unit}`);
  }
});

Deno.test("metricLibrary refuses constants that are missing, unknown or of the wrong kind, by name", () => {
  const { reboundEnergyReturn, massAtReferenceSize, mondopointLabel } = metricLibrary;
  assert.throws(() => reboundEnergyReturn.compute(30, {}), {
    name: "RangeError",
    message: /reboundEnergyReturn: constant drop_height_cm is missing, expected a number in cm/,
  });
  assert.throws(
    () => reboundEnergyReturn.compute(30, { drop_height_cm: 60, drop: 1 }),
    /takes no constant "drop", expected drop_height_cm, u_rebound_height_cm, u_drop_height_cm/,
  );
  assert.throws(
    () => reboundEnergyReturn.compute(30, { drop_height_cm: "60" }),
    /is "60", expected/,
  );
  assert.throws(
    () => massAtReferenceSize.compute(380, { size: 42, reference_size: 41, size_system: "fr" }),
    /size_system is "fr", expected one of mondopoint/,
  );
  assert.throws(() => mondopointLabel.compute(263, { interval_mm: 6 }), /expected one of 5, 7.5/);
  assert.throws(
    () => reboundEnergyReturn.compute(61, { drop_height_cm: 60 }),
    /rebound_height_cm is 61/,
  );
  assert.throws(() => reboundEnergyReturn.compute(30, { toString: 1 }), /takes no constant/);
});

Deno.test("relatedStandards names every standard of the reference list and claims none", () => {
  const { published } = check("related-standards");
  assert.deepEqual(Object.keys(metrics.relatedStandards).sort(), Object.keys(published).sort());
  assert.match(metrics.benchCaution, /claims no conformity/);
});

Deno.test("the unit table and the metrics agree on exact conversions, 159.3 °F being 70.7 °C", () => {
  const { published, computed } = check("units"); // NIST SP 811, UCUM
  const exact = { relative: 1e-14 };
  assertClose(convert(1, "[in_i]", "cm"), published.inch_cm, exact);
  assertClose(convert(1, "[oz_av]", "g"), published.ounce_av_g, exact);
  assertClose(convert(1, "[lb_av]", "kg"), published.pound_av_kg, exact);
  assertClose(convert(1, "[lbf_av]", "N"), published.pound_force_n, exact);
  assertClose(metrics.normalForceFromMass(1).value, published.standard_gravity, exact);
  assertClose(convert(1, "[in_i]", "mm"), computed.inch_mm, exact);
  assertClose(convert(1, "[ft_i]", "cm"), computed.foot_cm, exact);
  assertClose(convert(12.5, "[oz_av]", "g"), computed.oz_12_5_g, exact);
  assertClose(convert(10, "[lbf_av]", "N"), computed.lbf_10_n, exact);
  assertClose(convert(98.6, "[degF]", "Cel"), computed.f_98_6_c, { within: 1e-12 });
  assertClose(convert(37, "Cel", "[degF]"), computed.c_37_f, { within: 1e-12 });
  assertClose(convert(1, "[psi]", "kPa"), computed.psi_kpa, exact);
  assertClose(convert(1, "N.m/deg", "N.m/rad"), computed.n_m_per_deg_to_n_m_per_rad, exact);
  const warmer = convert(60, "[degF]", "Cel") - convert(50, "[degF]", "Cel");
  assertClose(warmer, computed.f_difference_10_in_kelvin, { within: 1e-12 });
  assert.equal(convert(159.3, "[degF]", "Cel").toFixed(1), "70.7"); // common practice, no source
});

Deno.test("every check of the reference file is answered by a test of this folder", async () => {
  const { default: physics } = await import("../references/published/physics.json", {
    with: { type: "json" },
  });
  let tests = "";
  for await (const { name } of Deno.readDir(new URL(".", import.meta.url))) {
    tests += await Deno.readTextFile(new URL(name, import.meta.url));
  }
  for (const { id } of physics.checks) assert.ok(tests.includes(`check("${id}")`), id);
});
