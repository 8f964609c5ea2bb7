import { benchUntil, quarterEnd, quarterOf } from "../../records/quarters.ts";
import type { Bench } from "../../records/types.ts";
import { type ClaimMade, claimsMade } from "./claims_made.ts";
import { CLAIM_ALPHA } from "./prediction_claim.ts";
import { type PredictionTable, predictionTable } from "./prediction_table.ts";

/** Claims by metric and attribute, see `pairName`. */
export type NamedClaims = ReadonlyMap<string, ClaimMade>;

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
 * @see Lan & DeMets 1983, Biometrika 70:659, on spending a level over looks
 */
export function claimHistory(
  bench: Bench,
  table: PredictionTable,
  { most, ...options }: {
    readonly most: number;
    readonly confidence: number;
    readonly resamples: number;
    readonly permutations: number;
    readonly seed: number;
  },
): ClaimHistory {
  const days = [...bench.sessions, ...bench.impressions].map(({ date }) => date).sort();
  const quarter = quarterOf(days.at(-1) ?? "1970-01-01");
  const rated = bench.impressions.filter(({ rating }) => rating !== null);
  const quarters = most === 0 ? [] : [...new Set(rated.map(({ date }) => quarterOf(date)))].sort()
    .filter((own) => own < quarter && shoesBy(rated, own) >= FEWEST_SHOES);
  const metrics = new Set(table.metrics.map(({ metric }) => metric.id));
  const earlier: ReviewLookedAt[] = [];
  for (const own of spreadOver(quarters, most)) {
    const cut = benchUntil(bench, quarterEnd(own));
    const then = predictionTable(cut, {
      metrics: cut.metrics.filter(({ id }) => metrics.has(id)),
      attributes: table.attributes.map(({ attribute }) => attribute),
      reliability: null,
      panel: null,
    });
    const review = quarters.indexOf(own) + 1;
    const claims = claimsMade(then, options).map((claim) =>
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
    level: CLAIM_ALPHA / review,
    levelOf: (metric, attribute) => levelOf(pairName(metric, attribute), earlier.at(-1), review),
  };
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
