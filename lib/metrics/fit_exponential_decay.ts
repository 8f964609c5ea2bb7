import { dot, leastSquares } from "./least_squares.ts";

/** A decay towards a floor, fitted to readings over time. */
type ExponentialDecay = {
  readonly reason: null;
  readonly time_constant_s: number;
  /** Null with as many readings as fitted numbers: nothing is left to judge the scatter by. */
  readonly u_time_constant_s: number | null;
  /** Height above the floor at the first reading. */
  readonly amplitude: number;
  readonly u_amplitude: number | null;
  readonly floor: number;
  /** Null when the floor was given, and as for the time constant. */
  readonly u_floor: number | null;
  /** Change of the time constant for a unit change of a given floor; 0 for a fitted one. */
  readonly slope_of_floor: number;
  readonly residual_sum_of_squares: number;
  readonly degrees_of_freedom: number;
};

/**
 * How fast do readings fall towards a floor?
 *
 * Least squares of y = floor + amplitude · exp(−t/τ) on the readings themselves. A coarse search
 * over τ, with the other numbers solved exactly for each, finds the valley; Gauss–Newton with step
 * halving walks to its bottom. A straight line through logarithms would weigh the tail too much.
 *
 * @param seconds any order; repeats allowed
 * @param readings as many, in one unit
 * @param floor where they fall to, or `"fitted"`
 * @returns the fit; or a reason, if these readings show no such decay
 */
export function fitExponentialDecay(
  seconds: readonly number[],
  readings: readonly number[],
  floor: number | "fitted",
): ExponentialDecay | { readonly reason: string } {
  const parameters = floor === "fitted" ? 3 : 2;
  const times = [...new Set(seconds)].sort((a, b) => a - b);
  if (times.length < parameters) {
    return {
      reason:
        `${times.length} different times are too few: a fit of ${parameters} numbers needs ${parameters} or more`,
    };
  }
  if (!falls(seconds, readings)) return { reason: "the readings do not fall over time" };

  const start = times[0];
  const elapsed = seconds.map((second) => second - start);
  const span = times[times.length - 1] - start;
  const gap = Math.min(...times.slice(1).map((time, i) => time - times[i]));
  const first = searchTimeConstant(elapsed, readings, floor, { from: gap / 10, to: span * 50 });
  if ("reason" in first) return first;
  return refine(elapsed, readings, floor, first);
}

type Point = { readonly tau: number; readonly amplitude: number; readonly floor: number };

function falls(seconds: readonly number[], readings: readonly number[]): boolean {
  const middle = seconds.reduce((total, second) => total + second, 0) / seconds.length;
  const level = readings.reduce((total, reading) => total + reading, 0) / readings.length;
  return dot(seconds.map((s) => s - middle), readings.map((reading) => reading - level)) < 0;
}

function decay(elapsed: readonly number[], tau: number): number[] {
  return elapsed.map((time) => Math.exp(-time / tau));
}

function residuals(
  elapsed: readonly number[],
  readings: readonly number[],
  { tau, amplitude, floor }: Point,
): number[] {
  return readings.map((reading, i) => reading - floor - amplitude * Math.exp(-elapsed[i] / tau));
}

/** Best amplitude (and floor) for one time constant; null where they can't be told apart. */
function profile(
  elapsed: readonly number[],
  readings: readonly number[],
  floor: number | "fitted",
  tau: number,
): Point | null {
  const shape = decay(elapsed, tau);
  if (floor === "fitted") {
    const fit = leastSquares([shape, shape.map(() => 1)], readings);
    return fit && { tau, amplitude: fit.coefficients[0], floor: fit.coefficients[1] };
  }
  const above = readings.map((reading) => reading - floor);
  return { tau, amplitude: dot(shape, above) / dot(shape, shape), floor };
}

function searchTimeConstant(
  elapsed: readonly number[],
  readings: readonly number[],
  floor: number | "fitted",
  { from, to }: { readonly from: number; readonly to: number },
): Point | { readonly reason: string } {
  const steps = 200;
  let best: { readonly point: Point; readonly squares: number; readonly step: number } | null =
    null;
  for (let step = 0; step <= steps; step++) {
    const tau = from * (to / from) ** (step / steps);
    const point = profile(elapsed, readings, floor, tau);
    if (point === null || !(point.amplitude > 0)) continue;
    const left = residuals(elapsed, readings, point);
    const squares = dot(left, left);
    if (best === null || squares < best.squares) best = { point, squares, step };
  }
  if (best === null) return { reason: "the readings do not fall towards the floor" };
  if (best.step === 0) {
    return { reason: "the readings fall within the first step: read more often" };
  }
  if (best.step === steps) {
    return {
      reason: "the readings fall in too straight a line to tell a time constant: read longer",
    };
  }
  return best.point;
}

function refine(
  elapsed: readonly number[],
  readings: readonly number[],
  floor: number | "fitted",
  first: Point,
): ExponentialDecay | { readonly reason: string } {
  let point = first;
  let left = residuals(elapsed, readings, point);
  let squares = dot(left, left);
  let linear = leastSquares(slopes(elapsed, floor, point), left);
  for (let round = 0; round < 100 && linear !== null; round++) {
    const step = linear.coefficients;
    let share = 1;
    let next = point;
    let nextLeft = left;
    let nextSquares = Infinity;
    // A step that is too long climbs the other side of the valley: halve it until it descends.
    for (; share > 1e-6; share /= 2) {
      next = moved(point, step, share);
      if (!(next.tau > 0)) continue;
      nextLeft = residuals(elapsed, readings, next);
      nextSquares = dot(nextLeft, nextLeft);
      if (nextSquares <= squares) break;
    }
    if (!(nextSquares <= squares)) break;
    const still = Math.abs(next.tau - point.tau) <= 1e-15 * point.tau;
    [point, left, squares] = [next, nextLeft, nextSquares];
    linear = leastSquares(slopes(elapsed, floor, point), left);
    if (still) break;
  }
  if (linear === null || !(point.amplitude > 0)) {
    return { reason: "the readings do not tell time constant, height and floor apart" };
  }
  const { inverse } = linear;
  const columns = slopes(elapsed, floor, point);
  const freedom = readings.length - columns.length;
  const spread = (i: number) => freedom > 0 ? Math.sqrt((squares / freedom) * inverse[i][i]) : null;
  // A floor that is set higher by one lowers every height above it by one.
  const pull = columns.map((column) => column.reduce((total, entry) => total - entry, 0));
  return {
    reason: null,
    time_constant_s: point.tau,
    u_time_constant_s: spread(0),
    amplitude: point.amplitude,
    u_amplitude: spread(1),
    floor: point.floor,
    u_floor: floor === "fitted" ? spread(2) : null,
    slope_of_floor: floor === "fitted" ? 0 : dot(inverse[0], pull),
    residual_sum_of_squares: squares,
    degrees_of_freedom: freedom,
  };
}

/**
 * Change of each fitted reading with the time constant, the amplitude and, if fitted, the floor.
 */
function slopes(
  elapsed: readonly number[],
  floor: number | "fitted",
  { tau, amplitude }: Point,
): number[][] {
  const shape = decay(elapsed, tau);
  const columns = [shape.map((height, i) => (amplitude * height * elapsed[i]) / tau ** 2), shape];
  return floor === "fitted" ? [...columns, shape.map(() => 1)] : columns;
}

function moved(point: Point, step: readonly number[], share: number): Point {
  return {
    tau: point.tau + share * step[0],
    amplitude: point.amplitude + share * step[1],
    floor: point.floor + share * (step[2] ?? 0),
  };
}
