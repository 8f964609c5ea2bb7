import { benchUntil, quarterEnd, quarterOf } from "../../records/quarters.ts";
import type { Bench } from "../../records/types.ts";
import {
  type ClaimMade,
  type ClaimOptions,
  claimsMade,
  claimsOf,
  evidenceOf,
} from "./claims_made.ts";
import { CLAIM_ALPHA, predictionClaim } from "./prediction_claim.ts";
import { type PredictionTable, predictionTable } from "./prediction_table.ts";
import type { PredictionClaim } from "./types.ts";

/** Claims by metric and attribute, see `pairName`. */
export type NamedClaims = ReadonlyMap<string, ClaimMade>;

/** What one quarter's table alone would claim at a first review, and how that was worked out. */
export type QuarterLook = {
  readonly quarter: string;
  readonly table: PredictionTable;
  readonly made: readonly ClaimMade[];
  readonly options: ClaimOptions;
};

/** How a review looks at a bench unless it is told otherwise. */
export const usualLook = { earlierReviews: 8, resamples: 10000, permutations: 10000 };

/** One review as today's files give it. */
export type ReviewLookedAt = {
  readonly quarter: string;
  readonly table: PredictionTable;
  readonly claims: NamedClaims;
};

/** The reviews before this one, and what they leave to this one. */
export type ClaimHistory = {
  readonly quarter: string;
  /** Which review this is, counting every quarter that brought ratings. */
  readonly review: number;
  /** Oldest first. */
  readonly earlier: readonly ReviewLookedAt[];
  /** What these were read from, each quarter on its own. */
  readonly looks: readonly QuarterLook[];
  /** The level of what is new at this review. */
  readonly level: number;
  /** The level that a pair's p over the grid must stay below. */
  readonly levelOf: (metric: string, attribute: string) => number;
};

/** A pair's name in maps. */
export function pairName(metric: string, attribute: string): string {
  return JSON.stringify([metric, attribute]);
}

/**
 * How strong must a pair be at this review, given that earlier ones have looked already?
 *
 * Whoever looks at a growing bench every quarter gives chance several goes. The first review claims at 5%,
 * the k-th at 5%/k what is new; what the last one claimed stays while it is below 5%. Over eight reviews
 * of a bench that grows from 24 to 80 shoes and where nothing is true 9% of readers see a false claim, where
 * it was 21% at 5% each time (600 benches). Nothing is remembered: earlier reviews are worked out again
 * from today's files, at most `most` of them, spread over the bench's life; with `most` 0 this counts as
 * the first.
 *
 * @param table of this review
 * @param options.looked quarters of this bench that were worked out before: used where they were worked
 *   out over the same columns with the same options
 * @see Lan & DeMets 1983, Biometrika 70:659, on spending a level over looks
 */
export function claimHistory(
  bench: Bench,
  table: PredictionTable,
  { most, looked = [], ...options }: ClaimOptions & {
    readonly most: number;
    readonly looked?: readonly QuarterLook[];
  },
): ClaimHistory {
  const days = [...bench.sessions, ...bench.impressions].map(({ date }) => date).sort();
  const quarter = quarterOf(days.at(-1) ?? "1970-01-01");
  const rated = bench.impressions.filter(({ rating }) => rating !== null);
  const quarters = most === 0 ? [] : [...new Set(rated.map(({ date }) => quarterOf(date)))].sort()
    .filter((own) => own < quarter && shoesBy(rated, own) >= FEWEST_SHOES);
  const looks = spreadOver(quarters, most).map((own) =>
    looked.find((look) => isSameLook(look, own, table, options)) ??
      lookAt(bench, own, table, options)
  );
  const earlier: ReviewLookedAt[] = [];
  for (const { quarter: own, table: then, made } of looks) {
    const review = quarters.indexOf(own) + 1;
    const claims = made.map((claim) =>
      [
        pairName(then.metrics[claim.j].metric.id, then.attributes[claim.t].attribute.id),
        claim,
      ] as const
    ).filter(([name, { p }]) => p < levelOf(name, earlier.at(-1), review));
    earlier.push({ quarter: own, table: then, claims: new Map(claims) });
  }
  const review = quarters.length + 1;
  return {
    quarter,
    review,
    earlier,
    looks,
    level: CLAIM_ALPHA / review,
    levelOf: (metric, attribute) => levelOf(pairName(metric, attribute), earlier.at(-1), review),
  };
}

/** What a review says of its pairs, and what it had to look at for that. */
export type ClaimsThen = {
  readonly pairs: readonly {
    readonly metric: string;
    readonly attribute: string;
    readonly claim: PredictionClaim;
    readonly spearman: { readonly estimate: number | null };
    readonly n: number;
  }[];
  /** Oldest first, this review's own quarter the last. */
  readonly looked: readonly QuarterLook[];
};

/**
 * What did a review claim of its pairs?
 *
 * The words of `courtPrediction` at its defaults, without ceilings, models and all else that stands
 * beside them; and the quarters it looked at, which a later review need not work out again.
 */
export function claimsThen(bench: Bench, { seed }: { readonly seed: number }): ClaimsThen {
  const { earlierReviews: most, resamples, permutations } = usualLook;
  const options = { confidence: bench.settings.confidence, resamples, permutations, seed };
  const table = predictionTable(bench, { reliability: null, panel: null });
  const { quarter, looks, levelOf } = claimHistory(bench, table, { most, ...options });
  const evidence = evidenceOf(table, options, "all pairs");
  return {
    pairs: evidence.map((pair) => {
      const metric = table.metrics[pair.j].metric.id;
      const attribute = table.attributes[pair.t].attribute.id;
      const claim = predictionClaim({ ...pair, level: levelOf(metric, attribute) });
      return { metric, attribute, claim, spearman: { estimate: pair.rho }, n: pair.shoes };
    }),
    looked: [...looks, { quarter, table, made: claimsOf(evidence), options }],
  };
}

function lookAt(
  bench: Bench,
  quarter: string,
  { metrics, attributes }: PredictionTable,
  options: ClaimOptions,
): QuarterLook {
  const cut = benchUntil(bench, quarterEnd(quarter));
  const wanted = new Set(metrics.map(({ metric }) => metric.id));
  const table = predictionTable(cut, {
    metrics: cut.metrics.filter(({ id }) => wanted.has(id)),
    attributes: attributes.map(({ attribute }) => attribute),
    reliability: null,
    panel: null,
  });
  return { quarter, table, made: claimsMade(table, options), options };
}

/** Would working it out give this very look? Its columns and options say so. */
function isSameLook(
  look: QuarterLook,
  quarter: string,
  table: PredictionTable,
  { confidence, resamples, permutations, seed }: ClaimOptions,
): boolean {
  const end = quarterEnd(quarter);
  const columns = ({ metrics, attributes }: PredictionTable) =>
    JSON.stringify([
      metrics.flatMap(({ metric }) => metric.introduced <= end ? [metric.id] : []),
      attributes.map(({ attribute }) => attribute.id),
    ]);
  const { options } = look;
  return look.quarter === quarter && columns(look.table) === columns(table) &&
    options.confidence === confidence && options.resamples === resamples &&
    options.permutations === permutations && options.seed === seed;
}

/** With fewer rated shoes no pair stands out of a grid, and a look costs nothing. */
const FEWEST_SHOES = 8;

function shoesBy(rated: Bench["impressions"], quarter: string): number {
  const end = quarterEnd(quarter);
  return new Set(rated.filter(({ date }) => date <= end).map(({ shoe_id }) => shoe_id)).size;
}

function levelOf(name: string, last: ReviewLookedAt | undefined, review: number): number {
  return last?.claims.has(name) ? CLAIM_ALPHA : CLAIM_ALPHA / review;
}

/** At most so many, the first and the last among them. */
function spreadOver<T>(all: readonly T[], most: number): T[] {
  if (all.length <= most) return [...all];
  if (most < 2) return all.slice(all.length - most);
  const places = Array.from(
    { length: most },
    (_, k) => Math.round(k * (all.length - 1) / (most - 1)),
  );
  return places.map((place) => all[place]);
}
