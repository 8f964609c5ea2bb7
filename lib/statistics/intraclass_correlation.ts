import * as option from "../options.ts";
import { fQuantile, fUpper, fUpperQuantile } from "./distributions.ts";
import { type Estimate, noEstimate } from "./estimate.ts";
import { solvePositive } from "./linear_solve.ts";
import { orderStatistics } from "./order_statistics.ts";
import { randomStream } from "./random_stream.ts";
import type { Reason } from "./reason.ts";
import { rowBootstrapOfIcc } from "./row_bootstrap_of_icc.ts";
import { cellSimulator } from "./simulate_cells.ts";
import { type TableMeanSquares, tableMeanSquares } from "./table_mean_squares.ts";
import { mixedModel } from "./variance_components.ts";
import type { IccForm } from "./icc_form.ts";
import { AGREEMENT_SEED } from "./default_seeds.ts";

/** An intraclass correlation, with the F test that subjects do not differ at all. */
export type IntraclassCorrelation = Estimate & {
  readonly form: IccForm;
  readonly f: number | null;
  readonly df1: number | null;
  readonly df2: number | null;
  readonly p: number | null;
  readonly subjects: number;
  readonly raters: number;
  /** Readings averaged, in a `k` form; 1 in a single one. */
  readonly averaged: number;
};

/** How an intraclass correlation is to be computed. */
export type IccOptions = {
  readonly confidence?: number;
  /** `exact`: from F distributions where the table allows; `cluster-bootstrap`: rows redrawn. */
  readonly interval?: "exact" | "cluster-bootstrap";
  readonly resamples?: number;
  readonly seed?: number;
};

/**
 * Which share of the variance of readings lies between subjects?
 *
 * Which question each form answers: ICC(1,·) takes the readings of a subject as interchangeable, as
 * trials of one visit are. ICC(2,·) asks whether raters give the same values, so that a rater who reads
 * high counts as noise. ICC(3,·) asks whether they keep the same distances, so that it does not. "1"
 * stands for a single reading, "k" for the mean of k.
 *
 * Complete tables: classical mean squares with exact F limits (Satterthwaite's degrees of freedom in
 * the agreement forms). One-way with gaps: REML components, with Wald's exact limits from weighted
 * subject means; k is then the harmonic mean of the readings per subject. Two-way with gaps: REML
 * components (raters random in ICC(2,·), fixed in ICC(3,·)), limits by a seeded parametric bootstrap on
 * Fisher's scale, and an F test from the additive least-squares fit.
 *
 * @param table one row a subject, one column a rater (or trial); null where a reading is missing
 * @throws {RangeError} if the form is unknown, rows of a two-way form differ in length, or a reading
 *   is not finite
 * @see Shrout & Fleiss 1979; McGraw & Wong 1996; Wald 1940, Seely & El-Bassiouni 1983 (gaps)
 *
 * @example Two trials on each of three shoes
 * ```ts
 * import assert from "node:assert/strict";
 * import { statistics } from "bench-to-court";
 * const icc = statistics.intraclassCorrelation([[10, 12], [20, 22], [30, 32]], { form: "ICC(1,1)" });
 * assert.equal(icc.estimate?.toFixed(4), "0.9802");
 * ```
 */
export function intraclassCorrelation(
  table: readonly (readonly (number | null)[])[],
  { form, confidence = 0.95, interval = "exact", resamples = 2000, seed = AGREEMENT_SEED }:
    & IccOptions
    & { readonly form: IccForm },
): IntraclassCorrelation {
  option.check("statistics.intraclassCorrelation", arguments[1], {
    confidence: option.share,
    interval: option.oneOf("exact", "cluster-bootstrap"),
    resamples: option.resamples,
    seed: option.seed,
    form: option.needed(
      option.oneOf("ICC(1,1)", "ICC(2,1)", "ICC(3,1)", "ICC(1,k)", "ICC(2,k)", "ICC(3,k)"),
    ),
  });
  const { rows, columns, warnings } = usefulPart(table, form);
  const n = rows.reduce((total, row) => total + row.filter((x) => x !== null).length, 0);
  const single = form.endsWith("1)");
  const about = { confidence, n, warnings };
  const nothing = (reason: Reason): IntraclassCorrelation => ({
    ...noEstimate(reason, { ...about, method: "intraclass correlation" }),
    form,
    f: null,
    df1: null,
    df2: null,
    p: null,
    subjects: rows.length,
    raters: columns,
    averaged: single ? 1 : columns,
  });
  const reason = withoutScatter(rows, columns, n);
  if (reason !== null) return nothing(reason);
  const complete = rows.every((row) => row.length === columns && row.every((x) => x !== null));
  if (!complete) {
    const gaps = form.startsWith("ICC(1")
      ? oneWayWithGaps(rows, single, confidence)
      : twoWayWithGaps(rows, columns, form, confidence, resamples, seed);
    if ("code" in gaps) return nothing(gaps);
    return {
      estimate_reason: null,
      confidence,
      n,
      form,
      subjects: rows.length,
      raters: columns,
      ...gaps,
      warnings: [
        ...warnings,
        ...gaps.warnings,
        ...(interval === "cluster-bootstrap" ? [{ code: "not-redrawn" }] : []),
      ],
    };
  }
  const squares = tableMeanSquares(rows as number[][]);
  const exact = exactForm(squares, form, confidence);
  if ("code" in exact) return nothing(exact);
  if (exact.estimate < 0) warnings.push({ code: "below-zero" });
  const { estimate, f, df1, df2, p } = exact;
  const shared = {
    estimate,
    estimate_reason: null,
    confidence,
    n,
    form,
    f,
    df1,
    df2,
    p,
    subjects: rows.length,
    raters: columns,
    averaged: single ? 1 : columns,
  };
  if (interval === "cluster-bootstrap") {
    const { limits, lost } = rowBootstrapOfIcc(rows as number[][], { resamples, seed, confidence });
    const found = limits[form];
    if (lost > 0) {
      warnings.push({ code: "resamples-lost", lost, of: resamples, because: "constant" });
    }
    return {
      ...shared,
      lower: found?.[0] ?? null,
      upper: found?.[1] ?? null,
      method: `mean squares, limits from ${resamples} resamples of subjects (percentiles)`,
      warnings,
    };
  }
  if (exact.lower === null) warnings.push({ code: "no-lower-bound" });
  return {
    ...shared,
    lower: exact.lower,
    upper: exact.upper,
    method: form.startsWith("ICC(2")
      ? "mean squares, F limits with Satterthwaite's degrees of freedom"
      : "mean squares, exact F limits",
    warnings,
  };
}

/** Why readings show no scatter to share out; null where they may. */
function withoutScatter(
  rows: readonly (readonly (number | null)[])[],
  columns: number,
  n: number,
): Reason | null {
  if (n === 0) return { code: "too-few", of: "readings", needed: 2, found: 0 };
  if (rows.length < 2) return { code: "too-few", of: "subjects", needed: 2, found: rows.length };
  if (columns < 2 || n === rows.length) return { code: "no-repeats", subjects: rows.length };
  const first = rows[0].find((x) => x !== null);
  return rows.every((row) => row.every((x) => x === null || x === first))
    ? { code: "constant", which: "readings" }
    : null;
}

/** One form from the mean squares of a complete table, or the reason there is none. */
function exactForm(
  squares: TableMeanSquares,
  form: IccForm,
  confidence: number,
): {
  readonly estimate: number;
  readonly lower: number | null;
  readonly upper: number | null;
  readonly f: number;
  readonly df1: number;
  readonly df2: number;
  readonly p: number;
} | Reason {
  const { rows: n, columns: k, betweenRows, withinRows, betweenColumns, error } = squares;
  const oneWay = form.startsWith("ICC(1");
  const noise = oneWay ? withinRows : error;
  const df1 = n - 1;
  const df2 = oneWay ? n * (k - 1) : (n - 1) * (k - 1);
  if (noise * df2 <= squares.rounding) {
    return oneWay ? { code: "no-noise", of: "subject" } : { code: "no-noise", of: "raters" };
  }
  if (form.endsWith("k)") && betweenRows * df1 <= squares.rounding) {
    return { code: "constant", which: "means" };
  }
  const f = betweenRows / noise;
  const p = fUpper(f, df1, df2);
  const upperTail = (1 - confidence) / 2;
  if (!form.startsWith("ICC(2")) {
    // Stepping (F − 1)/(F + k − 1) up to the mean of k leaves 1 − 1/F.
    const share = (ratio: number) =>
      form.endsWith("k)") ? 1 - 1 / ratio : (ratio - 1) / (ratio + k - 1);
    return {
      estimate: share(f),
      lower: share(f / fUpperQuantile(upperTail, df1, df2)),
      upper: share(f * fUpperQuantile(upperTail, df2, df1)),
      f,
      df1,
      df2,
      p,
    };
  }
  const whole = betweenRows + (k - 1) * error + k * (betweenColumns - error) / n;
  const agreement = (betweenRows - error) / whole;
  // Satterthwaite's degrees of freedom of the raters' and the error mean square together.
  const fRaters = betweenColumns / error;
  const inner = n * (1 + (k - 1) * agreement) - k * agreement;
  const raters = k * agreement * fRaters;
  const pooled = (n - 1) * raters ** 2 + inner ** 2;
  const freedom = pooled > 0 ? df2 * (raters + inner) ** 2 / pooled : df2;
  if (!(freedom > 1e-6)) return { code: "no-freedom" };
  const [fLower, fHigher] = [
    fUpperQuantile(upperTail, df1, freedom),
    fUpperQuantile(upperTail, freedom, df1),
  ];
  const noiseAround = k * betweenColumns + (k * n - k - n) * error;
  const single = form === "ICC(2,1)";
  // The means' limits are those of a single reading stepped up, with the k readings' noise divided.
  const around = single ? noiseAround : betweenColumns - error;
  const lowerPart = fLower * around + n * betweenRows;
  const upperPart = around + n * fHigher * betweenRows;
  return {
    estimate: single
      ? agreement
      : (betweenRows - error) / (betweenRows + (betweenColumns - error) / n),
    lower: lowerPart > 0 && fLower < Infinity
      ? n * (betweenRows - fLower * error) / lowerPart
      : null,
    upper: upperPart > 0 && fHigher < Infinity
      ? n * (fHigher * betweenRows - error) / upperPart
      : null,
    f,
    df1,
    df2,
    p,
  };
}

/** Rows and columns that hold a reading, and what was left out. */
function usefulPart(
  table: readonly (readonly (number | null)[])[],
  form: IccForm,
): { rows: (number | null)[][]; columns: number; warnings: Reason[] } {
  const width = Math.max(0, ...table.map((row) => row.length));
  table.forEach((row, i) => {
    if (!form.startsWith("ICC(1") && row.length !== width) {
      throw new RangeError(
        `Row ${
          i + 1
        } has ${row.length} entries, expected ${width}: a two-way form needs one a rater`,
      );
    }
    row.forEach((reading, j) => {
      if (reading !== null && !Number.isFinite(reading)) {
        throw new RangeError(
          `Row ${i + 1}, column ${j + 1} is ${reading}, expected a finite number or null`,
        );
      }
    });
  });
  const warnings: Reason[] = [];
  const rows = table.filter((row) => row.some((reading) => reading !== null));
  if (rows.length < table.length) {
    warnings.push({
      code: "left-out",
      of: "subjects",
      because: "unread",
      left: table.length - rows.length,
      all: table.length,
    });
  }
  const used = Array.from({ length: width }, (_, j) => j)
    .filter((j) => rows.some((row) => (row[j] ?? null) !== null));
  if (used.length < width && rows.length > 0) {
    warnings.push({
      code: "left-out",
      of: "raters",
      because: "unread",
      left: width - used.length,
      all: width,
    });
  }
  return {
    rows: rows.map((row) => used.filter((j) => j < row.length).map((j) => row[j])),
    columns: used.length,
    warnings,
  };
}

type WithGaps = Pick<
  IntraclassCorrelation,
  "estimate" | "lower" | "upper" | "f" | "df1" | "df2" | "p" | "averaged" | "method" | "warnings"
>;

function oneWayWithGaps(
  rows: readonly (readonly (number | null)[])[],
  single: boolean,
  confidence: number,
): WithGaps | Reason {
  const subjects = rows.map((row) => row.filter((x) => x !== null) as number[]);
  const pivot = subjects[0][0];
  const counts = subjects.map((readings) => readings.length);
  const means = subjects.map((readings) =>
    readings.reduce((total, x) => total + (x - pivot), 0) / readings.length
  );
  const n = counts.reduce((a, b) => a + b, 0);
  let [within, largest] = [0, 0];
  subjects.forEach((readings, i) =>
    readings.forEach((x) => {
      within += (x - pivot - means[i]) ** 2;
      largest = Math.max(largest, Math.abs(x));
    })
  );
  if (within <= n * (4 * Number.EPSILON * largest) ** 2) {
    return { code: "no-noise", of: "subject" };
  }
  const [df1, df2] = [subjects.length - 1, n - subjects.length];
  const noise = within / df2;
  // Wald's pivot: the weighted spread of subject means over the noise is F at the true ratio.
  const pivotAt = (ratio: number) => {
    let [weights, centre] = [0, 0];
    means.forEach((mean, i) => {
      const weight = counts[i] / (1 + ratio * counts[i]);
      weights += weight;
      centre += weight * mean;
    });
    centre /= weights;
    let spread = 0;
    means.forEach((mean, i) =>
      spread += counts[i] / (1 + ratio * counts[i]) * (mean - centre) ** 2
    );
    return spread / df1 / noise;
  };
  const lowest = -1 / Math.max(...counts);
  const tail = (1 - confidence) / 2;
  const lower = falls(pivotAt, fUpperQuantile(tail, df1, df2), lowest);
  const upper = falls(pivotAt, fQuantile(tail, df1, df2), lowest);
  const model = mixedModel({
    value: subjects.flat(),
    factors: { subject: subjects.flatMap((readings, i) => readings.map(() => String(i))) },
    terms: ["subject"],
  });
  if (model.fit === null) return model.reason ?? { code: "no-fit" };
  const ratio = model.fit.variances[0] / model.fit.variances[1];
  const averaged = single ? 1 : counts.length / counts.reduce((total, c) => total + 1 / c, 0);
  const share = (r: number) => r / (r + 1 / averaged);
  const f = pivotAt(0);
  return {
    estimate: share(ratio),
    // Below a ratio of −1/k the share of a mean has no lower bound.
    lower: lower > -1 / averaged ? share(lower) : null,
    // The exact limits may lie below 0 altogether, where the estimate stops at 0.
    upper: Math.max(upper > -1 / averaged ? share(upper) : 0, share(ratio)),
    f,
    df1,
    df2,
    p: fUpper(f, df1, df2),
    averaged,
    method: "REML components, exact limits from weighted subject means",
    warnings: [
      { code: "unequally-often" },
      ...(single ? [] : [{ code: "averaged", k: averaged, of: "readings" }]),
    ],
  };
}

/** Where does a falling function reach a height? Not below `lowest`. */
function falls(height: (x: number) => number, wanted: number, lowest: number): number {
  let low = lowest + 1e-12 * Math.abs(lowest);
  if (height(low) <= wanted) return lowest;
  let step = 1;
  while (height(lowest + step) > wanted) {
    low = lowest + step;
    step *= 4;
    if (step > 1e300) return Infinity;
  }
  let high = lowest + step;
  for (let round = 0; round < 200 && high - low > 1e-15 * Math.max(1, Math.abs(high)); round++) {
    const middle = (low + high) / 2;
    if (height(middle) > wanted) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

function twoWayWithGaps(
  rows: readonly (readonly (number | null)[])[],
  columns: number,
  form: IccForm,
  confidence: number,
  resamples: number,
  seed: number,
): WithGaps | Reason {
  const alike = (row: readonly (number | null)[]) =>
    new Set(row.filter((x) => x !== null)).size === 1;
  if (rows.every(alike)) {
    return { code: "no-noise", of: "subject" };
  }
  const value: number[] = [];
  const subject: string[] = [];
  const rater: string[] = [];
  const perSubject = rows.map((row) => row.filter((x) => x !== null).length);
  rows.forEach((row, i) =>
    row.forEach((reading, j) => {
      if (reading === null) return;
      value.push(reading);
      subject.push(String(i));
      rater.push(String(j));
    })
  );
  const agreement = form.startsWith("ICC(2");
  const model = mixedModel(
    { value, factors: { subject, rater }, terms: agreement ? ["subject", "rater"] : ["subject"] },
    agreement ? [] : ["rater"],
  );
  const { design, solver, fit } = model;
  if (fit === null || solver === null) return model.reason ?? { code: "no-fit" };
  if (design.dropped.length > 0) {
    return { code: "not-separable", term: design.dropped[0].term };
  }
  const averaged = form.endsWith("1)")
    ? 1
    : rows.length / perSubject.reduce((total, c) => total + 1 / c, 0);
  const share = (variances: Float64Array) => {
    const noise = variances.subarray(1).reduce((total, v) => total + v, 0) / averaged;
    return variances[0] / (variances[0] + noise);
  };
  const estimate = share(fit.variances);
  // On this scale the scatter of an estimate hardly depends on where it lies (Fisher 1925).
  const single = (variances: Float64Array) =>
    variances[0] / variances.reduce((total, v) => total + v, 0);
  const typical = Math.max(2, value.length / rows.length);
  const scale = (r: number) => Math.log((1 + (typical - 1) * r) / (1 - r));
  const draws = new Float64Array(resamples);
  let used = 0;
  const simulate = cellSimulator(design, fit.variances);
  for (let b = 0; b < resamples; b++) {
    const again = solver.fit(simulate(randomStream(seed, b)), fit.variances, 3e-4);
    if (again.ending !== "converged") continue;
    const z = scale(single(again.variances));
    if (Number.isFinite(z)) draws[used++] = z;
  }
  const warnings: Reason[] = [{ code: "not-by-every-rater" }];
  if (averaged !== 1) {
    warnings.push({ code: "averaged", k: averaged, of: "raters" });
  }
  if (used < resamples) {
    warnings.push({
      code: "resamples-lost",
      lost: resamples - used,
      of: resamples,
      because: "no-fit",
    });
  }
  let [lower, upper]: (number | null)[] = [null, null];
  const here = scale(single(fit.variances));
  if (used >= 100 && Number.isFinite(here)) {
    const order = orderStatistics(draws.subarray(0, used));
    const back = (z: number) => {
      const r = (Math.exp(z) - 1) / (Math.exp(z) + typical - 1);
      // A share of a single reading stepped up to the mean of `averaged`.
      return averaged * r / (1 + (averaged - 1) * r);
    };
    lower = back(2 * here - order.quantile((1 + confidence) / 2));
    upper = back(2 * here - order.quantile((1 - confidence) / 2));
  }
  const test = additiveTest(rows, columns);
  return {
    estimate,
    lower,
    upper,
    ...test,
    averaged,
    method: `REML components, limits from ${resamples} parametric bootstrap fits on Fisher's scale`,
    warnings,
  };
}

/** F test of subjects after raters, from least squares on an incomplete table. */
function additiveTest(
  rows: readonly (readonly (number | null)[])[],
  columns: number,
): Pick<WithGaps, "f" | "df1" | "df2" | "p"> {
  const none = { f: null, df1: null, df2: null, p: null };
  const cells: [number, number, number][] = [];
  const pivot = rows.flat().find((x) => x !== null) as number;
  rows.forEach((row, i) =>
    row.forEach((x, j) => {
      if (x !== null) cells.push([i, j, x - pivot]);
    })
  );
  const count = rows.map((row) => row.filter((x) => x !== null).length);
  // Raters' effects after subjects are swept out; the first rater is the base.
  const size = columns - 1;
  const matrix = new Float64Array(size * size);
  const right = new Float64Array(size);
  rows.forEach((row, i) => {
    const mean = row.reduce((t: number, x) => t + (x === null ? 0 : x - pivot), 0) / count[i];
    for (let j = 1; j < columns; j++) {
      if ((row[j] ?? null) === null) continue;
      right[j - 1] += (row[j] as number) - pivot - mean;
      for (let l = 1; l < columns; l++) {
        if ((row[l] ?? null) === null) continue;
        matrix[(j - 1) * size + l - 1] += (j === l ? 1 : 0) - 1 / count[i];
      }
    }
  });
  // Where the table falls apart into unconnected pieces, nothing is left of a rater.
  if (!solvePositive(matrix, right, size, 1e-9)) return none;
  const effect = Float64Array.of(0, ...right);
  const level = new Float64Array(rows.length);
  for (const [i, j, x] of cells) level[i] += (x - effect[j]) / count[i];
  let full = 0;
  for (const [i, j, x] of cells) full += (x - effect[j] - level[i]) ** 2;
  const raterCount = new Float64Array(columns);
  const raterMean = new Float64Array(columns);
  for (const [, j, x] of cells) {
    raterCount[j]++;
    raterMean[j] += x;
  }
  let reduced = 0;
  for (const [, j, x] of cells) reduced += (x - raterMean[j] / raterCount[j]) ** 2;
  const df1 = rows.length - 1;
  const df2 = cells.length - rows.length - columns + 1;
  if (df2 < 1 || full <= 0) return none;
  const f = (reduced - full) / df1 / (full / df2);
  return { f, df1, df2, p: fUpper(f, df1, df2) };
}
