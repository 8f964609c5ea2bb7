import type { Reason } from "../../statistics/reason.ts";
import type { Bench } from "../../records/types.ts";
import { leastSquares } from "../../statistics/least_squares.ts";
import { proportionalOdds } from "../../statistics/proportional_odds.ts";
import { standardised } from "../../statistics/ridge.ts";
import type { PredictionPair } from "./types.ts";
import type { OrdinalCheck } from "./types.ts";

/**
 * Would it change the picture to take ratings as ordered words instead of numbers?
 *
 * Proportional odds of every single rating on the metrics that are claimed or hinted at, testers with
 * leniencies of their own, against least squares on the panel's values. Ratings of one shoe are not
 * independent of each other, so only the signs are read; intervals stand with the rank correlations.
 *
 * @param pairs those of one attribute
 */
export function ordinalCheck(
  bench: Pick<Bench, "impressions">,
  attribute: string,
  pairs: readonly PredictionPair[],
): OrdinalCheck {
  const claimed = pairs.filter((pair) =>
    pair.derived_from === null && (pair.claim === "predicts" || pair.claim === "hint")
  );
  const none = (reason: Reason): OrdinalCheck => ({
    metrics: [],
    agrees: null,
    reason,
    ratings: 0,
    testers: 0,
    tester_sd: null,
    method: "proportional odds",
  });
  if (claimed.length === 0) return none({ code: "nothing-claimed" });
  const values = claimed.map((pair) =>
    new Map(
      pair.points.filter(({ bound }) => bound === undefined)
        .map((point) => [point.shoe_id, point.metric_value]),
    )
  );
  const shoes = claimed[0].points.filter(({ shoe_id }) => values.every((of) => of.has(shoe_id)));
  if (shoes.length < claimed.length + 2) {
    return none({
      code: "too-few",
      of: "complete rows",
      needed: claimed.length + 2,
      found: shoes.length,
    });
  }
  const { Z } = standardised(shoes.map(({ shoe_id }) => values.map((of) => of.get(shoe_id)!)));
  const rowOf = new Map(shoes.map(({ shoe_id }, i) => [shoe_id, Z[i]]));
  const plain = leastSquares(Z, shoes.map(({ panel_value }) => panel_value));
  const ratings = bench.impressions.filter((row) =>
    row.attribute === attribute && row.rating !== null && rowOf.has(row.shoe_id)
  );
  const testers = new Set(ratings.map(({ tester }) => tester)).size;
  const fit = proportionalOdds(
    ratings.map(({ shoe_id }) => rowOf.get(shoe_id)!),
    ratings.map(({ rating }) => rating!),
    testers > 1 ? { rater: ratings.map(({ tester }) => tester), points: 5 } : {},
  );
  if (fit.reason !== null) return none(fit.reason);
  if (plain.coefficients === null) return none(plain.reason ?? { code: "no-fit" });
  const metrics = claimed.map((pair, j) => {
    // The intercept comes first.
    const sign = Math.sign(plain.coefficients![j + 1]) as -1 | 0 | 1;
    const logOdds = fit.coefficients[j]!;
    return {
      metric: pair.metric,
      title: pair.metric_title,
      log_odds: logOdds,
      sign,
      same_sign: Math.sign(logOdds) === sign,
    };
  });
  return {
    metrics,
    agrees: metrics.every(({ same_sign }) => same_sign),
    reason: null,
    ratings: ratings.length,
    testers,
    tester_sd: fit.rater_sd,
    method: fit.method,
  };
}
