import { EigenvalueDecomposition, Matrix } from "ml-matrix";
import { sampleVariance } from "simple-statistics";
import type { Bench, Impression } from "../../records/types.ts";
import { completePairs } from "../../statistics/complete_pairs.ts";
import { normalQuantile } from "../../statistics/distributions.ts";
import { type Estimate, noEstimate } from "../../statistics/estimate.ts";
import { productMoment } from "../../statistics/pearson.ts";
import { type RandomStream, randomStream } from "../../statistics/random_stream.ts";
import { rankCorrelationGrid } from "../../statistics/rank_correlation_grid.ts";
import { ranks } from "../../statistics/ranks.ts";
import type { PredictionReliability } from "../prediction/court_prediction.ts";
import { derivedMetrics } from "../shoes/derived_metrics.ts";
import { panelValues } from "../panel/panel_values.ts";
import { CLAIM_ALPHA, predictionClaim } from "../prediction/prediction_claim.ts";
import { shoeValues } from "../shoes/shoe_values.ts";

/** What the study finds on simulated benches where one metric truly drives the impression. */
export type PredictionPower = {
  /** Correlation of the true standings, before any noise. */
  readonly rho: number;
  /** Share of simulated attributes whose driver is called a predictor. */
  readonly found: Estimate;
  /** Share in which the driver has the largest |rho| of all metrics. */
  readonly ranked_first: Estimate;
  /** Mean rank correlation that the noise leaves of it. */
  readonly seen_as: number | null;
  /** Share of intervals that hold what the noise leaves of their driver on average. */
  readonly coverage: Estimate;
};

/** Whether `courtPrediction` can be trusted on a bench like this one. */
export type PredictionAudit = {
  readonly shoes: number;
  readonly metrics: number;
  readonly testers: number;
  readonly simulations: { readonly nothing_true: number; readonly per_rho: number };
  /** Share of simulated attributes, with nothing true, on which any metric is called a predictor. */
  readonly false_predicts: Estimate;
  /** Mean number of hints on such an attribute; chance alone gives 5 in 100 metrics. */
  readonly false_hints: number | null;
  readonly power: readonly PredictionPower[];
  readonly seed: number;
  readonly confidence: number;
  readonly sentence: string;
  readonly warnings: readonly string[];
};

/** What `predictionAudit` takes besides the bench; every option has a default. */
export type PredictionAuditOptions = {
  /** Where the noise of each metric's mean comes from; without it metrics count as free of noise. */
  readonly reliability?: PredictionReliability | null;
  readonly metrics?: readonly string[];
  readonly attributes?: readonly string[];
  /** Simulated attributes with nothing true; unless given 200, beyond 100 shoes fewer, at least 60. */
  readonly simulations?: number;
  /** Simulated attributes for each true correlation; unless given 60, beyond 100 shoes fewer, at least 20. */
  readonly powerSimulations?: number;
  /** True correlations to be looked for. */
  readonly rhos?: readonly number[];
  readonly resamples?: number;
  readonly permutations?: number;
  readonly confidence?: number;
  readonly seed?: number;
};

/**
 * Can the claims about the court be trusted on a bench of this size and with these gaps?
 *
 * Simulates impressions for the lab's own design. Metric values are drawn anew, with the correlations
 * that the lab's metrics have among each other and with its gaps; an impression's true standing either
 * has nothing to do with them or goes with one of them (each in turn); then the lab's testers rate the
 * shoes they rated, with the leniencies, the scatter and the rating steps found. Panel values, the
 * family-wise p, the interval, the left-out shoes and the claim are those of the study itself, with fewer
 * resamples.
 *
 * @param bench as of the date in question, see `benchUntil`
 * @returns null figures with a reason where the design holds nothing to simulate
 */
export function predictionAudit(
  bench: Bench,
  {
    reliability = null,
    metrics: metricIds,
    attributes: attributeIds,
    simulations = asManyAs(200, bench.shoes.length, 60),
    powerSimulations = asManyAs(60, bench.shoes.length, 20),
    rhos = [0.3, 0.5, 0.7],
    resamples = 500,
    permutations = 499,
    confidence = bench.settings.confidence,
    seed = 20260101,
  }: PredictionAuditOptions = {},
): PredictionAudit {
  const chosen = bench.metrics.filter(({ id }) => metricIds?.includes(id) ?? true);
  const derived = derivedMetrics(chosen);
  const own = chosen.filter(({ id }) => !derived.has(id));
  const designs = bench.settings.attributes
    .filter(({ id }) => attributeIds?.includes(id) ?? true)
    .map(({ id }) => ratingDesign(bench, id))
    .filter((design) => design !== null);
  const shoes = [...new Set(designs.flatMap((design) => design.shoes))].sort();
  const row = new Map(shoes.map((shoe, index) => [shoe, index]));
  const used = own.flatMap(({ id }) => {
    const values = new Array<number | null>(shoes.length).fill(null);
    for (const { shoe_id, value } of shoeValues(bench, id, null)) {
      const at = row.get(shoe_id);
      if (at !== undefined) values[at] = value;
    }
    return distinct(values) > 2 ? [{ id, values }] : [];
  });
  const columns = used.map(({ values }) => values);
  const reliabilities = used.map(({ id }) => {
    const known = reliability?.metrics.find((entry) => entry.metric === id)?.icc_mean.estimate;
    return known === undefined || known === null ? 1 : Math.min(1, Math.max(0, known));
  });
  const testers = new Set(designs.flatMap((design) => design.rows.map((rating) => rating.tester)));
  const method =
    `simulated attributes of this bench's design, ${permutations} permutations and ${resamples} resamples each; score interval of a share`;
  const about = {
    shoes: shoes.length,
    metrics: columns.length,
    testers: testers.size,
    simulations: { nothing_true: simulations, per_rho: powerSimulations },
    seed,
    confidence,
  };
  if (columns.length === 0 || designs.length === 0 || shoes.length < 4) {
    const reason = columns.length === 0
      ? "no metric has three different values on the rated shoes"
      : designs.length === 0
      ? "no attribute has enough ratings to tell scatter from shoes"
      : `${shoes.length} shoes were rated; four are needed`;
    const none = noEstimate(reason, { confidence, method, n: 0 });
    return {
      ...about,
      false_predicts: none,
      false_hints: null,
      power: rhos.map((rho) => ({
        rho,
        found: none,
        ranked_first: none,
        seen_as: null,
        coverage: none,
      })),
      sentence: `The claims about the court can't be audited: ${reason}.`,
      warnings: [],
    };
  }

  const drawMetrics = likeTheseMetrics(columns);
  const simulate = (stream: RandomStream, index: number, rho: number) => {
    const driver = index % columns.length;
    const table = drawMetrics(stream);
    const truth = standing(table[driver], reliabilities[driver], rho, stream);
    const design = designs[index % designs.length];
    const values = rateAgain(bench, design, truth, row, stream);
    return judge(
      table.map((values, j) => values.map((value, i) => columns[j][i] === null ? null : value)),
      values,
      {
        driver: rho === 0 ? null : driver,
        confidence,
        resamples,
        permutations,
        seed: stream.integer(4294967296),
      },
    );
  };

  const nothing = Array.from(
    { length: simulations },
    (_, index) => simulate(randomStream(seed, 51, index), index, 0),
  );
  const falsePredicts = rate(nothing.map(({ predicts }) => predicts > 0), confidence, method);
  const power = rhos.map((rho, k): PredictionPower => {
    const found = Array.from(
      { length: powerSimulations },
      (_, index) => {
        const { planted } = simulate(randomStream(seed, 52, k, index), index, rho);
        // What a metric's own noise leaves of a correlation.
        const left = Math.sqrt(reliabilities[index % columns.length]);
        return planted === null ? null : { ...planted, left };
      },
    ).filter((planted) => planted !== null);
    const sum = (values: readonly number[]) => values.reduce((a, b) => a + b, 0);
    const seen = sum(found.map(({ estimate }) => estimate));
    const perLeft = seen / sum(found.map(({ left }) => left));
    return {
      rho,
      found: rate(found.map(({ claim }) => claim === "predicts"), confidence, method),
      ranked_first: rate(found.map(({ first }) => first), confidence, method),
      seen_as: found.length === 0 ? null : seen / found.length,
      coverage: rate(
        found.filter(({ lower }) => lower !== null)
          .map(({ lower, upper, left }) => lower! <= left * perLeft && left * perLeft <= upper!),
        confidence,
        method,
      ),
    };
  });
  return {
    ...about,
    false_predicts: falsePredicts,
    false_hints: simulations === 0
      ? null
      : nothing.reduce((sum, { hints }) => sum + hints, 0) / simulations,
    power,
    sentence: auditSentence(about, falsePredicts, power),
    warnings: reliabilities.every((known) => known === 1)
      ? ["Metrics are simulated without noise of their own, because no reliability was given."]
      : [],
  };
}

/** Each takes as long as it has shoes, and what a large bench shows it shows clearly. */
function asManyAs(most: number, shoes: number, least: number): number {
  return Math.max(least, Math.round(most * Math.min(1, 100 / Math.max(1, shoes))));
}

function distinct(values: readonly (number | null)[]): number {
  return new Set(values.filter((value) => value !== null)).size;
}

/** Who rated which shoe on one attribute, and how the ratings scatter. */
type RatingDesign = {
  readonly attribute: string;
  readonly rows: readonly Impression[];
  readonly shoes: readonly string[];
  readonly shift: ReadonlyMap<string, number>;
  readonly centre: number;
  readonly shoe_sd: number;
  readonly rating_sd: number;
};

function ratingDesign(bench: Bench, attribute: string): RatingDesign | null {
  const panel = panelValues(bench, attribute);
  if (panel.rating_sd === null || panel.shoes.length < 3) return null;
  const values = panel.shoes.map(({ value }) => value);
  const noise = panel.shoes.reduce((sum, shoe) => sum + shoe.standard_error! ** 2, 0) /
    panel.shoes.length;
  return {
    attribute,
    rows: bench.impressions.filter((row) => row.attribute === attribute && row.rating !== null),
    shoes: panel.shoes.map(({ shoe_id }) => shoe_id),
    shift: new Map(panel.leniency.map(({ tester, shift }) => [tester, shift])),
    centre: values.reduce((a, b) => a + b) / values.length,
    // A tenth of the observed spread stands in where noise alone explains it.
    shoe_sd: Math.sqrt(Math.max(sampleVariance(values) - noise, 0.1 * sampleVariance(values))),
    rating_sd: panel.rating_sd,
  };
}

/** Standard normal columns with the rank correlations that these have among each other. */
function likeTheseMetrics(
  columns: readonly (readonly (number | null)[])[],
): (stream: RandomStream) => number[][] {
  const size = columns.length;
  const correlation = Matrix.eye(size);
  for (let i = 0; i < size; i++) {
    for (let j = 0; j < i; j++) {
      const { x, y } = completePairs(columns[i], columns[j]);
      const rho = x.length < 4 ? null : productMoment(ranks(x), ranks(y));
      // From a rank correlation to the one of a normal pair behind it.
      const normal = rho === null ? 0 : 2 * Math.sin(Math.PI * rho / 6);
      correlation.set(i, j, normal);
      correlation.set(j, i, normal);
    }
  }
  const { realEigenvalues, eigenvectorMatrix } = new EigenvalueDecomposition(correlation, {
    assumeSymmetric: true,
  });
  // Pairwise correlations over different shoes need not fit together; what is impossible becomes 0.
  const roots = realEigenvalues.map((value) => Math.sqrt(Math.max(0, value)));
  const factor = Array.from({ length: size }, (_, i) => {
    const row = roots.map((root, k) => root * eigenvectorMatrix.get(i, k));
    const length = Math.hypot(...row);
    return row.map((value) => value / length);
  });
  const shoes = columns[0].length;
  return (stream) => {
    const table = columns.map(() => new Array<number>(shoes));
    const axes = new Float64Array(size);
    for (let shoe = 0; shoe < shoes; shoe++) {
      stream.fillNormal(axes);
      factor.forEach((row, i) => {
        let value = 0;
        for (let k = 0; k < size; k++) value += row[k] * axes[k];
        table[i][shoe] = value;
      });
    }
    return table;
  };
}

/** True standing of each shoe on an impression that goes by rho with the metric behind these readings. */
function standing(
  readings: readonly number[],
  reliability: number,
  rho: number,
  stream: RandomStream,
): number[] {
  const rest = Math.sqrt(1 - rho * rho);
  return readings.map((reading) => {
    // The metric's own true standing, given a reading that holds noise.
    const metric = Math.sqrt(reliability) * reading + Math.sqrt(1 - reliability) * stream.normal();
    return rho * metric + rest * stream.normal();
  });
}

function rateAgain(
  bench: Bench,
  design: RatingDesign,
  truth: readonly number[],
  row: ReadonlyMap<string, number>,
  stream: RandomStream,
): (number | null)[] {
  const { min, max, step } = bench.settings.rating;
  const impressions = design.rows.map((given) => {
    const felt = design.centre + design.shift.get(given.tester)! +
      design.shoe_sd * truth[row.get(given.shoe_id)!] + design.rating_sd * stream.normal();
    const stepped = step > 0 ? min + Math.round((felt - min) / step) * step : felt;
    return { ...given, rating: Math.min(max, Math.max(min, stepped)) };
  });
  const values = new Array<number | null>(row.size).fill(null);
  for (const { shoe_id, value } of panelValues({ impressions }, design.attribute).shoes) {
    values[row.get(shoe_id)!] = value;
  }
  return values;
}

type Judged = {
  readonly predicts: number;
  readonly hints: number;
  readonly planted: {
    readonly estimate: number;
    readonly lower: number | null;
    readonly upper: number | null;
    readonly claim: string;
    readonly first: boolean;
  } | null;
};

/** The study's own rule; what only a claim or the coverage needs is worked out only where they do. */
function judge(
  columns: readonly (readonly (number | null)[])[],
  target: readonly (number | null)[],
  { driver, confidence, resamples, permutations, seed }: {
    readonly driver: number | null;
    readonly confidence: number;
    readonly resamples: number;
    readonly permutations: number;
    readonly seed: number;
  },
): Judged {
  const { cells } = rankCorrelationGrid(columns, [target], {
    interval: "none",
    leaveOneOut: false,
    familywiseBelow: CLAIM_ALPHA,
    permutations,
    seed,
  });
  const wanted = cells.map((_, j) => j).filter((j) =>
    j === driver || (cells[j][0].p_familywise ?? 1) < CLAIM_ALPHA
  );
  const limits = wanted.length === 0 ? [] : rankCorrelationGrid(
    wanted.map((j) => columns[j]),
    [target],
    { confidence, resamples, permutations: 0, seed },
  ).cells.map(([cell]) => cell);
  const claims = cells.map(([cell], j) => {
    const bounds = limits[wanted.indexOf(j)];
    const left = bounds?.leave_one_out.filter((rho) => rho !== null) ?? [];
    return predictionClaim({
      rho: cell.estimate,
      lower: bounds?.lower ?? null,
      upper: bounds?.upper ?? null,
      p: cell.p,
      p_familywise: cell.p_familywise,
      lowest: left.length === 0 ? null : Math.min(...left),
      highest: left.length === 0 ? null : Math.max(...left),
    });
  });
  const size = (j: number) => Math.abs(cells[j][0].estimate ?? 0);
  const own = driver === null ? null : cells[driver][0].estimate;
  return {
    predicts: claims.filter((claim) => claim === "predicts").length,
    hints: claims.filter((claim) => claim === "hint").length,
    planted: driver === null || own === null ? null : {
      estimate: own,
      lower: limits[wanted.indexOf(driver)].lower,
      upper: limits[wanted.indexOf(driver)].upper,
      claim: claims[driver],
      first: cells.every((_, j) => j === driver || size(j) < size(driver)),
    },
  };
}

/** A share with its score interval. */
function rate(hits: readonly boolean[], confidence: number, method: string): Estimate {
  const n = hits.length;
  if (n === 0) return noEstimate("nothing was simulated", { confidence, method, n });
  const share = hits.filter(Boolean).length / n;
  const z = normalQuantile((1 + confidence) / 2);
  const centre = (share + z * z / (2 * n)) / (1 + z * z / n);
  const half = z / (1 + z * z / n) * Math.sqrt(share * (1 - share) / n + z * z / (4 * n * n));
  return {
    estimate: share,
    estimate_reason: null,
    lower: Math.max(0, centre - half),
    upper: Math.min(1, centre + half),
    confidence,
    method,
    n,
    warnings: [],
  };
}

function auditSentence(
  { shoes, metrics }: { readonly shoes: number; readonly metrics: number },
  falsePredicts: Estimate,
  power: readonly PredictionPower[],
): string {
  const percent = ({ estimate, lower, upper }: Estimate) =>
    estimate === null
      ? "unknown"
      : `${Math.round(100 * estimate)}% (${Math.round(100 * lower!)} to ${
        Math.round(100 * upper!)
      }%)`;
  return `On simulated benches with these ${shoes} shoes, ${metrics} metrics and their gaps, an impression that nothing drives gets a false prediction in ${
    percent(falsePredicts)
  } of cases; a true correlation of ${
    power.map(({ rho, found }) => `${rho} is found in ${percent(found)}`).join(", of ")
  }.`;
}
