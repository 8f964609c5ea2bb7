import * as option from "../options.ts";
import { invertSymmetric } from "./linear_solve.ts";
import { type Covariates, type MixedDesign, mixedDesign, withoutTerm } from "./mixed_design.ts";
import type { Reason } from "./reason.ts";
import { type CellResponse, type RemlFit, type RemlSolver, remlSolver } from "./reml_fit.ts";

/** Readings and the factors they were taken under. */
export type MixedData = {
  /** One reading each; null for one that is missing, which is left out. */
  readonly value: readonly (number | null)[];
  /** For each factor, the level of every reading. */
  readonly factors: Readonly<Record<string, readonly string[]>>;
  /** Random terms: names of factors, or several joined by ":" for their combinations. */
  readonly terms: readonly string[];
  /** Numbers with a fixed slope each, such as years on one rig; one for every reading. */
  readonly covariates?: Covariates;
};

/** How the scatter of readings divides among its sources. */
export type VarianceComponents = {
  /** Variance of each term and of the `residual`; null for all when `reason` is set. */
  readonly components: Readonly<Record<string, number | null>>;
  readonly reason: Reason | null;
  /** From the observed information; null for a component at the boundary. */
  readonly standardErrors: Readonly<Record<string, number | null>>;
  readonly mean: number | null;
  readonly meanStandardError: number | null;
  /** Fixed effects against the first level of their term, when fixed terms were asked for. */
  readonly fixed: Readonly<Record<string, number>>;
  /** Restricted log-likelihood, with all its constants. */
  readonly logLikelihood: number | null;
  /** Components held at 0, because the likelihood would rather have them below. */
  readonly boundary: readonly string[];
  readonly converged: boolean;
  readonly rounds: number;
  /** Terms that the design cannot tell from others, left out of the model. */
  readonly dropped: readonly { readonly term: string; readonly reason: Reason }[];
  readonly n: number;
  /** Levels of each term in the model. */
  readonly levels: Readonly<Record<string, number>>;
  /** With `effects: true`: the conditional mean of each level of each term, 0 on average; null too where the fixed part is singular. */
  readonly effects: Readonly<Record<string, Readonly<Record<string, number>>>> | null;
  readonly method: string;
  readonly warnings: readonly Reason[];
};

const METHOD = "restricted maximum likelihood, variances of 0 or more";

/**
 * From which sources does the scatter of readings come, and how much from each?
 *
 * Fits value = mean + one random effect for each term + residual by restricted maximum likelihood, for
 * crossed and nested terms and any pattern of missing cells. On balanced data whose mean-square
 * solution is not negative it is that solution. A component that would be negative is 0 and named in
 * `boundary`; a term that the design cannot separate is left out and named in `dropped`.
 *
 * @param data readings with the factors they were taken under, and the terms to estimate
 * @param options.fixed terms whose levels are fixed effects
 * @param options.effects whether to return the conditional mean of every level
 * @param options.unseparable what to do with a term the design cannot separate
 * @returns variances in the square of the reading's unit
 * @throws {RangeError} if lengths differ, a term names no factor, or a reading is not finite
 * @see Patterson & Thompson 1971; Harville 1977; Searle, Casella & McCulloch 1992
 *
 * @example Three shoes read twice each
 * ```ts
 * import assert from "node:assert/strict";
 * import { statistics } from "bench-to-court";
 * const { components } = statistics.varianceComponents({
 *   value: [10, 12, 20, 22, 30, 32],
 *   factors: { shoe: ["a", "a", "b", "b", "c", "c"] },
 *   terms: ["shoe"],
 * });
 * assert.equal(components.shoe?.toFixed(6), "99.000000");
 * assert.equal(components.residual?.toFixed(6), "2.000000");
 * ```
 */
export function varianceComponents(
  data: MixedData,
  { fixed = [], effects = false, unseparable = "drop" }: {
    readonly fixed?: readonly string[];
    readonly effects?: boolean;
    readonly unseparable?: "drop" | "refuse";
  } = {},
): VarianceComponents {
  option.check("statistics.varianceComponents", arguments[1], {
    fixed: option.listOf(option.text),
    effects: option.flag,
    unseparable: option.oneOf("drop", "refuse"),
  });
  const model = mixedModel(data, fixed);
  if (unseparable === "refuse" && model.design.dropped.length > 0) {
    const { term, reason } = model.design.dropped[0];
    throw new RangeError(`Term "${term}" cannot be separated: ${reason.code}`);
  }
  return describe(model, data, model.fit, effects);
}

/** A design with its response, scaled so that its readings have mean 0 and SD 1, and its fit. */
export type MixedModel = {
  readonly design: MixedDesign;
  readonly solver: RemlSolver | null;
  readonly response: CellResponse;
  readonly centre: number;
  readonly scale: number;
  readonly fit: RemlFit | null;
  /** Why there is no fit. */
  readonly reason: Reason | null;
  readonly n: number;
};

/**
 * Prepares and fits a mixed model; shared by the functions that give components and intervals.
 *
 * @param within a factor inside whose levels all is fitted: as a fixed term, of which no level is told
 */
export function mixedModel(
  data: MixedData,
  fixed: readonly string[] = [],
  within: string | null = null,
): MixedModel {
  const { value, factors: allFactors, terms, covariates: allCovariates = {} } = data;
  const kept: number[] = [];
  value.forEach((reading, i) => {
    if (reading === null) return;
    if (!Number.isFinite(reading)) {
      throw new RangeError(`Reading ${i + 1} is ${reading}, expected a finite number or null`);
    }
    kept.push(i);
  });
  for (const [name, column] of Object.entries({ ...allFactors, ...allCovariates })) {
    if (column.length !== value.length) {
      throw new RangeError(
        `"${name}" has ${column.length} entries, expected ${value.length}, one a reading`,
      );
    }
  }
  const n = kept.length;
  const keptOf = <T>(lists: Readonly<Record<string, readonly T[]>>) =>
    n === value.length ? lists : Object.fromEntries(
      Object.entries(lists).map(([name, list]) => [name, kept.map((i) => list[i])]),
    );
  const factors = keptOf(allFactors);
  const { covariates, made } = toldApart(
    keptOf(allCovariates),
    within === null ? fixed : [...fixed, within],
    factors,
    n,
  );
  const y = Float64Array.from(kept, (i) => value[i] as number);
  const plain = mixedDesign(n, factors, terms, fixed, covariates, within);
  let design: MixedDesign = { ...plain, dropped: [...plain.dropped, ...made] };

  // Readings are taken from a pivot before anything is summed, so that a large offset costs no digits.
  const pivot = n > 0 ? y[0] : 0;
  let shift = 0;
  for (const reading of y) shift += (reading - pivot) / n;
  let squares = 0;
  for (const reading of y) squares += (reading - pivot - shift) ** 2;
  const scale = Math.sqrt(squares / Math.max(1, n - 1));
  const about = { centre: pivot + shift, scale, n };
  const empty = { mean: new Float64Array(0), within: 0 };
  const none = (reason: Reason) => ({
    design,
    solver: null,
    response: empty,
    ...about,
    fit: null,
    reason,
  });
  if (n === 0) return none({ code: "too-few", of: "readings", needed: 2, found: 0 });
  if (n === 1) return none({ code: "too-few", of: "readings", needed: 2, found: 1 });
  if (squares === 0 || scale < 1e-15 * Math.abs(about.centre)) {
    return none({ code: "constant", which: "readings" });
  }
  const z = y.map((reading) => (reading - pivot - shift) / scale);
  const fixedCount = design.fixedNames.length +
    (design.isWithin ? design.blockStart.length - 1 : 0);
  if (n <= fixedCount) {
    return none({ code: "too-few", of: "readings", needed: fixedCount + 1, found: n });
  }

  let solver = remlSolver(design);
  for (let hidden = firstHidden(design, solver); hidden >= 0;) {
    design = withoutTerm(
      design,
      hidden,
      { code: "not-told-apart" },
      n,
      factors,
      fixed,
      covariates,
      within,
    );
    solver = remlSolver(design);
    hidden = firstHidden(design, solver);
  }
  const response = toCells(design, z);
  const fit = solver.fit(response, null);
  const repeats = design.readings > design.cells && response.within < 1e-20 * n;
  const reason: Reason | null = fit.ending === "no residual"
    ? repeats
      ? { code: "no-noise", of: "repeats" }
      : { code: "too-few-for-sources", readings: n, sources: design.terms.length + 1 }
    : fit.ending === "not separable"
    ? fixedCount > 1
      ? {
        code: "not-separable",
        term: design.fixedNames.filter((name) => name !== "mean").join(", "),
      }
      : { code: "too-few-for-sources", readings: n, sources: design.terms.length + 1 }
    : null;
  return { design, solver, response, ...about, fit: reason === null ? fit : null, reason };
}

function lengthOf(column: Float64Array): number {
  return Math.sqrt(column.reduce((total, value) => total + value * value, 0));
}

/** Covariates without those that the mean, the fixed levels and the covariates before already make up. */
function toldApart(
  covariates: Covariates,
  fixed: readonly string[],
  factors: Readonly<Record<string, readonly string[]>>,
  readings: number,
): { readonly covariates: Covariates; readonly made: { term: string; reason: Reason }[] } {
  const kept: Record<string, readonly number[]> = {};
  const made: { term: string; reason: Reason }[] = [];
  if (Object.keys(covariates).length === 0) return { covariates, made };
  const [first, ...others] = fixed.map((term) => levelNumbers(term, factors, readings));
  // Columns of one term's levels overlap in nothing: taking them off is taking off each level's mean.
  const level = first ?? new Int32Array(readings);
  const units: Float64Array[] = [];
  const left = (values: ArrayLike<number>): Float64Array | null => {
    const column = Float64Array.from(values);
    const before = lengthOf(column);
    for (let pass = 0; pass < 2; pass++) {
      takeOffMeans(column, level);
      for (const unit of units) {
        let share = 0;
        for (let i = 0; i < readings; i++) share += unit[i] * column[i];
        for (let i = 0; i < readings; i++) column[i] -= share * unit[i];
      }
    }
    const length = lengthOf(column);
    if (!(length > 1e-9 * before)) return null;
    units.push(column.map((value) => value / length));
    return column;
  };
  for (const levels of others) {
    for (const one of new Set(levels)) left(levels.map((own) => own === one ? 1 : 0));
  }
  for (const [name, column] of Object.entries(covariates)) {
    if (left(column) === null) {
      made.push({
        term: name,
        reason: { code: "not-told-apart" },
      });
    } else kept[name] = column;
  }
  return { covariates: kept, made };
}

/** A number for each reading's level of a term. */
function levelNumbers(
  term: string,
  factors: Readonly<Record<string, readonly string[]>>,
  readings: number,
): Int32Array {
  const parts = Object.hasOwn(factors, term) ? [term] : term.split(":");
  const numbers = new Map<string, number>();
  return Int32Array.from({ length: readings }, (_, i) => {
    const name = JSON.stringify(parts.map((part) => factors[part]?.[i]));
    const number = numbers.get(name) ?? numbers.size;
    numbers.set(name, number);
    return number;
  });
}

function takeOffMeans(column: Float64Array, level: Int32Array): void {
  const levels = level.reduce((most, one) => Math.max(most, one + 1), 0);
  const [sums, counts] = [new Float64Array(levels), new Float64Array(levels)];
  level.forEach((one, i) => {
    sums[one] += column[i];
    counts[one]++;
  });
  level.forEach((one, i) => column[i] -= sums[one] / counts[one]);
}

/** Cell means and the pooled sum of squares inside cells. */
function toCells(design: MixedDesign, z: ArrayLike<number>): CellResponse {
  const mean = new Float64Array(design.cells);
  for (let r = 0; r < z.length; r++) {
    const cell = design.cellOf[r];
    mean[cell] += z[r] / design.count[cell];
  }
  let within = 0;
  for (let r = 0; r < z.length; r++) within += (z[r] - mean[design.cellOf[r]]) ** 2;
  return { mean, within };
}

/** Position of the first term whose information is spent on the residual and earlier terms, or −1. */
function firstHidden(design: MixedDesign, solver: RemlSolver): number {
  const all = design.terms.length + 1;
  if (all === 1) return -1;
  const information = solver.information(new Float64Array(all).fill(1));
  const order = [all - 1, ...design.terms.map((_, i) => i)];
  const factor = new Float64Array(all * all);
  for (let i = 0; i < all; i++) {
    const own = information[order[i] * all + order[i]];
    for (let j = 0; j <= i; j++) {
      let value = information[order[i] * all + order[j]];
      for (let k = 0; k < j; k++) value -= factor[i * all + k] * factor[j * all + k];
      if (i === j) {
        if (!(value > 1e-9 * own)) return i === 0 ? 0 : order[i];
        factor[i * all + i] = Math.sqrt(value);
      } else factor[i * all + j] = value / factor[j * all + j];
    }
  }
  return -1;
}

function describe(
  model: MixedModel,
  data: MixedData,
  fit: RemlFit | null,
  wantEffects: boolean,
): VarianceComponents {
  const { design, centre, scale, n } = model;
  const names = [...design.terms, "residual"];
  const levels = Object.fromEntries(design.terms.map((t, i) => [t, design.levels[i].length]));
  const warnings: Reason[] = [];
  const missing = data.value.length - n;
  if (missing > 0) {
    warnings.push({
      code: "left-out",
      of: "readings",
      because: "missing",
      left: missing,
      all: data.value.length,
    });
  }
  for (const { term, reason } of design.dropped) {
    warnings.push({ code: "term-left-out", term, because: reason.code });
  }
  const shared = { dropped: design.dropped, n, levels, method: METHOD };
  if (fit === null) {
    return {
      components: Object.fromEntries(names.map((name) => [name, null])),
      reason: model.reason,
      standardErrors: Object.fromEntries(names.map((name) => [name, null])),
      mean: n > 0 ? centre : null,
      meanStandardError: null,
      fixed: {},
      logLikelihood: null,
      boundary: [],
      converged: false,
      rounds: 0,
      effects: null,
      ...shared,
      warnings,
    };
  }
  const square = scale * scale;
  const boundary = design.terms.filter((_, t) => fit.variances[t] <= 0);
  const errors = standardErrors(fit);
  if (fit.ending !== "converged") warnings.push({ code: "not-converged" });
  const freedom = n - design.fixedNames.length;
  return {
    components: Object.fromEntries(names.map((name, i) => [name, fit.variances[i] * square])),
    reason: null,
    standardErrors: Object.fromEntries(
      names.map((name, i) => [name, errors[i] === null ? null : errors[i]! * square]),
    ),
    mean: centre + scale * fit.fixed[0],
    meanStandardError: scale * fit.fixedErrors[0],
    fixed: Object.fromEntries(
      design.fixedNames.slice(1).map((name, i) => [name, scale * fit.fixed[i + 1]]),
    ),
    logLikelihood: -0.5 * fit.deviance - freedom * Math.log(scale),
    boundary,
    converged: fit.ending === "converged",
    rounds: fit.rounds,
    effects: wantEffects ? describeEffects(model, fit) : null,
    ...shared,
    warnings,
  };
}

/** Square roots of the inverse observed information over the components that are not held at 0. */
function standardErrors(fit: RemlFit): (number | null)[] {
  const all = fit.variances.length;
  const free = [...fit.variances.keys()].filter((t) => fit.variances[t] > 0);
  const matrix = new Float64Array(free.length ** 2);
  const pick = (source: Float64Array) => {
    free.forEach((t, i) =>
      free.forEach((s, j) => matrix[i * free.length + j] = source[t * all + s])
    );
    return invertSymmetric(matrix, free.length);
  };
  const inverse = pick(fit.observed) ?? pick(fit.expected);
  return Array.from({ length: all }, (_, t) => {
    const i = free.indexOf(t);
    return i < 0 || inverse === null ? null : Math.sqrt(inverse[i * free.length + i]);
  });
}

function describeEffects(
  model: MixedModel,
  fit: RemlFit,
): VarianceComponents["effects"] {
  const { design, solver, response, scale } = model;
  const effects = solver!.effects(fit.variances, response);
  if (effects === null) return null;
  return Object.fromEntries(design.terms.map((term, t) => [
    term,
    Object.fromEntries(design.levels[t].map((level, i) => [level, scale * effects[t][i]])),
  ]));
}
