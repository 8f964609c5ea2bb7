import { abrasionRate } from "./abrasion_rate.ts";
import { abrasionVolumeLoss } from "./abrasion_volume_loss.ts";
import { benchCaution, dustCaution, sizeCaution, slipCaution } from "./cautions.ts";
import { flexuralRigidity } from "./flexural_rigidity.ts";
import { frictionFromPull } from "./friction_from_pull.ts";
import { frictionFromTilt } from "./friction_from_tilt.ts";
import { halfTimeFromTimeConstant } from "./half_time_from_time_constant.ts";
import { impactSpeed } from "./impact_speed.ts";
import { insideLengthOverNominal } from "./inside_length_over_nominal.ts";
import { lastLengthOverNominal } from "./last_length_over_nominal.ts";
import { massAtReferenceSize } from "./mass_at_reference_size.ts";
import { checkedConstants, type LibraryConstant } from "./library_constants.ts";
import type { MetricValue } from "./metric_value.ts";
import { modulusFromShoreA } from "./modulus_from_shore_a.ts";
import { mondopointLabel } from "./mondopoint_label.ts";
import { normalForceFromMass } from "./normal_force_from_mass.ts";
import { reboundEnergyReturn } from "./rebound_energy_return.ts";
import { relativeVolumeLoss } from "./relative_volume_loss.ts";
import { restitution } from "./restitution.ts";
import { shoreAFromModulus } from "./shore_a_from_modulus.ts";
import { sizeSystems } from "./size_system.ts";
import { tiltFromFriction } from "./tilt_from_friction.ts";
import { toeAllowance } from "./toe_allowance.ts";
import { torsionalStiffnessAt } from "./torsional_stiffness_at.ts";
import { widthAllowance } from "./width_allowance.ts";

/** A function of the metric library that turns one reading into a metric. */
export type LibraryMetric = {
  readonly compute: (
    reading: number,
    constants: Readonly<Record<string, number | string>>,
  ) => MetricValue;
  /** Name of the reading, with its unit. */
  readonly reading: string;
  /** UCUM code the reading must be in. */
  readonly reading_unit: string;
  /** UCUM code of what comes out. */
  readonly unit: string;
  readonly constants: readonly LibraryConstant[];
  readonly caution: string | null;
  readonly source: string;
};

/**
 * An entry as it is written below: what it calls takes constants that were checked and completed.
 */
type Draft = Omit<LibraryMetric, "compute"> & {
  readonly call: (reading: number, constants: Checked) => MetricValue;
};

/** Numbers and words by name; each function checks its own domain. */
// deno-lint-ignore no-explicit-any -- the declared constants say which are words and which numbers
type Checked = any;

const mechanics = "textbook mechanics";
const beams = "textbook beam theory";
const custom = "common practice, no source";
const gent = "Gent AN (1958), Rubber Chemistry and Technology 31:896-906";
const mondopoint = "ISO 9407 as related standard, from memory; no conformity claimed";
const drum = "ISO 4649 as related standard, from memory; no conformity claimed";

const drop: readonly LibraryConstant[] = [
  constant("drop_height_cm", "cm", "height the ball falls from, to the lowest point of the ball"),
  uncertainty("rebound_height_cm", "cm"),
  uncertainty("drop_height_cm", "cm"),
];

const density: LibraryConstant = constant(
  "density_mg_per_mm3",
  "mg/mm3",
  "density of the outsole rubber; the same number as g/cm3",
);

const conventions: readonly LibraryConstant[] = [
  {
    name: "allowance_mm",
    unit: "mm",
    meaning: "how much longer the last is than its foot, 10 to 20",
    default: 15,
  },
  {
    name: "us_women_over_men",
    unit: "1",
    meaning: "US women's size minus men's size on the same last, 1 to 1.5",
    default: 1.5,
  },
];

const label: readonly LibraryConstant[] = [
  { ...constant("size", "1", "labelled size; Mondopoint in mm"), shoe_column: "size" },
  {
    ...constant("size_system", null, "system of the labelled size"),
    choices: sizeSystems,
    shoe_column: "size_system",
  },
  ...conventions,
];

const drafts: Readonly<Record<string, Draft>> = {
  reboundEnergyReturn: {
    call: reboundEnergyReturn,
    reading: "rebound_height_cm",
    reading_unit: "cm",
    unit: "1",
    constants: drop,
    caution: benchCaution,
    source: mechanics,
  },
  restitution: {
    call: restitution,
    reading: "rebound_height_cm",
    reading_unit: "cm",
    unit: "1",
    constants: drop,
    caution: benchCaution,
    source: mechanics,
  },
  impactSpeed: {
    call: impactSpeed,
    reading: "drop_height_cm",
    reading_unit: "cm",
    unit: "m/s",
    constants: [uncertainty("drop_height_cm", "cm")],
    caution: benchCaution,
    source: mechanics,
  },
  frictionFromTilt: {
    call: frictionFromTilt,
    reading: "tilt_deg",
    reading_unit: "deg",
    unit: "1",
    constants: [uncertainty("tilt_deg", "deg")],
    caution: slipCaution,
    source: mechanics,
  },
  tiltFromFriction: {
    call: tiltFromFriction,
    reading: "friction",
    reading_unit: "1",
    unit: "deg",
    constants: [uncertainty("friction", "1")],
    caution: slipCaution,
    source: mechanics,
  },
  frictionFromPull: {
    call: frictionFromPull,
    reading: "pull_n",
    reading_unit: "N",
    unit: "1",
    constants: [
      constant("normal_force_n", "N", "what presses the shoe down"),
      uncertainty("pull_n", "N"),
      uncertainty("normal_force_n", "N"),
    ],
    caution: slipCaution,
    source: mechanics,
  },
  normalForceFromMass: {
    call: normalForceFromMass,
    reading: "mass_kg",
    reading_unit: "kg",
    unit: "N",
    constants: [uncertainty("mass_kg", "kg")],
    caution: null,
    source: "NIST Special Publication 811 (standard gravity)",
  },
  abrasionRate: {
    call: abrasionRate,
    reading: "depth_mm",
    reading_unit: "mm",
    unit: "mm/min",
    constants: [
      constant("seconds", "s", "time sanded"),
      uncertainty("depth_mm", "mm"),
      uncertainty("seconds", "s"),
    ],
    caution: dustCaution,
    source: custom,
  },
  abrasionVolumeLoss: {
    call: abrasionVolumeLoss,
    reading: "mass_loss_mg",
    reading_unit: "mg",
    unit: "mm3",
    constants: [
      density,
      uncertainty("mass_loss_mg", "mg"),
      uncertainty("density_mg_per_mm3", "mg/mm3"),
    ],
    caution: dustCaution,
    source: drum,
  },
  relativeVolumeLoss: {
    call: relativeVolumeLoss,
    reading: "mass_loss_mg",
    reading_unit: "mg",
    unit: "mm3",
    constants: [
      density,
      constant("control_mass_loss_mg", "mg", "loss of the control rubber on the same day"),
      {
        name: "defined_control_loss_mg",
        unit: "mg",
        meaning: "what the control rubber should lose",
        default: 200,
      },
      uncertainty("mass_loss_mg", "mg"),
      uncertainty("density_mg_per_mm3", "mg/mm3"),
      uncertainty("control_mass_loss_mg", "mg"),
    ],
    caution: dustCaution,
    source: drum,
  },
  modulusFromShoreA: {
    call: modulusFromShoreA,
    reading: "shore_a",
    reading_unit: "shore-a",
    unit: "MPa",
    constants: [uncertainty("shore_a", "shore-a")],
    caution: benchCaution,
    source: gent,
  },
  shoreAFromModulus: {
    call: shoreAFromModulus,
    reading: "modulus_mpa",
    reading_unit: "MPa",
    unit: "shore-a",
    constants: [uncertainty("modulus_mpa", "MPa")],
    caution: benchCaution,
    source: gent,
  },
  halfTimeFromTimeConstant: {
    call: halfTimeFromTimeConstant,
    reading: "time_constant_s",
    reading_unit: "s",
    unit: "s",
    constants: [uncertainty("time_constant_s", "s")],
    caution: null,
    source: "Newton's law of cooling",
  },
  flexuralRigidity: {
    call: flexuralRigidity,
    reading: "stiffness_n_per_mm",
    reading_unit: "N/mm",
    unit: "N.m2",
    constants: [
      constant("length_mm", "mm", "from clamp to load, or between supports"),
      {
        ...constant("support", null, "how the sole is held"),
        choices: ["cantilever", "three-point"],
      },
      uncertainty("stiffness_n_per_mm", "N/mm"),
      uncertainty("length_mm", "mm"),
    ],
    caution: benchCaution,
    source: beams,
  },
  torsionalStiffnessAt: {
    call: torsionalStiffnessAt,
    reading: "torque_n_m",
    reading_unit: "N.m",
    unit: "N.m/deg",
    constants: [
      constant("angle_deg", "deg", "twist at which the torque is read"),
      uncertainty("torque_n_m", "N.m"),
      uncertainty("angle_deg", "deg"),
    ],
    caution: benchCaution,
    source: beams,
  },
  massAtReferenceSize: {
    call: massAtReferenceSize,
    reading: "mass_g",
    reading_unit: "g",
    unit: "g",
    constants: [
      ...label,
      constant("reference_size", "1", "size that all shoes are compared in, of the same system"),
      { name: "exponent", unit: "1", meaning: "power of the last's length, 0 to 3", default: 2 },
      {
        name: "u_exponent",
        unit: "1",
        meaning: "standard uncertainty of the exponent",
        default: 1 / Math.sqrt(12),
      },
      uncertainty("mass_g", "g"),
    ],
    caution: benchCaution,
    source: custom,
  },
  insideLengthOverNominal: {
    call: insideLengthOverNominal,
    reading: "inside_length_mm",
    reading_unit: "mm",
    unit: "mm",
    constants: [...label, uncertainty("inside_length_mm", "mm")],
    caution: sizeCaution,
    source: mondopoint,
  },
  lastLengthOverNominal: {
    call: lastLengthOverNominal,
    reading: "last_length_mm",
    reading_unit: "mm",
    unit: "mm",
    constants: [...label, uncertainty("last_length_mm", "mm")],
    caution: sizeCaution,
    source: mondopoint,
  },
  toeAllowance: {
    call: toeAllowance,
    reading: "inside_length_mm",
    reading_unit: "mm",
    unit: "mm",
    constants: [
      constant("foot_length_mm", "mm", "length of the foot, heel to longest toe, standing"),
      uncertainty("inside_length_mm", "mm"),
      uncertainty("foot_length_mm", "mm"),
    ],
    caution: sizeCaution,
    source: custom,
  },
  widthAllowance: {
    call: widthAllowance,
    reading: "inside_width_mm",
    reading_unit: "mm",
    unit: "mm",
    constants: [
      constant("foot_width_mm", "mm", "width of the foot at the ball, or of a Mondopoint label"),
      uncertainty("inside_width_mm", "mm"),
      uncertainty("foot_width_mm", "mm"),
    ],
    caution: sizeCaution,
    source: mondopoint,
  },
  mondopointLabel: {
    call: mondopointLabel,
    reading: "foot_length_mm",
    reading_unit: "mm",
    unit: "mm",
    constants: [
      {
        name: "interval_mm",
        unit: "mm",
        meaning: "step between labels",
        default: 5,
        choices: [5, 7.5],
      },
    ],
    caution: sizeCaution,
    source: mondopoint,
  },
};

/**
 * Which functions can turn one reading into another metric, and what do they need?
 *
 * By name, as `derive.by` in metrics.json gives it. `compute` takes the reading in `reading_unit`
 * and the constants of `derive.with`; it fills defaults, and throws a RangeError for a constant
 * that is missing, unknown or of the wrong kind and for a reading outside the function's domain.
 * Metrics that need a series (cooling, clearing, stiffness, hysteresis) are in `seriesLibrary`; those
 * that need a bracket (slip angle), a second reading of the same shoe (stack, drop) or a control of
 * the same day that may be null (the abrasion index) are functions of their own.
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { metrics } from "bench-to-court";
 * const { compute, unit } = metrics.metricLibrary.reboundEnergyReturn;
 * assert.deepEqual([compute(50, { drop_height_cm: 100 }).value, unit], [0.5, "1"]);
 * ```
 */
export const metricLibrary: Readonly<Record<string, LibraryMetric>> = Object.fromEntries(
  Object.entries(drafts).map(([name, { call, ...entry }]): [string, LibraryMetric] => [name, {
    ...entry,
    compute: (reading, constants) =>
      call(reading, checkedConstants(name, entry.constants, constants)),
  }]),
);

function constant(name: string, unit: string | null, meaning: string): LibraryConstant {
  return { name, unit, meaning };
}

function uncertainty(reading: string, unit: string): LibraryConstant {
  return {
    name: `u_${reading}`,
    unit,
    meaning: `standard uncertainty of ${reading}, 0 for an exact one`,
    optional: true,
  };
}
