import { EigenvalueDecomposition, Matrix } from "ml-matrix";
import { sampleVariance } from "simple-statistics";
import * as option from "../../options.ts";
import type { Bench, Impression } from "../../records/types.ts";
import { completePairs } from "../../statistics/complete_pairs.ts";
import { normalQuantile } from "../../statistics/distributions.ts";
import { type Estimate, noEstimate } from "../../statistics/estimate.ts";
import { productMoment } from "../../statistics/pearson.ts";
import type { Reason } from "../../statistics/reason.ts";
import { type RandomStream, randomStream } from "../../statistics/random_stream.ts";
import { rankCorrelationGrid } from "../../statistics/rank_correlation_grid.ts";
import { ranks } from "../../statistics/ranks.ts";
import type { PredictionReliability } from "../prediction/types.ts";
import { derivedMetrics } from "../shoes/derived_metrics.ts";
import { panelValues } from "../panel/panel_values.ts";
import { widenedLimits } from "../../statistics/correlation_inflation.ts";
import { type JudgedCell, judgedGrid } from "../prediction/judged_grid.ts";
import { CLAIM_ALPHA, predictionClaim } from "../prediction/prediction_claim.ts";
import {
  courtShare,
  kinInflation,
  type ShoeKin,
  shoeKin,
  withinCourts,
  withoutKin,
} from "../shoes/shoe_kin.ts";
import { shoeValues } from "../shoes/shoe_values.ts";
import { askedAttributeIds, askedMetricIds } from "../shoes/asked_shoes.ts";
import { DEFAULT_SEED } from "../../statistics/default_seeds.ts";

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
  /** Courts that differ on the simulated benches as they do here; 1 where shoes aren't told apart by court. */
  readonly courts: number;
  readonly simulations: { readonly nothing_true: number; readonly per_rho: number };
  /** Share of simulated reviews, with nothing true, in which any metric is called a predictor of anything. */
  readonly false_predicts: Estimate;
  /** Mean number of hints in such a review. */
  readonly false_hints: number | null;
  readonly power: readonly PredictionPower[];
  readonly seed: number;
  readonly confidence: number;
  readonly warnings: readonly Reason[];
};

/** What `predictionAudit` takes besides the bench; every option has a default. */
export type PredictionAuditOptions = {
  /** Where the noise of each metric's mean comes from; without it metrics count as free of noise. */
  readonly reliability?: PredictionReliability | null;
  readonly metrics?: readonly string[];
  readonly attributes?: readonly string[];
  /**
   * Simulated benches with nothing true; unless given 60, beyond 100 shoes fewer, at least 40. Limits of a
   * share count benches: 60 tell a sound study (5% false) from a broken one (20%), and neither 60 nor 100
   * tell 5% from 8%, for which the yardstick of DEVELOPERS.md draws hundreds.
   */
  readonly simulations?: number;
  /** Simulated benches for each true correlation; unless given 24, beyond 100 shoes fewer, at least 16. */
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
 * Simulates reviews of the lab's own design. Metric values are drawn anew, with the correlations that the
 * lab's metrics have among each other, with its gaps, and as alike within courts, lines and makers as its own are;
 * so are the true standings of every impression, one of which either has nothing to do with the metrics
 * or goes with one of them (each in turn). Then the lab's testers rate the shoes they rated, with the
 * leniencies, the residuals and the rating steps found. Panel values, what is taken out for kin, the p over
 * the whole grid, the interval, the left-out shoes and the claim are those of the study itself, with fewer
 * resamples. What is counted is simulated benches, each looked at for the first time; what comes of looking
 * again every quarter is in `claimHistory`. It can't see a wrong model: likeness that goes by something
 * else than line, maker and court.
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
    simulations = asManyAs(60, bench.shoes.length, 40),
    powerSimulations = asManyAs(24, bench.shoes.length, 16),
    rhos = [0.3, 0.5, 0.7],
    resamples = 500,
    permutations = 399,
    confidence = bench.settings.confidence,
    seed = DEFAULT_SEED,
  }: PredictionAuditOptions = {},
): PredictionAudit {
  option.check("studies.predictionAudit", arguments[1], {
    reliability: option.orNull(option.thing),
    metrics: option.listOf(option.text),
    attributes: option.listOf(option.text),
    simulations: option.whole(0),
    powerSimulations: option.whole(0),
    rhos: option.listOf(option.number),
    resamples: option.resamples,
    permutations: option.whole(0),
    confidence: option.share,
    seed: option.seed,
  });
  const design = simulationDesign(bench, {
    reliability,
    metricIds: askedMetricIds(bench, metricIds),
    attributeIds: askedAttributeIds(bench, attributeIds),
  });
  const { shoes, columns, reliabilities } = design;
  const testers = new Set(
    design.designs.flatMap((design) => design.rows.map((rating) => rating.tester)),
  );
  const method =
    `simulated benches of this bench's design, ${permutations} permutations and ${resamples} resamples each; score interval of a share`;
  const about = {
    shoes: shoes.length,
    metrics: columns.length,
    testers: testers.size,
    courts: kinOfShoes(bench, shoes).courts,
    simulations: { nothing_true: simulations, per_rho: powerSimulations },
    seed,
    confidence,
  };
  const reason = unsimulated(design);
  if (reason !== null) {
    const none = noEstimate(reason, { confidence, method, n: 0 });
    const left = { found: none, ranked_first: none, seen_as: null, coverage: none };
    return {
      ...about,
      false_predicts: none,
      false_hints: null,
      power: rhos.map((rho) => ({ rho, ...left })),
      warnings: [],
    };
  }

  const simulate = reviewsLike(bench, design, { confidence, resamples, permutations });
  const nothing = Array.from(
    { length: simulations },
    (_, index) => simulate(randomStream(seed, 51, index), index, 0),
  );
  const falsePredicts = rate(nothing.map(({ predicts }) => predicts > 0), confidence, method);
  const power = rhos.map((rho, k) =>
    powerOf(
      rho,
      Array.from({ length: powerSimulations }, (_, index) => {
        const { planted } = simulate(randomStream(seed, 52, k, index), index, rho);
        // What a metric's own noise leaves of a correlation.
        const left = Math.sqrt(reliabilities[index % columns.length]);
        return planted === null ? null : { ...planted, left };
      }).filter((planted) => planted !== null),
      (hits) => rate(hits, confidence, method),
    )
  );
  return {
    ...about,
    false_predicts: falsePredicts,
    false_hints: simulations === 0
      ? null
      : nothing.reduce((sum, { hints }) => sum + hints, 0) / simulations,
    power,
    warnings: reliabilities.every((known) => known === 1) ? [{ code: "no-reliability-given" }] : [],
  };
}

/**
 * Draws reviews of this design: the index says which metric drives which impression, rho how much.
 * What one review finds is judged at once.
 */
function reviewsLike(
  bench: Bench,
  { designs, shoes, row, columns, reliabilities }: SimulationDesign,
  { confidence, resamples, permutations }: {
    readonly confidence: number;
    readonly resamples: number;
    readonly permutations: number;
  },
): (stream: RandomStream, index: number, rho: number) => Judged {
  const kin = kinOfShoes(bench, shoes);
  const likeness = columns.map((values) => likenessOf(values, kin));
  const drawMetrics = likeThese(columns, likeness, kin);
  // Impressions hang together as the panel's own do, and with no metric.
  const drawStandings = likeThese(
    designs.map(({ values }) => shoes.map((shoe) => values.get(shoe) ?? null)),
    designs.map((design) => design.likeness),
    kin,
  );
  return (stream, index, rho) => {
    const driver = index % columns.length;
    const driven = index % designs.length;
    const table = drawMetrics(stream);
    const standings = drawStandings(stream);
    const targets = designs.map((design, d) => {
      const own = standings[d];
      const truth = d === driven && rho !== 0
        ? drivenStanding(table[driver], reliabilities[driver], { rho, own }, stream)
        : own;
      return rateAgain(bench, design, truth, row, stream);
    });
    return judge(
      table.map((values, j) => values.map((value, i) => columns[j][i] === null ? null : value)),
      targets,
      {
        planted: rho === 0 ? null : { j: driver, t: driven },
        kin,
        confidence,
        resamples,
        permutations,
        seed: stream.integer(4294967296),
      },
    );
  };
}

function kinOfShoes(bench: Pick<Bench, "shoes">, shoes: readonly string[]): ShoeKin {
  const byId = new Map(bench.shoes.map((shoe) => [shoe.shoe_id, shoe]));
  return shoeKin(shoes.map((id) => byId.get(id)!), shoes.map(() => true));
}

type SimulationDesign = {
  /** Testers who gave any rating. */
  readonly raters: number;
  readonly designs: readonly RatingDesign[];
  /** Rated shoes, and the row of each. */
  readonly shoes: readonly string[];
  readonly row: ReadonlyMap<string, number>;
  /** Metrics that differ between them, a column each, and what of each is no noise. */
  readonly columns: readonly (readonly (number | null)[])[];
  readonly reliabilities: readonly number[];
};

/** Who rated what, and what was benched on it. */
function simulationDesign(
  bench: Bench,
  { reliability, metricIds, attributeIds }: {
    readonly reliability: PredictionReliability | null;
    readonly metricIds: readonly string[] | undefined;
    readonly attributeIds: readonly string[] | undefined;
  },
): SimulationDesign {
  const chosen = bench.metrics.filter(({ id }) => metricIds?.includes(id) ?? true);
  const derived = derivedMetrics(chosen);
  const own = chosen.filter(({ id }) => !derived.has(id));
  const designs = bench.settings.attributes
    .filter(({ id }) => attributeIds?.includes(id) ?? true)
    .map(({ id }) => ratingDesign(bench, id))
    .filter((design) => design !== null);
  const known = new Set(bench.shoes.map(({ shoe_id }) => shoe_id));
  const shoes = [...new Set(designs.flatMap((design) => design.shoes))]
    .filter((shoe) => known.has(shoe)).sort();
  const row = new Map(shoes.map((shoe, index) => [shoe, index]));
  const used = usableMetrics(bench, own.map(({ id }) => id), row);
  return {
    raters: new Set(
      bench.impressions.filter(({ rating }) => rating !== null).map(({ tester }) => tester),
    ).size,
    designs,
    shoes,
    row,
    columns: used.map(({ values }) => values),
    reliabilities: used.map(({ id }) => {
      const known = reliability?.metrics.find((entry) => entry.metric === id)?.icc_mean.estimate;
      return known === undefined || known === null ? 1 : Math.min(1, Math.max(0, known));
    }),
  };
}

/** Why a design holds nothing to simulate; null where it does. */
function unsimulated({ designs, shoes, columns, raters }: SimulationDesign): Reason | null {
  // Without ratings to design by no shoe counts as rated, so no metric could vary: they are the cause.
  if (designs.length === 0) {
    return raters === 0
      ? { code: "no-rating-yet" }
      : raters === 1
      ? { code: "one-tester" }
      : { code: "no-attribute-split" };
  }
  if (columns.length === 0) return { code: "no-metric-varies" };
  return shoes.length < 4 ? { code: "too-few", of: "rows", needed: 4, found: shoes.length } : null;
}

/** What became of the planted correlation on all benches of one size of truth. */
function powerOf(
  rho: number,
  found: readonly (NonNullable<Judged["planted"]> & { readonly left: number })[],
  share: (hits: readonly boolean[]) => Estimate,
): PredictionPower {
  const sum = (values: readonly number[]) => values.reduce((a, b) => a + b, 0);
  const seen = sum(found.map(({ estimate }) => estimate));
  const perLeft = seen / sum(found.map(({ left }) => left));
  return {
    rho,
    found: share(found.map(({ claim }) => claim === "predicts")),
    ranked_first: share(found.map(({ first }) => first)),
    seen_as: found.length === 0 ? null : seen / found.length,
    coverage: share(
      found.filter(({ lower }) => lower !== null)
        .map(({ lower, upper, left }) => lower! <= left * perLeft && left * perLeft <= upper!),
    ),
  };
}

/** Each takes as long as it has shoes, and what a large bench shows it shows clearly. */
function asManyAs(most: number, shoes: number, least: number): number {
  return Math.max(least, Math.round(most * Math.min(1, 100 / Math.max(1, shoes))));
}

/** Metrics with three different values on the rated shoes, in the shoes' order. */
function usableMetrics(bench: Bench, ids: readonly string[], row: ReadonlyMap<string, number>) {
  return ids.flatMap((id) => {
    const values = new Array<number | null>(row.size).fill(null);
    for (const { shoe_id, value } of shoeValues(bench, id, null)) {
      const at = row.get(shoe_id);
      if (at !== undefined) values[at] = value;
    }
    return distinct(values) > 2 ? [{ id, values }] : [];
  });
}

function distinct(values: readonly (number | null)[]): number {
  return new Set(values.filter((value) => value !== null)).size;
}

/** Who rated which shoe on one attribute, and how the ratings scatter. */
type RatingDesign = {
  readonly attribute: string;
  readonly rows: readonly Impression[];
  readonly shoes: readonly string[];
  /** The panel's value of each. */
  readonly values: ReadonlyMap<string, number>;
  readonly shift: ReadonlyMap<string, number>;
  readonly centre: number;
  readonly shoe_sd: number;
  /** What ratings lie off their shoe's value, scaled up to the scatter of a single rating. */
  readonly residuals: readonly number[];
  /** How alike the standings are. */
  readonly likeness: Likeness;
};

/** Shares of the variance between courts, and of what is left of it between makers and between lines. */
type Likeness = { readonly court: number; readonly maker: number; readonly line: number };

function ratingDesign(bench: Bench, attribute: string): RatingDesign | null {
  const panel = panelValues(bench, attribute);
  if (panel.rating_sd === null || panel.shoes.length < 3) return null;
  const values = panel.shoes.map(({ value }) => value);
  const noise = panel.shoes.reduce((sum, shoe) => sum + shoe.standard_error! ** 2, 0) /
    panel.shoes.length;
  const rows = bench.impressions.filter((row) =>
    row.attribute === attribute && row.rating !== null
  );
  const shift = new Map(panel.leniency.map(({ tester, shift }) => [tester, shift]));
  const valueOf = new Map(panel.shoes.map(({ shoe_id, value }) => [shoe_id, value]));
  const off = rows.map((row) => row.rating! - shift.get(row.tester)! - valueOf.get(row.shoe_id)!);
  const spread = Math.sqrt(off.reduce((sum, value) => sum + value * value, 0) / off.length);
  const total = sampleVariance(values);
  // A tenth of the observed spread stands in where noise alone explains it.
  const shoe = Math.max(total - noise, 0.1 * total);
  const kinOf = kinOfPanel(bench, panel.shoes);
  const upTo = (share: number) => Math.min(1, total === 0 ? 0 : share * total / shoe);
  const [court, maker, line] = [upTo(kinOf.court), upTo(kinOf.maker), upTo(kinOf.line)];
  // Likeness may fill the standings, but something must differ within a line.
  const fit = Math.min(1, 0.98 / Math.max(0.98, maker + line));
  return {
    attribute,
    rows,
    shoes: panel.shoes.map(({ shoe_id }) => shoe_id),
    values: valueOf,
    shift,
    centre: values.reduce((a, b) => a + b) / values.length,
    shoe_sd: Math.sqrt(shoe),
    residuals: spread === 0 ? [0] : off.map((value) => value / spread * panel.rating_sd!),
    likeness: { court: Math.min(0.98, court), maker: maker * fit, line: line * fit },
  };
}

function kinOfPanel(
  bench: Bench,
  rated: readonly { readonly shoe_id: string; readonly value: number }[],
): Likeness {
  const valueOf = new Map(rated.map(({ shoe_id, value }) => [shoe_id, value]));
  const values = bench.shoes.map(({ shoe_id }) => valueOf.get(shoe_id) ?? null);
  const kin = shoeKin(bench.shoes, values.map((value) => value !== null));
  return likenessOf(values, kin);
}

function likenessOf(values: Column, kin: ShoeKin): Likeness {
  const { maker, line } = withoutKin(withinCourts(values, kin), kin);
  return { court: courtShare(values, kin), maker, line };
}

/**
 * Standard normal columns with the rank correlations that these have among each other, as alike within
 * courts, makers and lines as they are.
 */
function likeThese(
  columns: readonly (readonly (number | null)[])[],
  likeness: readonly Likeness[],
  { groups, strata, courts }: ShoeKin,
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
  const axes = new Float64Array(size);
  const together = (stream: RandomStream) => {
    stream.fillNormal(axes);
    return factor.map((row) => row.reduce((sum, weight, k) => sum + weight * axes[k], 0));
  };
  const names = [...new Set(strata)];
  const court = strata.map((name) => names.indexOf(name));
  return (stream) => {
    const fields = courts === 1 ? null : names.map(() => together(stream));
    const makers = groups.outer.map(() => together(stream));
    const lines = groups.inner.map(() => together(stream));
    const alone = Array.from({ length: shoes }, () => together(stream));
    return likeness.map((alike, j) =>
      alone.map((own, shoe) =>
        mixed(alike, {
          court: fields === null ? 0 : fields[court[shoe]][j],
          maker: makers[groups.outer[shoe]][j],
          line: lines[groups.inner[shoe]][j],
          own: own[j],
        })
      )
    );
  };
}

function mixed(
  { court, maker, line }: Likeness,
  of: Readonly<Record<"court" | "maker" | "line" | "own", number>>,
): number {
  const within = Math.sqrt(maker) * of.maker + Math.sqrt(line) * of.line +
    Math.sqrt(Math.max(0, 1 - maker - line)) * of.own;
  return Math.sqrt(court) * of.court + Math.sqrt(1 - court) * within;
}

/** Standings that go by rho with the metric behind these readings, the rest as `own` has it. */
function drivenStanding(
  readings: readonly number[],
  reliability: number,
  { rho, own }: { readonly rho: number; readonly own: readonly number[] },
  stream: RandomStream,
): number[] {
  const rest = Math.sqrt(1 - rho * rho);
  return readings.map((reading, shoe) => {
    // The metric's own true standing, given a reading that holds noise.
    const metric = Math.sqrt(reliability) * reading + Math.sqrt(1 - reliability) * stream.normal();
    return rho * metric + rest * own[shoe];
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
  const impressions = design.rows.filter(({ shoe_id }) => row.has(shoe_id)).map((given) => {
    const felt = design.centre + design.shift.get(given.tester)! +
      design.shoe_sd * truth[row.get(given.shoe_id)!] +
      design.residuals[stream.integer(design.residuals.length)];
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
  /** Pairs so claimed where nothing is planted. */
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

type Column = readonly (number | null)[];

/** The study's own rule, on all pairs or on the planted one, with intervals where something rests on them. */
function judge(
  metrics: readonly Column[],
  attributes: readonly Column[],
  { planted, kin, confidence, resamples, permutations, seed }: {
    readonly planted: { readonly j: number; readonly t: number } | null;
    readonly kin: ShoeKin;
    readonly confidence: number;
    readonly resamples: number;
    readonly permutations: number;
    readonly seed: number;
  },
): Judged {
  const columns = metrics.map((values) => withinCourts(values, kin));
  const targets = attributes.map((values) => withinCourts(values, kin));
  const x = columns.map((values) => withoutKin(values, kin));
  const y = targets.map((values) => withoutKin(values, kin));
  const judged = judgedGrid(
    x.map(({ values }) => ({ values, source: null })),
    y.map(({ values }) => values),
    { permutations, lost: kin.courts - 1, alpha: CLAIM_ALPHA, seed },
  );
  const limitsOf = (j: number, t: number) => {
    const [[cell]] = rankCorrelationGrid([columns[j]], [targets[t]], {
      confidence,
      resamples,
      permutations: 0,
      seed,
    }).cells;
    const { estimate, lower, upper } = cell;
    if (estimate === null || lower === null || upper === null) return cell;
    const rows = columns[j].flatMap((value, row) =>
      value !== null && targets[t][row] !== null ? [row] : []
    );
    const inflation = kinInflation(rows, kin, x[j], y[t]);
    return { ...cell, ...widenedLimits({ estimate, lower, upper }, inflation) };
  };
  const counts = { predicts: 0, hints: 0 };
  let found: Judged["planted"] = null;
  judged.forEach((cells, j) =>
    cells.forEach((cell, t) => {
      const own = planted !== null && planted.j === j && planted.t === t;
      // Where something is true, what is said of the rest is asked by nobody.
      if (planted !== null && !own) return;
      const strong = (cell.p_grid ?? 1) < CLAIM_ALPHA;
      const limits = strong || own ? limitsOf(j, t) : null;
      const left = limits?.leave_one_out.filter((rho) => rho !== null) ?? [];
      const claim = predictionClaim({
        rho: limits === null ? cell.correlation : limits.estimate,
        lower: limits?.lower ?? null,
        upper: limits?.upper ?? null,
        p_familywise: cell.p_grid,
        q: cell.q,
        lowest: left.length === 0 ? null : Math.min(...left),
        highest: left.length === 0 ? null : Math.max(...left),
      });
      if (claim === "predicts") counts.predicts++;
      if (claim === "hint") counts.hints++;
      if (!own || limits === null || limits.estimate === null) return;
      const size = (of: JudgedCell) => Math.abs(of.z ?? 0);
      found = {
        estimate: limits.estimate,
        lower: limits.lower,
        upper: limits.upper,
        claim,
        first: judged.every((others, other) => other === j || size(others[t]) < size(cell)),
      };
    })
  );
  return { ...counts, planted: found };
}

/** A share with its score interval. */
function rate(hits: readonly boolean[], confidence: number, method: string): Estimate {
  const n = hits.length;
  if (n === 0) return noEstimate({ code: "not-simulated" }, { confidence, method, n });
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
