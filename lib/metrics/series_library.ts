import { bendingStiffness } from "./bending_stiffness.ts";
import { benchCaution, heatCaution, smokeCaution } from "./cautions.ts";
import { coolingTimeConstant } from "./cooling_time_constant.ts";
import { halfClearingTime } from "./half_clearing_time.ts";
import { hysteresisLoss } from "./hysteresis_loss.ts";
import { checkedConstants, type LibraryConstant } from "./library_constants.ts";
import type { FittedMetricValue } from "./metric_value.ts";

/** A function of the metric library that turns a reading of many points into a metric. */
export type SeriesMetric = {
  readonly compute: (
    at: readonly number[],
    values: readonly number[],
    constants: Readonly<Record<string, number | string>>,
  ) => FittedMetricValue;
  /** UCUM code that `at` must be in, such as seconds. */
  readonly at_unit: string;
  /** UCUM code that the readings must be in. */
  readonly value_unit: string;
  /** Whether a series may come with the two the other way round, as a load that is set and a deflection read. */
  readonly either_way: boolean;
  /** UCUM code of what comes out. */
  readonly unit: string;
  readonly constants: readonly LibraryConstant[];
  readonly caution: string;
};

// deno-lint-ignore no-explicit-any -- the declared constants say which are words and which numbers
type Checked = any;

const drafts: Readonly<
  Record<
    string,
    & Omit<SeriesMetric, "compute">
    & {
      readonly call: (
        at: readonly number[],
        values: readonly number[],
        constants: Checked,
      ) => FittedMetricValue;
    }
  >
> = {
  coolingTimeConstant: {
    call: coolingTimeConstant,
    at_unit: "s",
    value_unit: "Cel",
    either_way: false,
    unit: "s",
    constants: [
      {
        name: "ambient_celsius",
        unit: "Cel",
        meaning: "temperature of the room",
        words: ["fitted"],
      },
      {
        name: "u_ambient_celsius",
        unit: "Cel",
        meaning: "its standard uncertainty",
        optional: true,
      },
    ],
    caution: heatCaution,
  },
  halfClearingTime: {
    call: halfClearingTime,
    at_unit: "s",
    value_unit: "%",
    either_way: false,
    unit: "s",
    constants: [
      {
        name: "model",
        unit: null,
        meaning: "law of the clearing",
        choices: ["exponential", "interpolated"],
      },
      {
        name: "clear_pct",
        unit: "%",
        meaning: "reading without smoke",
        default: 0,
        words: ["fitted"],
      },
      {
        name: "u_smoke_pct",
        unit: "%",
        meaning: "standard uncertainty of one reading",
        optional: true,
      },
    ],
    caution: smokeCaution,
  },
  hysteresisLoss: {
    call: (deflection_mm, load_n, constants) => {
      const { loading, unloading } = branchesOf(deflection_mm, load_n);
      return hysteresisLoss(loading, unloading, constants);
    },
    at_unit: "mm",
    value_unit: "N",
    either_way: true,
    unit: "1",
    constants: [
      { name: "u_load_n", unit: "N", meaning: "standard uncertainty of one load", optional: true },
    ],
    caution: benchCaution,
  },
  bendingStiffness: {
    call: (deflection_mm, load_n, { line, window_low_mm, window_high_mm }) => {
      const { loading } = branchesOf(deflection_mm, load_n);
      const window = window_low_mm === undefined && window_high_mm === undefined
        ? undefined
        : [window_low_mm ?? -Infinity, window_high_mm ?? Infinity] as const;
      return bendingStiffness(loading.deflection_mm, loading.load_n, { line, window });
    },
    at_unit: "mm",
    value_unit: "N",
    either_way: true,
    unit: "N/mm",
    constants: [
      {
        name: "line",
        unit: null,
        meaning: "whether the line has an intercept of its own",
        choices: ["own-intercept", "through-origin"],
      },
      {
        name: "window_low_mm",
        unit: "mm",
        meaning: "where the linear part starts",
        optional: true,
      },
      { name: "window_high_mm", unit: "mm", meaning: "where the linear part ends", optional: true },
    ],
    caution: benchCaution,
  },
};

/**
 * Which functions can turn a reading of many points into a metric, and what do they need?
 *
 * By name, as `derive.by` in metrics.json gives it where `derive.from` names a series of series.csv.
 * Constants are checked and completed as those of `metricLibrary`. Of a load–deflection loop the
 * loading branch ends at the largest deflection, and only that branch has a stiffness.
 *
 * @example A cooling curve with τ = 100 s in a room of 20 °C
 * ```ts
 * import assert from "node:assert/strict";
 * import { metrics } from "bench-to-court";
 * const { compute } = metrics.seriesLibrary.coolingTimeConstant;
 * const at = [0, 60, 120, 240];
 * const curve = at.map((s) => 20 + 50 * Math.exp(-s / 100));
 * assert.equal(compute(at, curve, { ambient_celsius: 20 }).value?.toFixed(3), "100.000");
 * ```
 */
export const seriesLibrary: Readonly<Record<string, SeriesMetric>> = Object.fromEntries(
  Object.entries(drafts).map(([name, { call, ...entry }]): [string, SeriesMetric] => [name, {
    ...entry,
    compute: (at, values, constants) =>
      call(at, values, checkedConstants(name, entry.constants, constants)),
  }]),
);

/** A loop's way out and its way back; readings while the largest deflection is held belong to neither. */
function branchesOf(deflection_mm: readonly number[], load_n: readonly number[]) {
  const top = deflection_mm.reduce((most, at) => Math.max(most, at), -Infinity);
  const [first, last] = [deflection_mm.indexOf(top), deflection_mm.lastIndexOf(top)];
  const branch = (from: number, to: number) => ({
    deflection_mm: deflection_mm.slice(from, to),
    load_n: load_n.slice(from, to),
  });
  return { loading: branch(0, first + 1), unloading: branch(last, deflection_mm.length) };
}
