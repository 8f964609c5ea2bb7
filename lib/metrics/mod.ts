/**
 * Bench metrics: raw readings in, a metric with unit, uncertainty and caution out.
 *
 * Every function takes readings with their units in the parameters' names, throws a RangeError for
 * a reading outside its domain, and gives a plain result. Related standards are cited as related;
 * no conformity is claimed, and no bench figure is a safety rating.
 *
 * @module
 */
export type { FittedMetricValue, MetricValue } from "./metric_value.ts";
export type { LibraryConstant } from "./library_constants.ts";
export { type LibraryMetric, metricLibrary } from "./metric_library.ts";
export { seriesLibrary, type SeriesMetric } from "./series_library.ts";
export { relatedStandards } from "./related_standards.ts";
export {
  benchCaution,
  dustCaution,
  heatCaution,
  sizeCaution,
  slipCaution,
  smokeCaution,
} from "./cautions.ts";

export { halfWidthUncertainty } from "./half_width_uncertainty.ts";
export { meanReadingUncertainty } from "./mean_reading_uncertainty.ts";
export { resolutionUncertainty } from "./resolution_uncertainty.ts";

export { impactSpeed } from "./impact_speed.ts";
export { reboundEnergyReturn, type ReboundOptions } from "./rebound_energy_return.ts";
export { restitution } from "./restitution.ts";

export { frictionFromPull } from "./friction_from_pull.ts";
export { frictionFromTilt } from "./friction_from_tilt.ts";
export { frictionInterval } from "./friction_interval.ts";
export { normalForceFromMass } from "./normal_force_from_mass.ts";
export { type SlipAngle, slipAngle } from "./slip_angle.ts";
export { tiltFromFriction } from "./tilt_from_friction.ts";

export { abrasionIndex } from "./abrasion_index.ts";
export { abrasionRate } from "./abrasion_rate.ts";
export { abrasionVolumeLoss } from "./abrasion_volume_loss.ts";
export { relativeVolumeLoss } from "./relative_volume_loss.ts";

export { modulusFromShore } from "./modulus_from_shore.ts";
export { modulusFromShoreA } from "./modulus_from_shore_a.ts";
export { shoreAFromModulus } from "./shore_a_from_modulus.ts";

export { type CoolingTimeConstant, coolingTimeConstant } from "./cooling_time_constant.ts";
export { type HalfClearingTime, halfClearingTime } from "./half_clearing_time.ts";
export { halfTimeFromTimeConstant } from "./half_time_from_time_constant.ts";

export { bendingStiffness } from "./bending_stiffness.ts";
export { flexuralRigidity } from "./flexural_rigidity.ts";
export { type HysteresisLoss, hysteresisLoss, type LoadBranch } from "./hysteresis_loss.ts";
export type { Stiffness, StiffnessOptions } from "./stiffness.ts";
export { torsionalStiffness } from "./torsional_stiffness.ts";
export { torsionalStiffnessAt } from "./torsional_stiffness_at.ts";

export { heelToToeDrop } from "./heel_to_toe_drop.ts";
export { massAtReferenceSize } from "./mass_at_reference_size.ts";
export { stackHeight } from "./stack_height.ts";
export { stackPositions } from "./stack_positions.ts";

export { type ConvertedSize, convertSize } from "./convert_size.ts";
export { insideLengthOverNominal, type LabelOptions } from "./inside_length_over_nominal.ts";
export { lastLengthFromSize } from "./last_length_from_size.ts";
export { lastLengthOverNominal } from "./last_length_over_nominal.ts";
export { mondopointLabel } from "./mondopoint_label.ts";
export { nominalFootLength } from "./nominal_foot_length.ts";
export { sizeFromLastLength } from "./size_from_last_length.ts";
export { type SizeConventions, type SizeSystem, sizeSystems } from "./size_system.ts";
export { type SizeRow, sizeTable } from "./size_table.ts";
export { type SuggestedSizeStep, suggestedSizeStep } from "./suggested_size_step.ts";
export { toeAllowance } from "./toe_allowance.ts";
export { widthAllowance } from "./width_allowance.ts";
