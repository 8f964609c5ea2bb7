import * as option from "../../options.ts";
import type { Reason } from "../../statistics/reason.ts";
import { bootstrapInterval } from "../../statistics/bootstrap_interval.ts";
import { noEstimate } from "../../statistics/estimate.ts";
import { nonNegativeCrossValidation } from "../../statistics/non_negative_cross_validation.ts";
import { relativeImportance } from "../../statistics/relative_importance.ts";
import { ridge, standardised } from "../../statistics/ridge.ts";
import { ridgeCrossValidation } from "../../statistics/ridge_cross_validation.ts";
import { varianceInflation } from "../../statistics/variance_inflation.ts";
import type { PredictionTable } from "./prediction_table.ts";
import type { CourtModel, MetricShare, ModelCoefficient, ModelFit } from "./types.ts";

/** A metric is left out of models when it would cost more than this share of the rated shoes. */
export const LARGEST_COST = 0.2;
const FEWEST_SHOES = 8;
/** Shares over all orderings double in cost with each metric. */
const MOST_SHARED = 14;

/**
 * How well do the metrics together foretell an impression of a shoe that was not in the fit?
 *
 * Metrics computed from another one's trials stay out. So does, one after the other, the metric whose
 * gaps cost most shoes, until at least four in five of the rated shoes are complete. Ridge may give a
 * metric either sign; the non-negative fit may only reward the better direction of a metric, and either
 * direction where `better` names none. Both leave out each line in turn, all its editions together, with all tuning
 * inside; each shoe alone where there are fewer than four lines.
 *
 * The interval of an out-of-sample R² resamples the lines' errors, the predictions being what they are:
 * it tells how far the figure depends on these shoes, not how the fit would change with others.
 */
export function predictionModel(
  table: PredictionTable,
  attributeIndex: number,
  { confidence, resamples, seed }: {
    readonly confidence: number;
    readonly resamples: number;
    readonly seed: number;
  },
): CourtModel {
  option.check("studies.predictionModel", arguments[2], {
    confidence: option.needed(option.share),
    resamples: option.needed(option.resamples),
    seed: option.needed(option.seed),
  });
  const { values: ratings } = table.attributes[attributeIndex];
  const rated = ratings.flatMap((rating, row) => rating === null ? [] : [row]);
  const { kept, rows, left_out } = completeMetrics(table, rated);
  const metrics = kept.map((j) => table.metrics[j]);
  const y = rows.map((row) => ratings[row]!);
  const X = rows.map((row) => metrics.map(({ values }) => values[row]!));
  const reason: Reason | null = rated.length === 0
    ? { code: "no-rating" }
    : metrics.length === 0
    ? { code: "no-metric-serves" }
    : rows.length < FEWEST_SHOES
    ? { code: "too-few", of: "complete rows", needed: FEWEST_SHOES, found: rows.length }
    : y.every((value) => value === y[0])
    ? { code: "rated-alike", shoes: rows.length }
    : null;
  const about = {
    n: rows.length,
    shoes_rated: rated.length,
    metrics: metrics.map(({ metric }) => metric.id),
    left_out,
    reason,
  };
  if (reason !== null) {
    const none: ModelFit = {
      r2: noEstimate(reason, { confidence, method: "leave-one-shoe-out", n: rows.length }),
      error: null,
      strength: null,
      intercept: null,
      coefficients: [],
    };
    return {
      ...about,
      ridge: none,
      nnls: none,
      points: rows.map((row) => ({
        ...table.shoes[row],
        observed: ratings[row]!,
        ridge: null,
        nnls: null,
      })),
      shares: {
        r2: null,
        by_chance: null,
        confidence,
        method: "none",
        reason,
        metrics: [],
      },
    };
  }

  const options = { confidence, resamples, seed, lines: leftOutTogether(table, rows) };
  const shrunk = ridgeFit(X, y, metrics, options);
  const rewarded = nonNegativeFit(X, y, metrics, options);
  return {
    ...about,
    ridge: shrunk.fit,
    nnls: rewarded.fit,
    points: rows.map((row, i) => ({
      ...table.shoes[row],
      observed: y[i],
      ridge: shrunk.predicted[i],
      nnls: rewarded.predicted[i],
    })),
    shares: metricShares(X, y, metrics, options),
  };
}

type TableMetric = PredictionTable["metrics"][number];

type ModelOptions = {
  readonly confidence: number;
  readonly resamples: number;
  readonly seed: number;
  /** The line of each shoe, where whole lines are left out; else each shoe alone. */
  readonly lines: readonly (string | number)[];
};

/** With fewer lines than this there is no leaving out of whole ones. */
const FEWEST_LINES = 4;

/** Editions of a line resemble each other: a fit that has seen one has seen the others by half. */
function leftOutTogether(
  { kin }: PredictionTable,
  rows: readonly number[],
): readonly (string | number)[] {
  const lines = rows.map((row) => kin.groups.inner[row]);
  return new Set(lines).size < FEWEST_LINES ? rows : lines;
}

function completeMetrics(table: PredictionTable, rated: readonly number[]): {
  readonly kept: readonly number[];
  readonly rows: readonly number[];
  readonly left_out: CourtModel["left_out"];
} {
  const leftOut: { metric: string; title: string; reason: Reason }[] = [];
  const leave = (j: number, reason: Reason) => {
    const { id, title } = table.metrics[j].metric;
    leftOut.push({ metric: id, title, reason });
  };
  const titleOf = (id: string) =>
    table.metrics.find(({ metric }) => metric.id === id)?.metric.title ?? id;
  let kept = table.metrics.flatMap(({ values, derived_from }, j) => {
    const known = rated.flatMap((row) => values[row] === null ? [] : [values[row]]);
    const why: Reason | null = derived_from !== null
      ? { code: "computed-from", metric: titleOf(derived_from) }
      : known.length === 0
      ? { code: "on-no-rated-shoe" }
      : known.every((value) => value === known[0])
      ? { code: "read-alike", shoes: known.length, which: "rated" }
      : null;
    if (why === null) return [j];
    leave(j, why);
    return [];
  });
  const complete = (columns: readonly number[]) =>
    rated.filter((row) => columns.every((j) => table.metrics[j].values[row] !== null));
  let rows = complete(kept);
  while (kept.length > 0 && rows.length < (1 - LARGEST_COST) * rated.length) {
    const without = kept.map((j) => complete(kept.filter((other) => other !== j)).length);
    const costliest = without.indexOf(Math.max(...without));
    const j = kept[costliest];
    const missing = rated.filter((row) => table.metrics[j].values[row] === null).length;
    leave(j, { code: "missing-on", shoes: missing, of: rated.length });
    kept = kept.filter((other) => other !== j);
    rows = complete(kept);
  }
  // A column may have turned constant with the rows that others cost.
  const constant = kept.filter((j) =>
    rows.every((row) => table.metrics[j].values[row] === table.metrics[j].values[rows[0]])
  );
  if (rows.length > 0) {
    constant.forEach((j) =>
      leave(j, { code: "read-alike", shoes: rows.length, which: "complete" })
    );
    kept = kept.filter((j) => !constant.includes(j));
  }
  return { kept, rows, left_out: leftOut };
}

function ridgeFit(
  X: readonly (readonly number[])[],
  y: readonly number[],
  metrics: readonly TableMetric[],
  options: ModelOptions,
): { readonly fit: ModelFit; readonly predicted: readonly number[] } {
  const tuned = ridgeCrossValidation(X, y, { groups: options.lines });
  const { intercept, coefficients, scaled_coefficients } = ridge(X, y, {
    strength: tuned.strength ?? 0,
  });
  return {
    predicted: tuned.predicted,
    fit: {
      ...outOfSample(y, tuned.predicted, "ridge, strength chosen inside each fold", options),
      strength: tuned.strength,
      intercept,
      coefficients: metrics.map(({ metric }, j) => ({
        metric: metric.id,
        title: metric.title,
        unit: metric.unit,
        per_unit: coefficients?.[j] ?? 0,
        per_sd: scaled_coefficients?.[j] ?? 0,
        lower: null,
        upper: null,
      })),
    },
  };
}

/** Columns turned so that more is better; one for each direction where `better` names none. */
function nonNegativeFit(
  X: readonly (readonly number[])[],
  y: readonly number[],
  metrics: readonly TableMetric[],
  options: ModelOptions,
): { readonly fit: ModelFit; readonly predicted: readonly number[] } {
  const { Z, means, spreads } = standardised(X);
  const ways = metrics.flatMap(({ metric }, j) =>
    metric.better === "higher"
      ? [{ j, sign: 1 }]
      : metric.better === "lower"
      ? [{ j, sign: -1 }]
      : [{ j, sign: 1 }, { j, sign: -1 }]
  );
  const found = nonNegativeCrossValidation(
    Z.map((row) => ways.map(({ j, sign }) => sign * row[j])),
    y,
    {
      confidence: options.confidence,
      resamples: options.resamples,
      seed: options.seed,
      intercept: true,
      nested: false,
      ...(new Set(options.lines).size === y.length ? {} : { groups: options.lines }),
    },
  );
  const coefficients = metrics.map(({ metric }, j): ModelCoefficient => {
    const part = (sign: number) => ways.findIndex((way) => way.j === j && way.sign === sign);
    const [up, down] = [part(1), part(-1)];
    const at = (list: readonly (number | null)[], place: number) => place < 0 ? 0 : list[place];
    const perSd = at(found.weights, up)! - at(found.weights, down)!;
    // A resample keeps at most one of the two directions, so the far limit of each is the other's near one.
    const [upLow, upHigh] = [at(found.weights_lower, up), at(found.weights_upper, up)];
    const [downLow, downHigh] = [at(found.weights_lower, down), at(found.weights_upper, down)];
    return {
      metric: metric.id,
      title: metric.title,
      unit: metric.unit,
      per_unit: perSd / spreads[j],
      per_sd: perSd,
      lower: downHigh === null ? null : downHigh > 0 ? -downHigh : upLow,
      upper: upHigh === null ? null : upHigh > 0 ? upHigh : downLow === null ? null : 0 - downLow,
    };
  });
  return {
    predicted: found.predicted,
    fit: {
      ...outOfSample(y, found.predicted, "non-negative least squares", options),
      strength: null,
      intercept: coefficients.reduce(
        (sum, { per_unit }, j) => sum - per_unit * means[j],
        found.intercept,
      ),
      coefficients,
    },
  };
}

function outOfSample(
  y: readonly number[],
  predicted: readonly number[],
  what: string,
  { confidence, resamples, seed, lines }: ModelOptions,
): Pick<ModelFit, "r2" | "error"> {
  const n = y.length;
  const total = y.reduce((a, b) => a + b, 0);
  const whole = new Set(lines).size < n;
  // What is drawn anew is what was left out together.
  const errors = [...Map.groupBy(y.keys(), (i) => lines[i]).values()].map((own) => {
    const mean = (total - own.reduce((sum, i) => sum + y[i], 0)) / (n - own.length);
    const squares = (of: (i: number) => number) => own.reduce((sum, i) => sum + of(i) ** 2, 0);
    return {
      model: squares((i) => y[i] - predicted[i]),
      mean: squares((i) => y[i] - mean),
    };
  });
  const method = `leave-one-${
    whole ? "line" : "shoe"
  }-out, ${what}; percentile bootstrap of the errors`;
  const { estimate, estimate_reason, lower, upper, warnings } = bootstrapInterval(
    errors,
    (sample) => {
      let model = 0;
      let mean = 0;
      for (const error of sample) {
        model += error.model;
        mean += error.mean;
      }
      return mean > 0 ? 1 - model / mean : null;
    },
    { method: "percentile", confidence, resamples: Math.max(1, resamples), seed },
  );
  const limits = resamples > 0 ? { lower, upper } : { lower: null, upper: null };
  return {
    r2: { estimate, estimate_reason, ...limits, confidence, method, n, warnings },
    error: Math.sqrt(errors.reduce((sum, { model }) => sum + model, 0) / n),
  };
}

function metricShares(
  X: readonly (readonly number[])[],
  y: readonly number[],
  metrics: readonly TableMetric[],
  { confidence, resamples, seed, lines }: ModelOptions,
): CourtModel["shares"] {
  if (metrics.length > MOST_SHARED) {
    return {
      r2: null,
      by_chance: null,
      confidence,
      method: "none",
      reason: { code: "too-many-to-share", metrics: metrics.length, most: MOST_SHARED },
      metrics: [],
    };
  }
  const found = relativeImportance(X, y, { resamples, confidence, seed, groups: lines });
  const inflation = varianceInflation(X);
  return {
    r2: found.r2,
    by_chance: found.shares === null ? null : 1 / (X.length - 1),
    confidence,
    method: found.method,
    reason: found.reason,
    metrics: found.shares === null ? [] : metrics.map(({ metric }, j): MetricShare => ({
      metric: metric.id,
      title: metric.title,
      share: found.shares![j],
      // Resampled shares of a useless metric lie above its own; a limit must not pass the estimate.
      lower: found.shares_lower === null ? null : Math.min(found.shares_lower[j], found.shares![j]),
      upper: found.shares_upper?.[j] ?? null,
      inflation: inflation[j].factor,
      inflation_reason: inflation[j].reason,
    })).toSorted((a, b) => b.share - a.share),
  };
}
