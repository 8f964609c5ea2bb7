import { adjustP } from "../../statistics/adjust_p.ts";
import { detectableEffect, rowsToDetect } from "../../statistics/detectable_effect.ts";
import { disattenuate } from "../../statistics/disattenuate.ts";
import { normalQuantile } from "../../statistics/distributions.ts";
import { type Estimate, noEstimate } from "../../statistics/estimate.ts";
import { partialRankCorrelationGrid } from "../../statistics/partial_rank_correlation_grid.ts";
import { randomStream } from "../../statistics/random_stream.ts";
import {
  type RankCorrelationCell,
  rankCorrelationGrid,
} from "../../statistics/rank_correlation_grid.ts";
import { rankCorrelationDraws } from "../../statistics/rank_correlation_draws.ts";
import type { ReasonOrWords } from "../../statistics/reason.ts";
import { rowsToRuleOut } from "../../statistics/rows_to_rule_out.ts";
import type { PredictionPair, PredictionTable } from "./court_prediction.ts";
import { CLAIM_ALPHA, predictionClaim, SMALL_RHO } from "./prediction_claim.ts";
import { pairSentence } from "../../words/prediction/prediction_sentences.ts";
import { sayReason } from "../../words/reasons.ts";

export type PairOptions = {
  readonly confidence: number;
  readonly resamples: number;
  readonly permutations: number;
  readonly seed: number;
  /** Which reliabilities were asked for at all. */
  readonly given: { readonly reliability: boolean; readonly panel: boolean };
};

/** Chance of success that sample sizes are asked for. */
const POWER = 0.8;
/** Intervals that stand beside the main one need no finer resampling. */
const MOST_SIDE_RESAMPLES = 2000;

/**
 * What does every metric say of every attribute, and what may be claimed of it?
 *
 * @returns pairs metric by metric, attributes within a metric
 */
export function predictionPairs(table: PredictionTable, options: PairOptions): PredictionPair[] {
  const { confidence, resamples, permutations, seed } = options;
  const { metrics, attributes } = table;
  const targets = attributes.map(({ values }) => values);
  const judged = judgedCells(table, options);
  const side = Math.min(resamples, MOST_SIDE_RESAMPLES);
  const draws = metrics.some(({ reliability }) => reliability !== null) && side > 0
    ? rankCorrelationDraws(metrics.map(({ values }) => values), targets, { resamples: side, seed })
    : null;
  const mass = metrics.find(({ metric, derived_from }) =>
    metric.group === "mass" && derived_from === null
  );
  const partial = mass === undefined || side === 0 ? null : partialRankCorrelationGrid(
    metrics.map(({ values }) => values),
    targets,
    mass.values,
    { confidence, resamples: side, seed },
  );
  const reliabilityDraws = new Map<Estimate, Float64Array>();
  const drawsOf = (name: string, reliability: Estimate) => {
    const known = reliabilityDraws.get(reliability) ??
      drawReliability(name, reliability, side, seed);
    reliabilityDraws.set(reliability, known);
    return known;
  };

  return metrics.flatMap(({ metric, derived_from, values, reliability }, j) =>
    attributes.map((target, t): PredictionPair => {
      const { cell, p_familywise, q, family } = judged[j][t];
      const { attribute } = target;
      const ceiling = noiseCeiling(reliability, target.reliability, options.given);
      const known = reliability !== null && target.reliability !== null;
      const disattenuated = known && ceiling.ceiling !== null && ceiling.ceiling > 0
        ? disattenuatedOf(cell, {
          metric: reliability,
          panel: target.reliability,
          draws: draws?.[j][t] ?? null,
          metricDraws: () => drawsOf(`metric ${metric.id}`, reliability),
          panelDraws: () => drawsOf(`attribute ${attribute.id}`, target.reliability!),
          confidence,
        })
        : noEstimate(ceiling.ceiling_reason ?? "a reliability is not above 0", {
          confidence,
          method: "Spearman's correction for attenuation",
          n: cell.n,
        });
      const rows = table.shoes.map((_, row) => row)
        .filter((row) => values[row] !== null && target.values[row] !== null);
      const influence = influenceOf(cell, rows, table);
      const spearman = spearmanOf(cell, metric.title, attribute.title);
      const evidence = {
        rho: cell.estimate,
        lower: cell.lower,
        upper: cell.upper,
        p: cell.p,
        p_familywise,
        lowest: influence.lowest,
        highest: influence.highest,
      };
      const detectable = detectableEffect(cell.n, { power: POWER, alpha: CLAIM_ALPHA });
      const panelOf = new Map(target.panel.shoes.map((shoe) => [shoe.shoe_id, shoe]));
      const noP = spearman.estimate_reason ??
        (permutations === 0 ? "no permutations were asked for" : null);
      const about: Omit<PredictionPair, "sentence"> = {
        metric: metric.id,
        metric_title: metric.title,
        unit: metric.unit,
        attribute: attribute.id,
        attribute_title: attribute.title,
        derived_from,
        spearman,
        p: cell.p,
        p_reason: cell.p === null ? noP : null,
        p_familywise,
        p_familywise_reason: p_familywise === null ? noP : null,
        family,
        q,
        q_reason: q === null ? noP : null,
        ...ceiling,
        disattenuated,
        partial_given_mass: partialOf(partial?.[j][t] ?? null, {
          isMass: metric.id === mass?.metric.id,
          hasMass: mass !== undefined,
          confidence,
          n: cell.n,
        }),
        influence,
        detectable,
        detectable_reason: detectable === null
          ? `${cell.n} shoes have both; four are needed`
          : null,
        settle: settleOf(cell.estimate, family, confidence, spearman.estimate_reason),
        n: cell.n,
        claim: predictionClaim(evidence),
        points: rows.map((row) => {
          const shoe = table.shoes[row];
          const opinion = panelOf.get(shoe.shoe_id)!;
          return {
            ...shoe,
            metric_value: values[row]!,
            panel_value: opinion.value,
            panel_low: opinion.low,
            panel_high: opinion.high,
          };
        }),
      };
      const source = metrics.find((row) => row.metric.id === derived_from)?.metric.title ?? null;
      return { ...about, sentence: pairSentence(about, source) };
    })
  );
}

type JudgedCell = {
  readonly cell: RankCorrelationCell;
  readonly p_familywise: number | null;
  readonly q: number | null;
  readonly family: number;
};

/**
 * All correlations, with p adjusted over metrics that stand for themselves.
 *
 * A derived metric is judged in the place of its source: in a second round the sources step aside for
 * the first metric derived from each, in a third for the second, and so on.
 */
function judgedCells(
  { metrics, attributes }: PredictionTable,
  { confidence, resamples, permutations, seed }: PairOptions,
): JudgedCell[][] {
  const targets = attributes.map(({ values }) => values);
  const judged = new Array<JudgedCell[]>(metrics.length);
  const own = metrics.map((_, j) => j).filter((j) => metrics[j].derived_from === null);
  const waiting = metrics.map((_, j) => j).filter((j) => metrics[j].derived_from !== null);
  for (let family = own; family.length > 0;) {
    const first = family === own;
    const columns = family.map((j) => metrics[j].values);
    const wanted = family.map((_, place) => place)
      .filter((place) => judged[family[place]] === undefined);
    const grid = rankCorrelationGrid(columns, targets, {
      confidence,
      permutations,
      seed,
      ...(first ? { resamples } : { interval: "none" as const }),
    });
    // A cell's own figures do not depend on its company, so later rounds draw limits for the new ones only.
    const full = first
      ? null
      : rankCorrelationGrid(wanted.map((place) => columns[place]), targets, {
        confidence,
        resamples,
        permutations,
        seed,
      });
    const q = adjustedOverGrid(grid.cells);
    const tried = targets.map((_, t) =>
      grid.cells.filter((row) => row[t].estimate !== null).length
    );
    wanted.forEach((place, index) => {
      judged[family[place]] = targets.map((_, t) => ({
        cell: full === null ? grid.cells[place][t] : {
          ...full.cells[index][t],
          p: grid.cells[place][t].p,
          p_method: grid.cells[place][t].p_method,
        },
        p_familywise: grid.cells[place][t].p_familywise,
        q: q[place][t],
        family: tried[t],
      }));
    });
    const taken = new Set<string>();
    const next = waiting.filter((j) => {
      const source = metrics[j].derived_from!;
      if (judged[j] !== undefined || taken.has(source)) return false;
      taken.add(source);
      return true;
    });
    family = next.length === 0
      ? []
      : [...own.filter((j) => !taken.has(metrics[j].metric.id)), ...next];
  }
  return judged;
}

function adjustedOverGrid(
  cells: readonly (readonly RankCorrelationCell[])[],
): (number | null)[][] {
  const flat = cells.flat();
  const known = flat.flatMap(({ p }) => p === null ? [] : [p]);
  const adjusted = adjustP(known, "benjamini-hochberg");
  let next = 0;
  return cells.map((row) => row.map(({ p }) => p === null ? null : adjusted[next++]));
}

/** The cell without what only the grid needs, its reason in terms of shoes. */
function spearmanOf(cell: RankCorrelationCell, metric: string, attribute: string): Estimate {
  const { estimate, lower, upper, confidence, method, n, warnings } = cell;
  return {
    estimate,
    estimate_reason: estimate === null ? reasonInShoes(cell, metric, attribute) : null,
    lower,
    upper,
    confidence,
    method: cell.p_method === null ? method : `${method}; p ${cell.p_method}`,
    n,
    warnings: warnings.map((warning) => warning.replace(" rows;", " shoes;")),
  };
}

function reasonInShoes(cell: RankCorrelationCell, metric: string, attribute: string): string {
  if (cell.n === 0) return `no shoe has both ${metric} and ${attribute}`;
  if (cell.n < 3) {
    return `only ${cell.n} ${cell.n === 1 ? "shoe has" : "shoes have"} both; three are needed`;
  }
  const reason = cell.estimate_reason;
  const constant = typeof reason === "object" ? reason?.which : null;
  return constant === "both"
    ? `all ${cell.n} shoes read the same on ${metric} and rate the same on ${attribute}`
    : constant === "x"
    ? `all ${cell.n} shoes read the same on ${metric}`
    : `all ${cell.n} shoes rate the same on ${attribute}`;
}

function noiseCeiling(
  metric: Estimate | null,
  panel: Estimate | null,
  given: PairOptions["given"],
): Pick<PredictionPair, "ceiling" | "ceiling_reason"> {
  const unknown = [
    ...(metric === null || metric.estimate === null
      ? [whyUnknown("the metric", metric, given.reliability)]
      : []),
    ...(panel === null || panel.estimate === null
      ? [whyUnknown("the panel", panel, given.panel)]
      : []),
  ];
  if (unknown.length > 0) return { ceiling: null, ceiling_reason: unknown.join("; ") };
  const product = Math.max(0, metric!.estimate!) * Math.max(0, panel!.estimate!);
  return { ceiling: Math.min(1, Math.sqrt(product)), ceiling_reason: null };
}

function whyUnknown(side: string, reliability: Estimate | null, given: boolean): string {
  if (!given) return `the reliability of ${side} was not given`;
  return `the reliability of ${side} is unknown${
    reliability?.estimate_reason ? ` (${sayReason(reliability.estimate_reason)})` : ""
  }`;
}

function disattenuatedOf(
  cell: RankCorrelationCell,
  { metric, panel, draws, metricDraws, panelDraws, confidence }: {
    readonly metric: Estimate;
    readonly panel: Estimate;
    readonly draws: Float64Array | null;
    readonly metricDraws: () => Float64Array;
    readonly panelDraws: () => Float64Array;
    readonly confidence: number;
  },
): Estimate {
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
    return { ...none, reason: "there is no rank correlation", without_each: without };
  }
  const known = without.filter((rho) => rho !== null);
  if (known.length === 0) {
    return { ...none, reason: `${rows.length} shoes leave none to spare`, without_each: without };
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
  { isMass, hasMass, confidence, n }: {
    readonly isMass: boolean;
    readonly hasMass: boolean;
    readonly confidence: number;
    readonly n: number;
  },
): Estimate {
  const about = { confidence, method: "partial Spearman's rho given mass", n };
  if (isMass) return noEstimate("this is mass itself", about);
  if (!hasMass) return noEstimate("mass is not among the metrics", about);
  if (estimate === null) return noEstimate("no resamples were asked for", about);
  return estimate;
}

function settleOf(
  rho: number | null,
  family: number,
  confidence: number,
  reason: ReasonOrWords | null,
): PredictionPair["settle"] {
  if (rho === null) return { find: null, rule_out: null, shoes: null, reason };
  const find = rho === 0
    ? null
    : rowsToDetect(rho, { power: POWER, alpha: CLAIM_ALPHA / Math.max(1, family) });
  const ruleOut = rowsToRuleOut(rho, { within: SMALL_RHO, power: POWER, confidence });
  const shoes = find === null ? ruleOut : ruleOut === null ? find : Math.min(find, ruleOut);
  return {
    find,
    rule_out: ruleOut,
    shoes,
    reason: shoes === null ? "no number of shoes would settle it" : null,
  };
}
