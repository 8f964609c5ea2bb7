import { quantileSorted } from "simple-statistics";
import * as option from "../../options.ts";
import { isInstrument, ruleInForce } from "../../records/selection.ts";
import type { Bench, IndexRule } from "../../records/types.ts";
import { randomStream } from "../../statistics/random_stream.ts";
import type { Reason } from "../../statistics/reason.ts";
import { rankIntervals } from "../../statistics/rank_intervals.ts";
import { onePairWarnings } from "../comparison/answer_parts.ts";
import type { BoundedOn } from "../shoes/bounded_readings.ts";
import { boundedShoes } from "../shoes/published_visits.ts";
import { applyRule, type RuleScore, termScales } from "./apply_rule.ts";
import { lastDay, type RuleValues, ruleValues } from "./rule_values.ts";
import { shoeName } from "../shoes/shoe_name.ts";
import type { TrialReliability } from "../repeatability/trial_reliability.ts";
import { DEFAULT_SEED } from "../../statistics/default_seeds.ts";

/** One shoe under a rule. */
export type ShoeScore = RuleScore & {
  readonly name: string;
  readonly lower: number | null;
  readonly upper: number | null;
  /** Why there is no interval. */
  readonly interval_reason: Reason | null;
  /** An instrument of the bench: it has a score and no rank. */
  readonly reference: boolean;
  /** 1 is the best; equal scores share a rank. */
  readonly rank: number | null;
  /** Simultaneous over all shoes with a score. */
  readonly rank_lower: number | null;
  readonly rank_upper: number | null;
  /** 1: shoes that could be the first; 2: those that could be if band 1 were taken away; and so on. */
  readonly band: number | null;
};

/** The index table under one rule. */
export type IndexScores = {
  /** Null when no rule is in force. */
  readonly rule: Pick<IndexRule, "id" | "version" | "title" | "effective"> | null;
  readonly rule_reason: Reason | null;
  readonly confidence: number;
  readonly method: string;
  /** Best first, then shoes without a score, then reference shoes. */
  readonly shoes: readonly ShoeScore[];
  readonly bands: number;
  /** Whether scores and places are of the models, or, without a second pair of any on a term, of the pairs benched. */
  readonly about: "pairs" | "models";
  readonly about_reason: Reason | null;
  /** Terms of products that ran off the end of a metric's scale: known by a bound, and missing in their scores. */
  readonly bounded: readonly (BoundedOn & { readonly metric: string })[];
  readonly warnings: readonly Reason[];
};

/** Which rule, on whose noise, and how it is simulated. */
export type IndexScoresOptions = {
  /** The rule in force at the bench's last session unless given. */
  readonly rule?: IndexRule | null;
  /** Where the noise of each metric comes from. */
  readonly reliability: Pick<TrialReliability, "metrics">;
  readonly confidence?: number;
  readonly draws?: number;
  readonly seed?: number;
  /**
   * Where the rule's weights were fitted to a panel: one list of weights a draw, as other samples of
   * shoes and ratings would have given them, so that the limits carry the panel's noise too.
   */
  readonly weightDraws?: readonly (readonly number[])[];
};

/** The table, and which of its scored shoes are shown to be better than which. */
export type DrawnIndexScores = {
  readonly scores: IndexScores;
  /** Shoes with a score, in the order of `apart`. */
  readonly scored: readonly string[];
  /** apart[i][j]: i is shown to be better than j. */
  readonly apart: readonly (readonly boolean[])[];
};

/**
 * What does every shoe score under a rule, how sure is that, and which shoes can't be told apart?
 *
 * The scores are `applyRule`'s. Their uncertainty is what trials, visits and operators leave in each
 * metric's value: every value is drawn again with its standard error, scaled by the rule as it stands
 * (the catalogue's mean and spread, where a term is scaled by them, are held), and scored. Limits are
 * percentiles of these draws; ranks have simultaneous intervals from all pairwise differences. A shoe
 * that lacks a term is drawn on the terms it has: what is missing adds no width, which is why such
 * scores are marked. A shoe whose noise is unknown could have any place. Reference shoes have a score and no
 * rank, unless the bench ranks them. Noise of different metrics is drawn independently. A fixed rule asks nothing of the
 * panel, so the panel's noise comes in by `weightDraws` alone.
 *
 * @param bench as of the date in question, see `benchUntil`
 * @returns best first; without a rule an empty table and the reason
 * @see Mogstad, Romano, Shaikh & Wilhelm 2024 for the rank intervals
 */
export function indexScores(bench: Bench, options: IndexScoresOptions): IndexScores {
  return drawnIndexScores(bench, options).scores;
}

/** As `indexScores`, with what else the draws show; for studies that compare tables. */
export function drawnIndexScores(
  bench: Bench,
  {
    rule: given,
    reliability,
    confidence = bench.settings.confidence,
    draws = 2000,
    seed = DEFAULT_SEED,
    weightDraws,
  }: IndexScoresOptions,
): DrawnIndexScores {
  option.check("studies.drawnIndexScores", arguments[1], {
    rule: option.orNull(option.thing),
    reliability: option.needed(option.thing),
    confidence: option.share,
    draws: option.whole(0),
    seed: option.seed,
    weightDraws: option.thing,
  });
  const today = lastDay(bench) ?? "9999-12-31";
  const rule = given === undefined ? ruleInForce(bench, today) : given;
  if (rule === null) return { scores: withoutRule(confidence), scored: [], apart: [] };

  const known = ruleValues(bench, rule.terms.map(({ metric }) => metric), reliability);
  const { table } = known;
  const rows = applyRule(bench, rule, table);
  const scorable = rows.filter((row) => row.score !== null);
  const noisy = drawScores(scorable, rule, { known, bench, draws, seed, weightDraws });
  const reasons = new Map(scorable.map((row, index) => [row.shoe_id, noisy.reasons[index]]));
  const drawn = new Map(scorable.map((row, index) => [row.shoe_id, noisy.draws[index]]));
  const products = scorable.filter(({ shoe_id }) => !isInstrument(bench, shoe_id));
  const ranks = rankProducts(products, { drawn, reasons, draws, confidence, seed });
  const position = new Map(products.map((row, index) => [row.shoe_id, index]));
  const names = new Map(bench.shoes.map((shoe) => [shoe.shoe_id, shoeName(shoe)]));
  const bands = bandNumbers(products, ranks.apart);

  const shoes = rows.map((row): ShoeScore => {
    const index = position.get(row.shoe_id);
    const place = index === undefined ? null : ranks.places[index];
    const reason = reasons.get(row.shoe_id);
    const sorted = reason === null ? drawn.get(row.shoe_id)!.toSorted() : null;
    const tail = (1 - confidence) / 2;
    return {
      ...row,
      name: names.get(row.shoe_id)!,
      reference: isInstrument(bench, row.shoe_id),
      lower: sorted === null ? null : quantileSorted([...sorted], tail),
      upper: sorted === null ? null : quantileSorted([...sorted], 1 - tail),
      interval_reason: reason === undefined ? { code: "no-score" } : reason,
      rank: place?.rank ?? null,
      rank_lower: place?.lower ?? null,
      rank_upper: place?.upper ?? null,
      band: index === undefined ? null : bands[index],
    };
  }).toSorted((a, b) =>
    Number(a.reference) - Number(b.reference) ||
    (b.score ?? -Infinity) - (a.score ?? -Infinity) || (a.shoe_id < b.shoe_id ? -1 : 1)
  );
  const noise = `trial, visit and operator noise${
    weightDraws === undefined ? "" : " and of weights"
  }`;
  const scores = {
    rule: { id: rule.id, version: rule.version, title: rule.title, effective: rule.effective },
    rule_reason: null,
    confidence,
    method: `percentiles of ${draws} draws from ${noise}; ranks ${ranks.method}`,
    shoes,
    bands: Math.max(0, ...bands),
    ...aboutRule(rule, reliability),
    bounded: boundedTerms(bench, rule),
    warnings: ranks.warnings,
  };
  return { scores, scored: products.map(({ shoe_id }) => shoe_id), apart: ranks.apart };
}

/** What scores under a rule are said of. */
function aboutRule(
  { terms }: IndexRule,
  reliability: Pick<TrialReliability, "metrics">,
): Pick<IndexScores, "about" | "about_reason"> {
  const [reason] = onePairWarnings(reliability, terms.map(({ metric }) => metric));
  return { about: reason === undefined ? "models" : "pairs", about_reason: reason ?? null };
}

/** Products that a rule lacks a term of, since only a bound of it is known. */
function boundedTerms(bench: Bench, { terms }: IndexRule): IndexScores["bounded"] {
  const shoes = new Map(bench.shoes.map((shoe) => [shoe.shoe_id, shoe]));
  return terms.flatMap(({ metric }) => {
    const entry = bench.metrics.find(({ id }) => id === metric);
    if (entry === undefined) return [];
    return boundedShoes(bench, metric).filter(({ shoe_id }) => !isInstrument(bench, shoe_id)).map((
      { shoe_id },
    ) => ({ shoe_id, name: shoeName(shoes.get(shoe_id)!), metric, title: entry.title }));
  });
}

type ProductRanks = {
  readonly places: readonly {
    readonly rank: number;
    readonly lower: number | null;
    readonly upper: number | null;
  }[];
  readonly apart: readonly (readonly boolean[])[];
  readonly method: string;
  readonly warnings: readonly Reason[];
};

/** Places of the products; one whose noise is unknown could have any place, and so widens those of the others. */
function rankProducts(
  products: readonly RuleScore[],
  { drawn, reasons, draws, confidence, seed }: {
    readonly drawn: ReadonlyMap<string, Float64Array>;
    readonly reasons: ReadonlyMap<string, Reason | null>;
    readonly draws: number;
    readonly confidence: number;
    readonly seed: number;
  },
): ProductRanks {
  const told = products.filter(({ shoe_id }) => reasons.get(shoe_id) === null);
  const found = told.length === 0 ? null : rankIntervals(
    {
      estimates: told.map((row) => row.score!),
      draws: byDraw(told.map(({ shoe_id }) => drawn.get(shoe_id)!), draws),
    },
    { confidence, seed },
  );
  const place = new Map(told.map((row, index) => [row, index]));
  const unknown = products.length - told.length;
  return {
    places: products.map((row) => {
      const index = place.get(row);
      const own = index === undefined ? null : found!.intervals[index];
      return {
        rank: 1 + products.filter((other) => other.score! > row.score!).length,
        lower: own?.lower ?? null,
        upper: own === null ? null : own.upper + unknown,
      };
    }),
    apart: products.map((one) =>
      products.map((other) => {
        const [i, j] = [place.get(one), place.get(other)];
        return i !== undefined && j !== undefined && found!.apart[i][j];
      })
    ),
    method: found?.method ?? "not computed",
    warnings: found?.warnings ?? [],
  };
}

function withoutRule(confidence: number): IndexScores {
  const reason = { code: "no-rule" };
  return {
    rule: null,
    rule_reason: reason,
    confidence,
    method: "none",
    shoes: [],
    bands: 0,
    about: "models",
    about_reason: null,
    bounded: [],
    warnings: [],
  };
}

type NoisyScores = {
  /** One list of drawn scores a shoe. */
  readonly draws: readonly Float64Array[];
  /** Why a shoe's noise is unknown. */
  readonly reasons: readonly (Reason | null)[];
};

function drawScores(
  scorable: readonly RuleScore[],
  rule: IndexRule,
  { known: { values, table }, bench, draws, seed, weightDraws }: {
    readonly known: RuleValues;
    readonly bench: Bench;
    readonly draws: number;
    readonly seed: number;
    readonly weightDraws?: readonly (readonly number[])[];
  },
): NoisyScores {
  const scales = termScales(bench.metrics, rule, table);
  const shoeIndex = new Map(bench.shoes.map((shoe, index) => [shoe.shoe_id, index]));
  const metricIndex = new Map(bench.metrics.map((metric, index) => [metric.id, index]));
  const weights = rule.terms.map(({ weight }) => weight);
  const reasons: (Reason | null)[] = [];
  const drawn = scorable.map((row) => {
    const scores = new Float64Array(draws).fill(row.score!);
    const unknown: string[] = [];
    // With terms missing, those present carry the rule's whole weight, whatever weights are drawn.
    const present = row.terms.map(({ scaled }) => scaled !== null);
    const factors = weightDraws?.map((drawn) => sharedOut(drawn, present));
    row.terms.forEach((term, position) => {
      if (term.scaled === null) return;
      const error = values.get(term.metric)!.get(row.shoe_id)!.standard_error;
      if (error === null) {
        unknown.push(term.metric);
        return;
      }
      // A stream of its own for every shoe and metric: another shoe in the table moves no draw of this
      // one, and two rules see the same noise.
      const noise = randomStream(seed, shoeIndex.get(row.shoe_id)!, metricIndex.get(term.metric)!)
        .fillNormal(new Float64Array(draws));
      for (let draw = 0; draw < draws; draw++) {
        const again = scales[position](term.value! + error * noise[draw])!;
        const weight = factors === undefined
          ? term.weight
          : weightDraws![draw % weightDraws!.length][position] * factors[draw % factors.length];
        scores[draw] += rule.multiplier * (weight * again - term.weight * term.scaled);
      }
    });
    reasons.push(
      unknown.length === 0 ? null : { code: "noise-of-terms-unknown", metrics: unknown },
    );
    return scores;
  });
  return { draws: drawn, reasons };

  function sharedOut(drawn: readonly number[], present: readonly boolean[]): number {
    if (rule.missing === "withhold") return 1;
    const sum = (list: readonly number[]) =>
      list.reduce((total, weight, term) => total + (present[term] ? weight : 0), 0);
    const whole = weights.reduce((total, weight) => total + weight, 0);
    return sum(drawn) > 0 ? whole / sum(drawn) : 0;
  }
}

function byDraw(draws: readonly Float64Array[], count: number): Float64Array[] {
  return Array.from(
    { length: count },
    (_, draw) => Float64Array.from(draws, (ofShoe) => ofShoe[draw]),
  );
}

/** Band 1 holds every shoe that could be the first, band 2 those that could be if band 1 were taken away. */
function bandNumbers(
  products: readonly RuleScore[],
  apart: readonly (readonly boolean[])[],
): number[] {
  const bands = new Array<number>(products.length).fill(0);
  let left = products.map((_, index) => index);
  for (let band = 1; left.length > 0; band++) {
    const first = left.filter((index) => !left.some((other) => apart[other][index]));
    for (const index of first) bands[index] = band;
    left = left.filter((index) => bands[index] === 0);
  }
  return bands;
}
