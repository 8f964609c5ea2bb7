import * as option from "../options.ts";
import { benchCaution } from "./cautions.ts";
import { requireAtLeast, requireSeries, wrong } from "./domain.ts";
import type { FittedMetricValue } from "./metric_value.ts";

/** One branch of a loop, in the order it was read. */
export type LoadBranch = {
  readonly deflection_mm: readonly number[];
  readonly load_n: readonly number[];
};

/** The share of work lost, and both areas. */
export type HysteresisLoss = FittedMetricValue & {
  readonly loading_work_n_mm: number;
  readonly unloading_work_n_mm: number;
  /** Points of both branches. */
  readonly n: number;
};

/**
 * How much of the work put into a shoe does it keep?
 *
 * Area between loading and unloading over the area under loading, by trapezoids; the rest comes
 * back. Few points make it coarse: a bent curve is cut by its chords.
 *
 * @param loading deflections in mm, rising, with the load in newtons at each
 * @param unloading the same on the way back: falling, from where loading ended; it may stop short
 *   of zero, where the shoe stays dented
 * @param options `u_load_n` the standard uncertainty of one load, independent from point to point
 * @returns the share lost (unit `1`); null with a reason if loading took no work or unloading gave
 *   back more
 * @throws {RangeError} if a branch has fewer than two points or runs the wrong way, unloading
 *   starts over 1% of the range away from where loading ended, or a number is not finite
 * @see textbook mechanics
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { metrics } from "bench-to-court";
 * const { value } = metrics.hysteresisLoss(
 *   { deflection_mm: [0, 5, 10], load_n: [0, 10, 20] },
 *   { deflection_mm: [10, 5, 0], load_n: [20, 8, 0] },
 * );
 * assert.equal(value?.toFixed(9), "0.100000000");
 * ```
 */
export function hysteresisLoss(
  loading: LoadBranch,
  unloading: LoadBranch,
  { u_load_n }: { readonly u_load_n?: number } = {},
): HysteresisLoss {
  option.check("metrics.hysteresisLoss", arguments[2], { u_load_n: option.notNegative });
  requireBranch("loading", loading, 1);
  requireBranch("unloading", unloading, -1);
  const top = loading.deflection_mm[loading.deflection_mm.length - 1];
  const range = top - loading.deflection_mm[0];
  if (Math.abs(unloading.deflection_mm[0] - top) > 0.01 * range) {
    throw wrong(
      "unloading.deflection_mm[0]",
      unloading.deflection_mm[0],
      `a start where loading ended, at ${top}`,
    );
  }
  if (u_load_n !== undefined) requireAtLeast("u_load_n", u_load_n, 0);

  const given = work(loading);
  const back = work(unloading);
  const about = {
    unit: "1",
    loading_work_n_mm: given,
    unloading_work_n_mm: back,
    n: loading.load_n.length + unloading.load_n.length,
    caution: benchCaution,
  };
  if (given <= 0 || back > given) {
    const reason = given <= 0
      ? "loading took no work"
      : "unloading gave back more work than loading took: are the branches swapped?";
    return {
      value: null,
      value_reason: reason,
      standard_uncertainty: null,
      standard_uncertainty_reason: reason,
      ...about,
    };
  }
  const share = back / given;
  const u = u_load_n === undefined
    ? null
    : (u_load_n * Math.hypot(...weights(unloading), ...weights(loading).map((w) => w * share))) /
      given;
  return {
    value: 1 - share,
    value_reason: null,
    standard_uncertainty: u,
    standard_uncertainty_reason: u === null ? "no u_load_n was given" : null,
    ...about,
  };
}

function requireBranch(name: string, { deflection_mm, load_n }: LoadBranch, way: 1 | -1): void {
  requireSeries([`${name}.deflection_mm`, deflection_mm], [`${name}.load_n`, load_n]);
  if (deflection_mm.length < 2) {
    throw wrong(`${name}.deflection_mm`, `[${deflection_mm.join(", ")}]`, "two points or more");
  }
  deflection_mm.forEach((at, i) => {
    if (i > 0 && (at - deflection_mm[i - 1]) * way <= 0) {
      throw wrong(
        `${name}.deflection_mm[${i}]`,
        at,
        `a deflection ${way === 1 ? "above" : "below"} ${deflection_mm[i - 1]}`,
      );
    }
  });
}

/** What each load counts for in the area: half the way to both neighbours. */
function weights({ deflection_mm }: LoadBranch): number[] {
  const last = deflection_mm.length - 1;
  return deflection_mm.map((_, i) =>
    Math.abs(deflection_mm[Math.min(i + 1, last)] - deflection_mm[Math.max(i - 1, 0)]) / 2
  );
}

function work(branch: LoadBranch): number {
  return weights(branch).reduce((total, weight, i) => total + weight * branch.load_n[i], 0);
}
