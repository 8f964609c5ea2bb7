import { benchCaution } from "./cautions.ts";
import { requireOneOf, requireSeries, wrong } from "./domain.ts";
import { fitLine } from "./fit_line.ts";
import type { FittedMetricValue } from "./metric_value.ts";

/** The slope of a load–deflection line. */
export type Stiffness = FittedMetricValue & {
  /** Load where the line meets zero deflection; 0 by construction through the origin. */
  readonly intercept: number | null;
  readonly residual_sum_of_squares: number | null;
  /** Points minus fitted numbers: an interval takes Student's t with as many. */
  readonly degrees_of_freedom: number | null;
  /** Points used, which may be fewer than given. */
  readonly n: number;
  /**
   * A squared term's coefficient over its standard uncertainty; beyond ±3 the points bend (rule of
   * thumb, no source).
   */
  readonly curvature_ratio: number | null;
  readonly method: string;
  readonly warnings: readonly string[];
};

/** How a stiffness is read off its points. */
export type StiffnessOptions = {
  /**
   * `own-intercept` lets slack and preload go into an intercept; `through-origin` takes the zero
   * point as exact.
   */
  readonly line: "own-intercept" | "through-origin";
  /**
   * Deflections of the linear part, both ends included; default all. Set it before looking at the
   * points.
   */
  readonly window?: readonly [low: number, high: number];
};

/** Slope of load over deflection by least squares; `names` are those of the caller's two series. */
export function stiffness(
  deflections: readonly number[],
  loads: readonly number[],
  { line, window }: StiffnessOptions,
  { names, unit }: { readonly names: readonly [string, string]; readonly unit: string },
): Stiffness {
  requireSeries([names[0], deflections], [names[1], loads]);
  requireOneOf("line", line, ["own-intercept", "through-origin"]);
  if (window !== undefined && !(window[0] < window[1])) {
    throw wrong("window", `[${window.join(", ")}]`, "a low end below a high end");
  }
  const used = deflections.flatMap((at, i) =>
    window === undefined || (at >= window[0] && at <= window[1]) ? [i] : []
  );
  const method = `least-squares line ${
    line === "own-intercept" ? "with its own intercept" : "through the origin"
  }${window === undefined ? "" : `, ${names[0]} from ${window[0]} to ${window[1]}`}`;
  const about = { unit, n: used.length, method, caution: benchCaution };
  const fit = used.length === 0
    ? { reason: "no point lies in the window" }
    : fitLine(used.map((i) => deflections[i]), used.map((i) => loads[i]), line);
  const reason = fit.reason ??
    ("slope" in fit && fit.slope <= 0 ? "the load does not rise with the deflection" : null);
  if (reason !== null || !("slope" in fit)) {
    return {
      value: null,
      value_reason: reason,
      standard_uncertainty: null,
      standard_uncertainty_reason: reason,
      intercept: null,
      residual_sum_of_squares: null,
      degrees_of_freedom: null,
      curvature_ratio: null,
      warnings: [],
      ...about,
    };
  }
  const bends = fit.curvature_ratio !== null && Math.abs(fit.curvature_ratio) > 3;
  return {
    value: fit.slope,
    value_reason: null,
    standard_uncertainty: fit.u_slope,
    standard_uncertainty_reason: fit.u_slope === null ? "no point to spare for the scatter" : null,
    intercept: fit.intercept,
    residual_sum_of_squares: fit.residual_sum_of_squares,
    degrees_of_freedom: fit.degrees_of_freedom,
    curvature_ratio: fit.curvature_ratio,
    warnings: bends
      ? ["the points bend: the slope is a mean over a curve, so compare shoes over one window only"]
      : [],
    ...about,
  };
}
