import { solvePositive } from "./linear_solve.ts";
import type { MixedDesign } from "./mixed_design.ts";
import { expectedInformation, observedInformation, scoreAt } from "./reml_information.ts";
import { project, projectTwice } from "./reml_projection.ts";
import { prepare, setRatios } from "./reml_ratios.ts";
import { type RemlWork, remlWork } from "./reml_work.ts";

/** What restricted maximum likelihood found for one response. */
export type RemlFit = {
  /** Variance of each term of the design, then of the residual. */
  readonly variances: Float64Array;
  /** Minus twice the restricted log-likelihood. */
  readonly deviance: number;
  /** The mean, then the fixed effects, and their standard errors. */
  readonly fixed: Float64Array;
  readonly fixedErrors: Float64Array;
  /** Their covariance, row by row. */
  readonly fixedCovariance: Float64Array;
  /** Slope of the restricted log-likelihood along each variance. */
  readonly score: Float64Array;
  /** Expected and observed information of the variances, row by row. */
  readonly expected: Float64Array;
  readonly observed: Float64Array;
  readonly rounds: number;
  /** "no residual" when the likelihood grows without end as the residual variance goes to 0. */
  readonly ending: "converged" | "not converged" | "no residual" | "not separable";
};

/** A response in the form a design wants: one mean for each cell and one sum of squares in all. */
export type CellResponse = { readonly mean: Float64Array; readonly within: number };

/**
 * Z'Py for the levels of every term of the design, and Py of every cell: the residual from the fixed effects, weighed
 * by the inverse covariance.
 */
export type CellPieces = {
  readonly levels: readonly Float64Array[];
  readonly cells: Float64Array;
};

/** Machinery of one design: buffers are kept between responses, results are not shared. */
export type RemlSolver = {
  readonly fit: (
    response: CellResponse,
    start: Float64Array | null,
    tolerance?: number,
  ) => RemlFit;
  /** Expected information at given variances; needs no response. */
  readonly information: (variances: Float64Array) => Float64Array;
  /** One scoring step from given variances: unbiased there, and may be negative. */
  readonly step: (
    response: CellResponse,
    variances: Float64Array,
    inverse: Float64Array,
    fresh: boolean,
  ) => Float64Array;
  /** What the score at given variances is made of; its sums of squares, level by level and cell by cell. */
  readonly pieces: (
    response: CellResponse,
    variances: Float64Array,
    fresh: boolean,
  ) => CellPieces;
  /** Covariance of the mean and the fixed effects at given variances, row by row; null if singular. */
  readonly fixedCovariance: (variances: Float64Array) => Float64Array | null;
  /** Conditional means of every level of every term at given variances; null if singular. */
  readonly effects: (
    variances: Float64Array,
    response: CellResponse,
  ) => readonly Float64Array[] | null;
};

/**
 * Where is the restricted likelihood of a variance components model highest?
 *
 * Readings are reduced to cell means; each block's covariance is inverted on its own, and the columns
 * that couple blocks (crossed terms, mean, fixed levels) enter by Woodbury's identity in a form that
 * stays valid at a variance of 0. Scores and both information matrices are exact. The first steps are
 * Fisher's, which solve a balanced design at once; later ones are Newton's where the surface allows.
 * A variance whose slope points below 0 is held at 0, and is let go when the slope turns.
 *
 * @see Patterson & Thompson 1971 (restricted likelihood); Harville 1977 (scores and information)
 */
export function remlSolver(design: MixedDesign): RemlSolver {
  const work = remlWork(design);
  return {
    fit: (response, start, tolerance = 1e-10) => fit(work, response, start, tolerance),
    information: (variances) => information(work, variances),
    step: (response, variances, inverse, fresh) => step(work, response, variances, inverse, fresh),
    pieces: (response, variances, fresh) => pieces(work, response, variances, fresh),
    fixedCovariance: (variances) => fixedCovariance(work, variances),
    effects: (variances, response) => effects(work, variances, response),
  };
}

/** The likelihood and its slopes at some variances, which are scaled as the response likes best. */
type Place = Pick<RemlFit, "variances" | "deviance" | "score" | "expected" | "observed">;

/** Null when the fixed part is singular there. */
function placeAt(work: RemlWork, response: CellResponse, given: Float64Array): Place | null {
  const { terms, freedom, logCounts } = work;
  setRatios(work, given);
  const logDeterminant = prepare(work, "information");
  if (logDeterminant === null) return null;
  const form = project(work, response.mean);
  const squares = form + response.within;
  // With the ratios as they are, the best common scale is known.
  const scale = squares / freedom / given[terms];
  const variances = given.map((variance) => variance * scale);
  const v = variances[terms];
  projectTwice(work);
  const expected = expectedInformation(work, v);
  return {
    variances,
    deviance: freedom * (Math.log(2 * Math.PI * (squares / freedom)) + 1) + logDeterminant +
      logCounts,
    score: scoreAt(work, form, response.within, v),
    expected,
    observed: observedInformation(work, form, response.within, v, expected),
  };
}

function fit(
  work: RemlWork,
  response: CellResponse,
  start: Float64Array | null,
  tolerance: number,
): RemlFit {
  const { design, all, terms, freedom } = work;
  const total = startVariance(design, response, freedom);
  const first = start === null ? new Float64Array(all).fill(total / all) : Float64Array.from(start);
  if (!(first[terms] > 0)) first[terms] = total / all;
  const floor = 1e-13 * total;
  const known = placeAt(work, response, first);
  let place = known ?? nowhere(first);
  let ending: RemlFit["ending"] = known === null ? "not separable" : "not converged";
  let rounds = 0;
  while (ending === "not converged" && rounds < 200) {
    rounds++;
    if (!(place.variances[terms] > floor)) {
      ending = "no residual";
      break;
    }
    const { variances, score, expected, observed } = place;
    const newton = rounds > 2 || start !== null
      ? boundedStep(observed, score, variances, all)
      : null;
    const step = newton ?? boundedStep(expected, score, variances, all);
    if (step === null) {
      ending = "not separable";
      break;
    }
    let gain = 0;
    let moved = 0;
    const sum = variances.reduce((total, variance) => total + variance, 0);
    for (let t = 0; t < all; t++) {
      gain += score[t] * step[t];
      moved = Math.max(moved, Math.abs(step[t]) / (variances[t] + 1e-4 * sum));
    }
    const next = downhill(work, response, place, step);
    if (next === null) {
      // Fills the buffers for this place again, which the fixed effects are read from.
      place = placeAt(work, response, variances) ?? place;
      if (gain < 1e-7) ending = "converged";
      break;
    }
    place = next;
    // A gain this small is a step of a hundred-millionth of a standard error. Where one variance
    // dwarfs the residual, rounding of the traces ends the descent before that.
    if (moved < tolerance || gain < 1e-16 || (rounds > 25 && moved < 1e-6)) ending = "converged";
  }
  const residual = place.variances[terms];
  if (ending === "converged" && !(residual > floor)) ending = "no residual";
  // A descent without end is one toward a residual of 0, which readings saturated by terms allow.
  if (ending === "not converged" && residual < 1e-4 * total) ending = "no residual";
  return {
    ...place,
    ...fixedEffects(work, residual, ending !== "not separable"),
    rounds,
    ending,
  };
}

/** Where the first place can't be worked out: no slope, no information. */
function nowhere(variances: Float64Array): Place {
  const square = variances.length ** 2;
  return {
    variances,
    deviance: Infinity,
    score: new Float64Array(variances.length),
    expected: new Float64Array(square),
    observed: new Float64Array(square),
  };
}

/** The first of ever smaller parts of a step that raises the likelihood; null if none does. */
function downhill(
  work: RemlWork,
  response: CellResponse,
  { variances: before, deviance }: Place,
  step: Float64Array,
): Place | null {
  const { terms } = work;
  let size = 1;
  for (let halving = 0; halving < 40; halving++) {
    const next = before.map((variance, t) =>
      Math.max(variance + size * step[t], t === terms ? variance * 1e-3 : 0)
    );
    const place = placeAt(work, response, next);
    if (place !== null && place.deviance <= deviance + 1e-11 * (1 + Math.abs(deviance))) {
      return place;
    }
    size /= 3;
  }
  return null;
}

/** The generalised least squares estimate S (X − Zx M A)' B⁻¹ y and its errors; after \`project\`. */
function fixedEffects(
  work: RemlWork,
  residual: number,
  isSeparable: boolean,
): Pick<RemlFit, "fixed" | "fixedErrors" | "fixedCovariance"> {
  const { fixedCount, levelsAcross, fixedInverse, reach, a } = work;
  const { fixedStart } = work.design;
  const fixed = new Float64Array(fixedCount);
  const fixedErrors = new Float64Array(fixedCount);
  if (isSeparable) {
    for (let f = 0; f < fixedCount; f++) {
      let value = 0;
      for (let g = 0; g < fixedCount; g++) {
        let inner = a[fixedStart + g];
        for (let i = 0; i < levelsAcross; i++) inner -= reach[i * fixedCount + g] * a[i];
        value += fixedInverse[f * fixedCount + g] * inner;
      }
      fixed[f] = value;
      fixedErrors[f] = Math.sqrt(residual * fixedInverse[f * fixedCount + f]);
    }
  }
  return { fixed, fixedErrors, fixedCovariance: fixedInverse.map((value) => value * residual) };
}

function information(work: RemlWork, variances: Float64Array): Float64Array {
  setRatios(work, variances);
  prepare(work, "information");
  return expectedInformation(work, variances[work.terms]);
}

function step(
  work: RemlWork,
  response: CellResponse,
  variances: Float64Array,
  inverse: Float64Array,
  fresh: boolean,
): Float64Array {
  const { all, terms } = work;
  if (fresh) {
    setRatios(work, variances);
    prepare(work, "information");
  }
  const score = scoreAt(work, project(work, response.mean), response.within, variances[terms]);
  const out = Float64Array.from(variances);
  for (let i = 0; i < all; i++) {
    for (let j = 0; j < all; j++) out[i] += inverse[i * all + j] * score[j];
  }
  return out;
}

function pieces(
  work: RemlWork,
  response: CellResponse,
  variances: Float64Array,
  fresh: boolean,
): CellPieces {
  const { terms, position, levelSum, residual } = work;
  if (fresh) {
    setRatios(work, variances);
    prepare(work, "information");
  }
  project(work, response.mean);
  const levels: Float64Array[] = [];
  for (let t = 0; t < terms; t++) {
    levels[position[t]] = levelSum[t].map((sum) => sum / variances[terms]);
  }
  return { levels, cells: residual.map((value) => value / variances[terms]) };
}

function fixedCovariance(work: RemlWork, variances: Float64Array): Float64Array | null {
  setRatios(work, variances);
  return prepare(work, "likelihood") === null
    ? null
    : work.fixedInverse.map((value) => value * variances[work.terms]);
}

function effects(
  work: RemlWork,
  variances: Float64Array,
  response: CellResponse,
): readonly Float64Array[] | null {
  const { terms, position, levelSum, ratio } = work;
  setRatios(work, variances);
  if (prepare(work, "likelihood") === null) return null;
  project(work, response.mean);
  const out: Float64Array[] = [];
  for (let t = 0; t < terms; t++) {
    out[position[t]] = levelSum[t].map((value) => value * ratio[t]);
  }
  return out;
}

/** A rough size for the variances: the plain variance of all readings. */
function startVariance(design: MixedDesign, response: CellResponse, freedom: number): number {
  let total = 0;
  let n = 0;
  for (let c = 0; c < design.cells; c++) {
    total += design.count[c] * response.mean[c];
    n += design.count[c];
  }
  const centre = total / n;
  let squares = response.within;
  for (let c = 0; c < design.cells; c++) {
    squares += design.count[c] * (response.mean[c] - centre) ** 2;
  }
  return squares / Math.max(1, freedom);
}

/**
 * The step that the quadratic model likes best among those that leave no variance below 0. Null when
 * the curvature is not that of a maximum.
 */
function boundedStep(
  curvature: Float64Array,
  score: Float64Array,
  variances: Float64Array,
  size: number,
): Float64Array | null {
  const held = new Uint8Array(size);
  for (let t = 0; t < size - 1; t++) if (variances[t] <= 0 && score[t] <= 0) held[t] = 1;
  const step = new Float64Array(size);
  for (let pass = 0; pass <= size; pass++) {
    const free: number[] = [];
    for (let t = 0; t < size; t++) if (!held[t]) free.push(t);
    const m = free.length;
    const matrix = new Float64Array(m * m);
    const right = new Float64Array(m);
    // Scaled to a unit diagonal, so that variances of very different size do not look singular.
    const scale = new Float64Array(m);
    for (let i = 0; i < m; i++) {
      const diagonal = curvature[free[i] * size + free[i]];
      if (!(diagonal > 0)) return null;
      scale[i] = 1 / Math.sqrt(diagonal);
    }
    for (let i = 0; i < m; i++) {
      let value = score[free[i]];
      for (let t = 0; t < size; t++) {
        if (held[t]) value -= curvature[free[i] * size + t] * step[t];
      }
      right[i] = value * scale[i];
      for (let j = 0; j < m; j++) {
        matrix[i * m + j] = curvature[free[i] * size + free[j]] * scale[i] * scale[j];
      }
    }
    if (!solvePositive(matrix, right, m)) return null;
    let crossed = false;
    for (let i = 0; i < m; i++) step[free[i]] = right[i] * scale[i];
    for (const t of free) {
      if (t < size - 1 && variances[t] + step[t] < 0) {
        held[t] = 1;
        step[t] = -variances[t];
        crossed = true;
      }
    }
    if (!crossed) return step;
  }
  return step;
}
