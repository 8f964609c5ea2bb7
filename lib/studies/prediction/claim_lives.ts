import * as option from "../../options.ts";
import { benchUntil, quarterEnd, quarterOf } from "../../records/quarters.ts";
import type { Bench } from "../../records/types.ts";
import { widenedLimits } from "../../statistics/correlation_inflation.ts";
import { rowsToDetect } from "../../statistics/detectable_effect.ts";
import { type Estimate, noEstimate } from "../../statistics/estimate.ts";
import { spearman } from "../../statistics/spearman.ts";
import { type ClaimMade, claimsMade } from "./claims_made.ts";
import type { CourtPrediction } from "./types.ts";
import { judgedTable } from "./prediction_pairs.ts";
import { type PredictionTable, predictionTable } from "./prediction_table.ts";
import { POWER } from "./settle_range.ts";
import { kinInflation, shoeKin, type WhiteColumn, withinCourts } from "./shoe_kin.ts";

/** What shoes that came after a claim say of it. */
export type ReplicationWord = "held" | "not seen again" | "can't tell" | "nothing since";

/** How a claim does on shoes that had not both been benched and rated when it was first made. */
export type Replication = {
  readonly word: ReplicationWord;
  /** Rank correlation over those shoes alone, with 90% limits: 5% on each side. */
  readonly spearman: Estimate;
  readonly shoes: number;
  readonly lines: number;
  /** Of these lines, how many had no shoe among those of the first claim. */
  readonly lines_new: number;
  /** Further shoes that would show a correlation of the size first claimed in four cases of five. */
  readonly more: number | null;
};

/** One claim through the reviews of a bench. */
export type ClaimLife = {
  readonly metric: string;
  readonly metric_title: string;
  readonly attribute: string;
  readonly attribute_title: string;
  /** The quarter of the earliest review looked at that made it. */
  readonly first: string;
  /** The quarter since which every review looked at has made it; null where this one doesn't. */
  readonly since: string | null;
  /** Reviews looked at before `first`; with none it may be older still. */
  readonly reviews_before: number;
  /** What was claimed first. */
  readonly claimed: {
    readonly rho: number;
    readonly lower: number;
    readonly upper: number;
    readonly shoes: number;
  };
  readonly replication: Replication;
};

/** Claims of a bench and what became of each. */
export type ClaimLives = {
  readonly quarter: string;
  /** Quarters whose reviews were worked out again from today's files, oldest first, this one last. */
  readonly looked_at: readonly string[];
  readonly claims: readonly ClaimLife[];
};

/** Confidence of the interval that a replication is judged by: one-sided at .05. */
const REPLICATION_CONFIDENCE = 0.9;

/**
 * Since when does each claim stand, and how does it do on shoes that came after?
 *
 * Earlier reviews are worked out again from today's files, cut at the ends of their quarters: those that
 * had new ratings, at most `most` of them, spread over the bench's life. A claim is set against the shoes
 * that were not both benched and rated by the end of the quarter that first made it, the only ones that
 * had no part in choosing it. *held*: the limits lie on the claimed side of 0. *not seen again*: they
 * reach 0 and leave out all that the first claim's interval held. Else *can't tell*.
 *
 * @param bench as of the end of the quarter, see `benchUntil`
 * @param prediction its own claims, from `courtPrediction`
 * @param options.quarter of this review
 * @returns claims made now and claims made at an earlier review and no longer
 * @see Bonett & Wright 2000, Psychometrika 65:23, for the limits over the new shoes
 */
export function claimLives(
  bench: Bench,
  prediction: Pick<CourtPrediction, "pairs" | "resamples" | "permutations" | "confidence">,
  { quarter, most = 8, seed }: {
    readonly quarter: string;
    readonly most?: number;
    readonly seed: number;
  },
): ClaimLives {
  option.check("studies.claimLives", arguments[2], {
    quarter: option.needed(option.text),
    most: option.whole(0),
    seed: option.needed(option.seed),
  });
  const { resamples, permutations, confidence } = prediction;
  const earlier = spreadOver(quartersRated(bench).filter((own) => own < quarter), most);
  const reviews = earlier.map((own): Review => {
    const then = predictionTable(benchUntil(bench, quarterEnd(own)), noNoise);
    const options = { confidence, resamples, permutations, seed };
    return { quarter: own, table: then, claims: namedClaims(then, claimsMade(then, options)) };
  });
  const now = predictionTable(bench, noNoise);
  reviews.push({ quarter, table: now, claims: claimsNow(prediction) });
  const names = new Set(reviews.flatMap(({ claims }) => [...claims.keys()]));
  const white = names.size === 0 || reviews.length === 1
    ? null
    : judgedTable(now, { permutations: 0, seed }).white;
  return {
    quarter,
    looked_at: reviews.map(({ quarter }) => quarter),
    claims: [...names].map((name) => lifeOf(name, reviews, now, white)),
  };
}

type Claim = Omit<ClaimMade, "j" | "t">;

type Review = {
  readonly quarter: string;
  readonly table: PredictionTable;
  /** By metric and attribute. */
  readonly claims: ReadonlyMap<string, Claim>;
};

type White = {
  readonly metrics: readonly WhiteColumn[];
  readonly attributes: readonly WhiteColumn[];
};

/** No ceiling has a say in a claim. */
const noNoise = { reliability: null, panel: null };

function quartersRated({ impressions }: Pick<Bench, "impressions">): string[] {
  const rated = impressions.filter(({ rating }) => rating !== null);
  return [...new Set(rated.map(({ date }) => quarterOf(date)))].sort();
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

function nameOf(metric: string, attribute: string): string {
  return JSON.stringify([metric, attribute]);
}

function namedClaims(
  { metrics, attributes }: PredictionTable,
  claims: readonly ClaimMade[],
): Map<string, Claim> {
  return new Map(claims.map(({ j, t, ...claim }) => [
    nameOf(metrics[j].metric.id, attributes[t].attribute.id),
    claim,
  ]));
}

function claimsNow({ pairs }: Pick<CourtPrediction, "pairs">): Map<string, Claim> {
  return new Map(
    pairs.filter(({ claim }) => claim === "predicts").map((pair) => [
      nameOf(pair.metric, pair.attribute),
      {
        rho: pair.spearman.estimate!,
        lower: pair.spearman.lower!,
        upper: pair.spearman.upper!,
        shoes: pair.n,
      },
    ]),
  );
}

function lifeOf(
  name: string,
  reviews: readonly Review[],
  now: PredictionTable,
  white: White | null,
): ClaimLife {
  const [metric, attribute] = JSON.parse(name) as [string, string];
  const first = reviews.findIndex(({ claims }) => claims.has(name));
  const lastWithout = reviews.findLastIndex(({ claims }) => !claims.has(name));
  const j = now.metrics.findIndex((own) => own.metric.id === metric);
  const t = now.attributes.findIndex((own) => own.attribute.id === attribute);
  const { rho, lower, upper, shoes } = reviews[first].claims.get(name)!;
  return {
    metric,
    metric_title: now.metrics[j].metric.title,
    attribute,
    attribute_title: now.attributes[t].attribute.title,
    first: reviews[first].quarter,
    since: reviews[lastWithout + 1]?.quarter ?? null,
    reviews_before: first,
    claimed: { rho, lower, upper, shoes },
    replication: replicationOf({ j, t, claim: { rho, lower, upper, shoes } }, {
      then: first === reviews.length - 1 ? null : reviews[first].table,
      now,
      white,
    }),
  };
}

function replicationOf(
  { j, t, claim }: { readonly j: number; readonly t: number; readonly claim: Claim },
  { then, now, white }: {
    readonly then: PredictionTable | null;
    readonly now: PredictionTable;
    readonly white: White | null;
  },
): Replication {
  const old = then === null ? null : shoesWithBoth(
    then,
    now.metrics[j].metric.id,
    now.attributes[t].attribute.id,
  );
  const isNew = now.shoes.map(({ shoe_id }, row) =>
    old !== null && !old.has(shoe_id) && now.metrics[j].values[row] !== null &&
    now.attributes[t].values[row] !== null
  );
  const rows = isNew.flatMap((own, row) => own ? [row] : []);
  const { kin } = now;
  const linesBefore = new Set(
    now.shoes.flatMap(({ shoe_id }, row) => old?.has(shoe_id) ? [kin.lines[row]] : []),
  );
  const linesOf = [...new Set(rows.map((row) => kin.lines[row]))];
  const { correlation, inflation } = overNewShoes({ j, t, isNew, rows }, now, white);
  const word = rows.length === 0 ? "nothing since" : replicationWord(correlation, claim);
  const needed = rowsToDetect(claim.rho, { power: POWER, alpha: 1 - REPLICATION_CONFIDENCE });
  return {
    word,
    spearman: correlation,
    shoes: rows.length,
    lines: linesOf.length,
    lines_new: linesOf.filter((line) => !linesBefore.has(line)).length,
    more: needed === null || word === "held" || word === "not seen again"
      ? null
      : Math.max(1, Math.ceil(1 + (needed - 1) * inflation) - rows.length),
  };
}

/** What the new shoes alone show, compared within courts where there are enough of them. */
function overNewShoes(
  { j, t, isNew, rows }: {
    readonly j: number;
    readonly t: number;
    readonly isNew: readonly boolean[];
    readonly rows: readonly number[];
  },
  now: PredictionTable,
  white: White | null,
): { readonly correlation: Estimate; readonly inflation: number } {
  const kin = isNew.some(Boolean) ? shoeKin(now.records, isNew) : now.kin;
  const only = (values: readonly (number | null)[]) =>
    withinCourts(values.map((value, row) => isNew[row] ? value : null), kin);
  const [x, y] = [only(now.metrics[j].values), only(now.attributes[t].values)];
  const inflation = white === null || rows.length === 0
    ? 1
    : kinInflation(rows, kin, white.metrics[j], white.attributes[t]);
  const { p: _, ...found } = spearman(x, y, {
    interval: "fisher",
    confidence: REPLICATION_CONFIDENCE,
    permutations: 0,
  });
  if (found.estimate === null) {
    return {
      correlation: noEstimate(found.estimate_reason ?? { code: "no-interval" }, {
        confidence: REPLICATION_CONFIDENCE,
        method: "Spearman's rho",
        n: rows.length,
      }),
      inflation,
    };
  }
  const limits = found.lower === null || found.upper === null ? {} : widenedLimits(
    { estimate: found.estimate, lower: found.lower, upper: found.upper },
    inflation,
  );
  return {
    correlation: {
      ...found,
      ...limits,
      method:
        "Spearman's rho, Fisher interval with Bonett and Wright's variance, widened for likeness of kin and courts",
    },
    inflation,
  };
}

/** What the shoes since say of a claim, by the interval over them alone. */
export function replicationWord(
  { lower, upper }: Pick<Estimate, "lower" | "upper">,
  claim: Pick<Claim, "rho" | "lower" | "upper">,
): "held" | "not seen again" | "can't tell" {
  if (lower === null || upper === null) return "can't tell";
  const positive = claim.rho > 0;
  // As if every claim were of a positive correlation.
  const [low, high] = positive ? [lower, upper] : [-upper, -lower];
  const least = positive ? claim.lower : -claim.upper;
  if (low > 0) return "held";
  return high < least ? "not seen again" : "can't tell";
}

function shoesWithBoth(
  { shoes, metrics, attributes }: PredictionTable,
  metric: string,
  attribute: string,
): Set<string> {
  const x = metrics.find((own) => own.metric.id === metric)?.values ?? [];
  const y = attributes.find((own) => own.attribute.id === attribute)?.values ?? [];
  return new Set(
    shoes.flatMap(({ shoe_id }, row) =>
      (x[row] ?? null) !== null && (y[row] ?? null) !== null ? [shoe_id] : []
    ),
  );
}
