import { widened, widenedLimits } from "../../statistics/correlation_inflation.ts";
import { detectableEffect } from "../../statistics/detectable_effect.ts";
import { disattenuate } from "../../statistics/disattenuate.ts";
import { normalQuantile } from "../../statistics/distributions.ts";
import { type Estimate, noEstimate } from "../../statistics/estimate.ts";
import { partialRankCorrelationGrid } from "../../statistics/partial_rank_correlation_grid.ts";
import { productMoment } from "../../statistics/pearson.ts";
import { randomStream } from "../../statistics/random_stream.ts";
import {
  type RankCorrelationCell,
  rankCorrelationGrid,
} from "../../statistics/rank_correlation_grid.ts";
import { rankCorrelationDraws } from "../../statistics/rank_correlation_draws.ts";
import { ranks } from "../../statistics/ranks.ts";
import type { Reason } from "../../statistics/reason.ts";
import { onlyBetween, partialGiven, restsOn } from "./claim_support.ts";
import type { GoesWith, OnlyBetween } from "./types.ts";
import type { PredictionPair } from "./types.ts";
import type { PredictionTable } from "./prediction_table.ts";
import { type JudgedCell, judgedGrid } from "./judged_grid.ts";
import { CLAIM_ALPHA, predictionClaim } from "./prediction_claim.ts";
import {
  countAt,
  kinInflation,
  type WhiteColumn,
  withinCourts,
  withoutKin,
} from "../shoes/shoe_kin.ts";
import { POWER, settleRange } from "./settle_range.ts";

type PairOptions = {
  readonly confidence: number;
  readonly resamples: number;
  readonly permutations: number;
  readonly seed: number;
  /** The level that a pair's p over the grid must stay below; 5% without it. */
  readonly levelOf?: (metric: string, attribute: string) => number;
  /** Which reliabilities were asked for at all. */
  readonly given: { readonly reliability: boolean; readonly panel: boolean };
};

type Column = readonly (number | null)[];

/** Intervals that stand beside the main one need no finer resampling. */
const MOST_SIDE_RESAMPLES = 2000;

/** What is worked out once for the whole grid. */
type Grid = {
  readonly cells: readonly (readonly RankCorrelationCell[])[];
  readonly judged: readonly (readonly JudgedCell[])[];
  readonly white: {
    readonly metrics: readonly WhiteColumn[];
    readonly attributes: readonly WhiteColumn[];
  };
  readonly draws: readonly (readonly (Float64Array | null)[])[] | null;
  readonly partial: readonly (readonly Estimate[])[] | null;
  readonly mass: string | null;
};

/**
 * What does every metric say of every attribute, and what may be claimed of it?
 *
 * @returns pairs metric by metric, attributes within a metric
 */
export function predictionPairs(table: PredictionTable, options: PairOptions): PredictionPair[] {
  const grid = correlatedGrid(table, options);
  const side = Math.min(options.resamples, MOST_SIDE_RESAMPLES);
  const known = new Map<Estimate, Float64Array>();
  const drawsOf = (name: string, reliability: Estimate) => {
    const drawn = known.get(reliability) ?? drawReliability(name, reliability, side, options.seed);
    known.set(reliability, drawn);
    return drawn;
  };
  const pairs = table.metrics.flatMap((_, j) =>
    table.attributes.map((_, t) => pairOf(table, grid, { j, t, drawsOf }, options))
  );
  return supported(pairs, table, grid, options);
}

/** Every column within courts, the same without kin, and what the grid as a whole leaves of each cell. */
export function judgedTable(
  { metrics, attributes, kin }: PredictionTable,
  { permutations, seed, levelOf = () => CLAIM_ALPHA }: Pick<
    PairOptions,
    "permutations" | "seed" | "levelOf"
  >,
): Pick<Grid, "white" | "judged"> & {
  readonly columns: readonly Column[];
  readonly targets: readonly Column[];
} {
  const columns = metrics.map(({ ranked }) => withinCourts(ranked, kin));
  const targets = attributes.map(({ values }) => withinCourts(values, kin));
  const white = {
    metrics: columns.map((values) => withoutKin(values, kin)),
    attributes: targets.map((values) => withoutKin(values, kin)),
  };
  const place = new Map(metrics.map(({ metric }, j) => [metric.id, j]));
  const judged = judgedGrid(
    metrics.map(({ derived_from }, j) => ({
      values: white.metrics[j].values,
      source: derived_from === null ? null : place.get(derived_from) ?? null,
    })),
    white.attributes.map(({ values }) => values),
    {
      permutations,
      lost: kin.courts - 1,
      alpha: metrics.map(({ metric }) =>
        attributes.map(({ attribute }) => levelOf(metric.id, attribute.id))
      ),
      seed,
    },
  );
  return { columns, targets, white, judged };
}

function correlatedGrid(table: PredictionTable, options: PairOptions): Grid {
  const { metrics } = table;
  const { confidence, resamples, seed } = options;
  const { columns, targets, white, judged } = judgedTable(table, options);
  const side = Math.min(resamples, MOST_SIDE_RESAMPLES);
  const mass = metrics.findIndex(({ metric, derived_from }) =>
    metric.group === "mass" && derived_from === null
  );
  return {
    cells: rankCorrelationGrid(columns, targets, { confidence, resamples, permutations: 0, seed })
      .cells,
    judged,
    white,
    draws: metrics.some(({ reliability }) => reliability !== null) && side > 0
      ? rankCorrelationDraws(columns, targets, { resamples: side, seed })
      : null,
    partial: mass < 0 || side === 0 ? null : partialRankCorrelationGrid(
      columns,
      targets,
      columns[mass],
      { confidence, resamples: side, seed },
    ),
    mass: mass < 0 ? null : metrics[mass].metric.id,
  };
}

function pairOf(
  table: PredictionTable,
  grid: Grid,
  { j, t, drawsOf }: {
    readonly j: number;
    readonly t: number;
    readonly drawsOf: (name: string, reliability: Estimate) => Float64Array;
  },
  { confidence, permutations, given, levelOf = () => CLAIM_ALPHA }: PairOptions,
): PredictionPair {
  const { metric, derived_from, ranked, reliability } = table.metrics[j];
  const target = table.attributes[t];
  const { attribute } = target;
  const rows = table.shoes.map((_, row) => row)
    .filter((row) => ranked[row] !== null && target.values[row] !== null);
  const judged = grid.judged[j][t];
  const [x, y] = [grid.white.metrics[j], grid.white.attributes[t]];
  const inflation = kinInflation(rows, table.kin, x, y);
  const cell = widenedCell(grid.cells[j][t], inflation);
  const ceiling = noiseCeiling(reliability, target.reliability, given);
  const draws = grid.draws?.[j][t] ?? null;
  const disattenuated = disattenuatedOf(cell, {
    metric: reliability,
    panel: target.reliability,
    ceiling,
    draws: draws === null || cell.estimate === null
      ? null
      : draws.map((draw) => widened(cell.estimate!, draw, inflation)),
    metricDraws: () => drawsOf(`metric ${metric.id}`, reliability!),
    panelDraws: () => drawsOf(`attribute ${attribute.id}`, target.reliability!),
    confidence,
  });
  const influence = influenceOf(cell, rows, table);
  const spearman = spearmanOf(cell, metric.title, attribute.title, {
    courts: table.kin.courts,
    inflation,
    permutations: judged.p === null ? 0 : permutations,
  });
  const level = levelOf(metric.id, attribute.id);
  const independent = Math.max(0, Math.floor(1 + (cell.n - 1) / inflation));
  const detectable = detectableEffect(independent, {
    power: POWER,
    alpha: level / Math.max(1, judged.family),
  });
  const lines = countAt(table.kin.lines, rows);
  return {
    metric: metric.id,
    metric_title: metric.title,
    unit: metric.unit,
    attribute: attribute.id,
    attribute_title: attribute.title,
    derived_from,
    derived_from_title: table.metrics.find((one) => one.metric.id === derived_from)?.metric.title ??
      null,
    spearman,
    ...pValues(judged, spearman, permutations),
    ...ceiling,
    disattenuated,
    partial_given_mass: partialOf(grid.partial?.[j][t] ?? null, {
      isMass: metric.id === grid.mass,
      hasMass: grid.mass !== null,
      confidence,
      n: cell.n,
      inflation,
    }),
    influence,
    kin: kinOf(table, rows, { x, y, inflation, correlation: judged.correlation }),
    detectable,
    detectable_reason: detectable === null
      ? { code: "too-few", of: "pairs", needed: 4, found: cell.n }
      : null,
    settle: settleRange({ rho: cell.estimate, lower: cell.lower, upper: cell.upper }, {
      family: judged.family,
      level,
      confidence,
      inflation,
      lines_per_shoe: rows.length === 0 ? 1 : lines / rows.length,
    }),
    n: cell.n,
    level,
    claim: predictionClaim({
      rho: cell.estimate,
      lower: cell.lower,
      upper: cell.upper,
      p_familywise: judged.p_grid,
      level,
      q: judged.q,
      lowest: influence.lowest,
      highest: influence.highest,
    }),
    rests_on: null,
    goes_with: null,
    unknowing: null,
    only_between: null,
    out_of_sample: null,
    points: pointsOf(table, rows, { j, t }),
  };
}

/** How alike the shoes of a pair are for reasons of their own. */
function kinOf(
  { kin }: PredictionTable,
  rows: readonly number[],
  { x, y, inflation, correlation }: {
    readonly x: WhiteColumn;
    readonly y: WhiteColumn;
    readonly inflation: number;
    readonly correlation: number | null;
  },
): PredictionPair["kin"] {
  return {
    lines: countAt(kin.lines, rows),
    makers: countAt(kin.makers, rows),
    courts: countAt(kin.strata, rows),
    metric: { maker: x.maker, line: x.line },
    panel: { maker: y.maker, line: y.line },
    inflation,
    correlation,
  };
}

function pValues(
  { p, p_grid, q, family }: JudgedCell,
  { estimate_reason }: Estimate,
  permutations: number,
): Pick<
  PredictionPair,
  "p" | "p_reason" | "p_familywise" | "p_familywise_reason" | "family" | "q" | "q_reason"
> {
  const why = estimate_reason ??
    (permutations === 0 ? { code: "not-asked-for", what: "permutations" } : null);
  return {
    p,
    p_reason: p === null ? why : null,
    p_familywise: p_grid,
    p_familywise_reason: p_grid === null ? why : null,
    family,
    q,
    q_reason: q === null ? why : null,
  };
}

function pointsOf(
  { shoes, kin, metrics, attributes }: PredictionTable,
  rows: readonly number[],
  { j, t }: { readonly j: number; readonly t: number },
): PredictionPair["points"] {
  const panelOf = new Map(attributes[t].panel.shoes.map((shoe) => [shoe.shoe_id, shoe]));
  return rows.map((row) => {
    const { shoe_id, name } = shoes[row];
    const opinion = panelOf.get(shoe_id)!;
    const bound = metrics[j].bounds[row];
    return {
      shoe_id,
      name,
      maker: kin.makers[row],
      line: kin.lines[row],
      // Where the picture has it; `bound` says that no value is known.
      metric_value: metrics[j].values[row] ?? ("below" in bound! ? bound.below : bound!.above),
      ...(bound === null ? {} : { bound }),
      panel_value: opinion.value,
      panel_low: opinion.low,
      panel_high: opinion.high,
    };
  });
}

/** What each claim rests on, and where what is not claimed lies. */
function supported(
  pairs: readonly PredictionPair[],
  table: PredictionTable,
  grid: Grid,
  options: PairOptions,
): PredictionPair[] {
  const lost = table.kin.courts - 1;
  const at = (pair: PredictionPair) => ({
    j: table.metrics.findIndex(({ metric }) => metric.id === pair.metric),
    t: table.attributes.findIndex(({ attribute }) => attribute.id === pair.attribute),
  });
  const whiteOf = (pair: PredictionPair) => {
    const { j, t } = at(pair);
    return {
      x: grid.white.metrics[j].values,
      y: grid.white.attributes[t].values,
      cell: grid.judged[j][t],
    };
  };
  const goesWith = indirectClaims(pairs, whiteOf, lost);
  return pairs.map((pair) => {
    const { j, t } = at(pair);
    const { x, y, cell } = whiteOf(pair);
    if (pair.claim !== "predicts") {
      return { ...pair, only_between: betweenOf(pair, { j, t }, table, grid) };
    }
    return {
      ...pair,
      rests_on: restsOn(x, y, {
        kin: table.kin,
        shoe_ids: table.shoes.map(({ shoe_id }) => shoe_id),
        reach: cell.critical ?? 0,
        lost,
      }),
      goes_with: goesWith.get(pair) ?? null,
      unknowing: unknowingOf(pair, { j, t }, table, options),
    };
  });
}

/**
 * Claimed metrics that say nothing once a stronger claimed one of the same impression is known.
 *
 * What is left of each is held against the level of its claim: what is new at a bench looked at before has
 * to be as sure here as there.
 */
function indirectClaims(
  pairs: readonly PredictionPair[],
  whiteOf: (pair: PredictionPair) => {
    readonly x: readonly (number | null)[];
    readonly y: readonly (number | null)[];
    readonly cell: JudgedCell;
  },
  lost: number,
): Map<PredictionPair, GoesWith> {
  const found = new Map<PredictionPair, GoesWith>();
  const claimed = pairs.filter((pair) => pair.claim === "predicts" && pair.derived_from === null);
  for (const own of Map.groupBy(claimed, ({ attribute }) => attribute).values()) {
    const direct: PredictionPair[] = [];
    const size = (pair: PredictionPair) => Math.abs(whiteOf(pair).cell.z ?? 0);
    for (const pair of own.toSorted((a, b) => size(b) - size(a))) {
      const { x, y } = whiteOf(pair);
      const indirect = direct.map((stronger) => ({
        stronger,
        left: partialGiven(x, y, whiteOf(stronger).x, lost),
      })).find(({ left }) => left !== null && left.p >= pair.level);
      if (indirect === undefined) direct.push(pair);
      else {
        found.set(pair, {
          metric: indirect.stronger.metric,
          metric_title: indirect.stronger.metric_title,
          ...indirect.left!,
        });
      }
    }
  }
  return found;
}

function betweenOf(
  pair: PredictionPair,
  { j, t }: { readonly j: number; readonly t: number },
  { metrics, attributes, kin }: PredictionTable,
  grid: Grid,
): OnlyBetween | null {
  if (pair.spearman.estimate === null) return null;
  const [x, y] = [metrics[j].ranked, attributes[t].values];
  const rows = x.flatMap((value, row) => value !== null && y[row] !== null ? [row] : []);
  const over = (left: readonly (number | null)[], right: readonly (number | null)[]) =>
    productMoment(
      ranks(rows.map((row) => left[row]!)),
      ranks(rows.map((row) => right[row]!)),
    );
  const inMakers = (values: readonly (number | null)[]) =>
    withinCourts(values, {
      ...kin,
      strata: kin.makers.map((maker, row) => JSON.stringify([maker, kin.strata[row]])),
      courts: kin.courts + kin.makers.length,
    });
  return onlyBetween({
    as_shoes: over(x, y),
    within_courts: grid.cells[j][t].estimate,
    within_makers: over(inMakers(x), inMakers(y)),
  }, { rows, kin, family: pair.family });
}

/** The same correlation on ratings that a bench figure can't have moved; null where that is all of them. */
function unknowingOf(
  pair: PredictionPair,
  { j, t }: { readonly j: number; readonly t: number },
  { metrics, attributes, kin }: PredictionTable,
  { confidence, resamples, seed }: PairOptions,
): PredictionPair["unknowing"] {
  const { unknowing } = attributes[t];
  if (unknowing.ratings === unknowing.of) return null;
  const [[cell]] = rankCorrelationGrid(
    [withinCourts(metrics[j].ranked, kin)],
    [withinCourts(unknowing.values, kin)],
    {
      confidence,
      resamples: Math.min(resamples, MOST_SIDE_RESAMPLES),
      permutations: 0,
      leaveOneOut: false,
      seed,
    },
  ).cells;
  const spearman = spearmanOf(
    widenedCell(cell, pair.kin.inflation),
    pair.metric_title,
    pair.attribute_title,
    { courts: kin.courts, inflation: pair.kin.inflation, permutations: 0 },
  );
  const sign = Math.sign(pair.spearman.estimate!);
  const near = sign > 0 ? spearman.lower : spearman.upper;
  return {
    ratings: unknowing.ratings,
    of: unknowing.of,
    spearman,
    borne_out: near !== null && sign * near > 0,
  };
}

/** The cell with limits as far apart as likeness and courts demand. */
export function widenedCell(cell: RankCorrelationCell, inflation: number): RankCorrelationCell {
  const { estimate, lower, upper } = cell;
  if (estimate === null || lower === null || upper === null) return cell;
  return { ...cell, ...widenedLimits({ estimate, lower, upper }, inflation) };
}

/** The cell without what only the grid needs, its reason in terms of shoes. */
function spearmanOf(
  cell: RankCorrelationCell,
  metric: string,
  attribute: string,
  { courts, inflation, permutations }: {
    readonly courts: number;
    readonly inflation: number;
    readonly permutations: number;
  },
): Estimate {
  const { estimate, lower, upper, confidence, n, warnings } = cell;
  const method = [
    courts > 1 ? `${cell.method}, within ${courts} courts` : cell.method,
    ...(inflation > 1 && lower !== null
      ? [`limits ${Math.sqrt(inflation).toFixed(2)} times as wide for likeness of kin and courts`]
      : []),
    ...(permutations > 0
      ? [
        `p of normal scores without likeness of kin, ${
          n <= 8 ? "all" : permutations
        } orders of the shoes`,
      ]
      : []),
  ].join("; ");
  return {
    estimate,
    estimate_reason: estimate === null ? reasonInShoes(cell, metric, attribute) : null,
    lower,
    upper,
    confidence,
    method,
    n,
    warnings,
  };
}

function reasonInShoes(cell: RankCorrelationCell, metric: string, attribute: string): Reason {
  if (cell.n < 3) {
    return { code: "too-few-with-both", found: cell.n, needed: 3, metric, attribute };
  }
  const reason = cell.estimate_reason;
  const which = reason?.code === "constant" ? reason.which : "both";
  return { code: "constant-pair", which, shoes: cell.n, metric, attribute };
}

function noiseCeiling(
  metric: Estimate | null,
  panel: Estimate | null,
  given: PairOptions["given"],
): Pick<PredictionPair, "ceiling" | "ceiling_reason"> {
  if (metric === null || metric.estimate === null || panel === null || panel.estimate === null) {
    return {
      ceiling: null,
      ceiling_reason: {
        code: "no-ceiling",
        metric: whyUnknown(metric, given.reliability),
        panel: whyUnknown(panel, given.panel),
      },
    };
  }
  const product = Math.max(0, metric.estimate) * Math.max(0, panel.estimate);
  return { ceiling: Math.min(1, Math.sqrt(product)), ceiling_reason: null };
}

function whyUnknown(
  reliability: Estimate | null,
  given: boolean,
): "known" | "not given" | "unknown" {
  if (!given) return "not given";
  return reliability === null || reliability.estimate === null ? "unknown" : "known";
}

function disattenuatedOf(
  cell: RankCorrelationCell,
  { metric, panel, ceiling, draws, metricDraws, panelDraws, confidence }: {
    readonly metric: Estimate | null;
    readonly panel: Estimate | null;
    readonly ceiling: Pick<PredictionPair, "ceiling" | "ceiling_reason">;
    readonly draws: Float64Array | null;
    readonly metricDraws: () => Float64Array;
    readonly panelDraws: () => Float64Array;
    readonly confidence: number;
  },
): Estimate {
  if (metric === null || panel === null || ceiling.ceiling === null || ceiling.ceiling === 0) {
    return noEstimate(ceiling.ceiling_reason ?? { code: "not-positive", which: "reliability" }, {
      confidence,
      method: "Spearman's correction for attenuation",
      n: cell.n,
    });
  }
  const { raw: _, ceiling: __, ...estimate } = disattenuate(
    {
      raw: cell.estimate,
      reliabilityX: Math.min(1, metric.estimate!),
      reliabilityY: Math.min(1, panel.estimate!),
      n: cell.n,
      ...(draws === null || cell.n < 5
        ? {}
        : { draws: { raw: draws, reliabilityX: metricDraws(), reliabilityY: panelDraws() } }),
    },
    { confidence },
  );
  return estimate;
}

/**
 * Reliabilities that might have been found as well: log(1 − reliability) taken as normal, with the spread
 * of the reliability's own interval. Without an interval the value stands fixed.
 */
function drawReliability(
  name: string,
  { estimate, lower, upper, confidence }: Estimate,
  draws: number,
  seed: number,
): Float64Array {
  const centre = Math.log(Math.max(1e-9, 1 - estimate!));
  const reach = normalQuantile((1 + confidence) / 2);
  const side = (limit: number | null) =>
    limit === null || limit >= 1 ? null : Math.abs(Math.log(1 - limit) - centre) / reach;
  const sides = [side(lower), side(upper)].filter((spread) => spread !== null);
  const spread = sides.length === 0 ? 0 : sides.reduce((a, b) => a + b) / sides.length;
  // A stream of its own for each name, so that its draws don't depend on what else is asked for.
  const stream = randomStream(seed, 41, ...[...name].map((letter) => letter.codePointAt(0)!));
  return Float64Array.from(
    { length: draws },
    () => 1 - Math.exp(centre + spread * stream.normal()),
  );
}

function influenceOf(
  cell: RankCorrelationCell,
  rows: readonly number[],
  { shoes }: PredictionTable,
): PredictionPair["influence"] {
  const without = rows.map((row) => cell.leave_one_out[row]);
  const none = { lowest: null, highest: null, shoe_id: null, without_it: null };
  if (cell.estimate === null) {
    return { ...none, reason: { code: "unknown-correlation" }, without_each: without };
  }
  const known = without.filter((rho) => rho !== null);
  if (known.length === 0) {
    return {
      ...none,
      reason: { code: "none-to-spare", shoes: rows.length },
      without_each: without,
    };
  }
  let most = -1;
  without.forEach((rho, i) => {
    if (rho === null) return;
    const moved = Math.abs(rho - cell.estimate!);
    if (most < 0 || moved > Math.abs(without[most]! - cell.estimate!)) most = i;
  });
  return {
    lowest: Math.min(...known),
    highest: Math.max(...known),
    shoe_id: shoes[rows[most]].shoe_id,
    without_it: without[most],
    reason: null,
    without_each: without,
  };
}

function partialOf(
  estimate: Estimate | null,
  { isMass, hasMass, confidence, n, inflation }: {
    readonly isMass: boolean;
    readonly hasMass: boolean;
    readonly confidence: number;
    readonly n: number;
    readonly inflation: number;
  },
): Estimate {
  const about = { confidence, method: "partial Spearman's rho given mass", n };
  if (isMass) return noEstimate({ code: "mass-itself" }, about);
  if (!hasMass) return noEstimate({ code: "no-mass" }, about);
  if (estimate === null) return noEstimate({ code: "not-asked-for", what: "resamples" }, about);
  const { estimate: rho, lower, upper } = estimate;
  if (rho === null || lower === null || upper === null) return estimate;
  return { ...estimate, ...widenedLimits({ estimate: rho, lower, upper }, inflation) };
}
