import type { Estimate } from "../../statistics/estimate.ts";
import { FEWEST_ROWS } from "../../statistics/rank_gain.ts";
import type { Reason } from "../../statistics/reason.ts";

/** How many shoes more, or why there is no number. */
export type ShoesToSettle = {
  /** If the truth is as estimated. */
  readonly shoes: number | null;
  /** The same over the middle half of what the interval holds. */
  readonly from: number | null;
  readonly to: number | null;
  /** `too-few`: nothing can be judged yet; `nothing-open`; `gain-too-near`: the middle half of the interval holds the threshold, or spans more than tenfold. */
  readonly reason: Reason | null;
};

/**
 * How many shoes more would show on which side of a threshold a gain lies?
 *
 * For an interval that narrows with the square root of the number of shoes. A number that takes the estimate
 * for the truth is worth little (Hoenig & Heisey 2001, The American Statistician 55:19), so it is named
 * with its range over the middle half of the interval, and not at all where that is wider than tenfold.
 */
export function shoesToSettle(gain: Estimate, threshold: number): ShoesToSettle {
  const none = (reason: Reason) => ({ shoes: null, from: null, to: null, reason });
  const { estimate, estimate_reason, lower, upper, n } = gain;
  if (estimate === null || lower === null || upper === null) {
    return none(
      n < FEWEST_ROWS
        ? { code: "too-few", of: "rows", needed: FEWEST_ROWS, found: n }
        : estimate_reason ?? { code: "no-fit" },
    );
  }
  if (lower >= threshold || upper < threshold) return none({ code: "nothing-open" });
  const wanted = (value: number) => {
    const away = value - threshold;
    const reach = away > 0 ? estimate - lower : upper - estimate;
    return n * (reach / away) ** 2;
  };
  const quarter = 0.674 / 1.96;
  const [low, high] = [
    estimate - quarter * (estimate - lower),
    estimate + quarter * (upper - estimate),
  ];
  if (low <= threshold && threshold <= high) return none({ code: "gain-too-near" });
  const [from, to] = [wanted(low), wanted(high)].toSorted((a, b) => a - b);
  if (to > 10 * from) return none({ code: "gain-too-near" });
  const more = (all: number) => Math.max(1, Math.ceil(all - 1e-9) - n);
  return { shoes: more(wanted(estimate)), from: more(from), to: more(to), reason: null };
}
