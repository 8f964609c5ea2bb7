import type { ReasonOrWords } from "../../statistics/reason.ts";
import { type Estimate, noEstimate } from "../../statistics/estimate.ts";
import { orderStatistics } from "../../statistics/order_statistics.ts";
import { rankCorrelationDraws } from "../../statistics/rank_correlation_draws.ts";
import { spearman } from "../../statistics/spearman.ts";
import { type WilliamsT, williamsT } from "../../statistics/williams_t.ts";

/** How much closer one list of scores goes with the court than another, over the same shoes. */
export type CourtGain = {
  /** Rank correlation of the new scores with the panel, less that of the old ones. */
  readonly gain: Estimate;
  readonly old: Estimate;
  readonly new: Estimate;
  /** On rank correlations, which its normal theory fits about; a check beside the interval. */
  readonly williams: WilliamsT;
};

/** Below this many shoes no interval is given. */
export const FEWEST_SHOES = 6;

/**
 * Which scores order the shoes more as the court does, and how sure is that?
 *
 * Shoes are resampled with both their scores and their rating, so that what the two have in common
 * drops out of the difference; limits are percentiles.
 *
 * @param ratings, old, updated one entry a shoe
 */
export function courtGain(
  { ratings, old, updated }: {
    readonly ratings: readonly number[];
    readonly old: readonly number[];
    readonly updated: readonly number[];
  },
  { confidence, resamples, seed }: {
    readonly confidence: number;
    readonly resamples: number;
    readonly seed: number;
  },
): CourtGain {
  const n = ratings.length;
  const about = { confidence, n, method: `paired percentile bootstrap, ${resamples} resamples` };
  const plain = { interval: "none", permutations: 0 } as const;
  const [r12, r13, r23] = [
    spearman(updated, ratings, plain),
    spearman(old, ratings, plain),
    spearman(updated, old, plain),
  ];
  const reason = n < FEWEST_SHOES
    ? `${
      n === 1 ? "1 shoe has" : `${n} shoes have`
    } both scores and a rating; ${FEWEST_SHOES} are needed`
    : r12.estimate_reason ?? r13.estimate_reason;
  if (reason !== null) {
    return {
      gain: noEstimate(reason, about),
      old: noEstimate(reason, about),
      new: noEstimate(reason, about),
      williams: { t: null, df: n - 3, p: null, reason },
    };
  }
  const [[newDraws], [oldDraws]] = rankCorrelationDraws([updated, old], [ratings], {
    resamples,
    seed,
  });
  const gains = newDraws!.map((value, draw) => value - oldDraws![draw]);
  return {
    gain: estimated(r12.estimate! - r13.estimate!, gains, about),
    old: estimated(r13.estimate!, oldDraws!, about),
    new: estimated(r12.estimate!, newDraws!, about),
    williams: williamsT({
      r12: r12.estimate!,
      r13: r13.estimate!,
      r23: r23.estimate ?? 1,
      n,
    }),
  };
}

function estimated(
  estimate: number,
  draws: Float64Array,
  about: Pick<Estimate, "confidence" | "n" | "method">,
): Estimate {
  const usable = draws.filter((value) => value === value);
  const sorted = orderStatistics(usable);
  const tail = (1 - about.confidence) / 2;
  const enough = usable.length > draws.length / 2;
  return {
    estimate,
    estimate_reason: null,
    lower: enough ? sorted.quantile(tail) : null,
    upper: enough ? sorted.quantile(1 - tail) : null,
    ...about,
    warnings: about.n < 15
      ? [`${about.n} shoes are few: limits from resampling are too narrow then`]
      : [],
  };
}

/**
 * How many shoes more would show on which side of a threshold a gain lies?
 *
 * Takes the gain as it is estimated, and an interval that narrows with the square root of the number
 * of shoes.
 *
 * @returns null with a reason where no number would do, or where nothing is open
 */
export function shoesToSettle(
  gain: Estimate,
  threshold: number,
): { readonly shoes: number | null; readonly reason: ReasonOrWords | null } {
  const { estimate, estimate_reason, lower, upper, n } = gain;
  if (estimate === null || lower === null || upper === null) {
    return n < FEWEST_SHOES
      ? { shoes: FEWEST_SHOES - n, reason: null }
      : { shoes: null, reason: estimate_reason ?? "there is no interval" };
  }
  if (lower >= threshold || upper < threshold) {
    return { shoes: null, reason: { code: "nothing-open" } };
  }
  const away = estimate - threshold;
  const reach = away > 0 ? estimate - lower : upper - estimate;
  const wanted = away === 0 ? Infinity : Math.ceil(n * (reach / away) ** 2 - 1e-9);
  // Beyond a catalogue that anybody keeps, a number would only look like an answer.
  if (wanted > 100 * n) {
    return { shoes: null, reason: "the gain is as good as the threshold itself" };
  }
  return { shoes: Math.max(1, wanted - n), reason: null };
}
