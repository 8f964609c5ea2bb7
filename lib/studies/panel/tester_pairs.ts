import { mean, sampleVariance } from "simple-statistics";
import type { Bench } from "../../records/types.ts";
import type { Reason } from "../../statistics/reason.ts";

/** Two shoes rated by the same testers. */
type TesterPairs = {
  readonly testers: number;
  /** Mean of the testers' own differences, on the rating scale; null without a common tester. */
  readonly difference: number | null;
  readonly standard_error: number | null;
  readonly reason: Reason | null;
  readonly freedom: number;
  /** Ratings given without a blindfold on the shoe's identity, or with none noted. */
  readonly unblinded: number;
  readonly ratings: number;
  readonly surfaces: readonly string[];
};

/**
 * How differently do the testers who wore both shoes rate them?
 *
 * Each tester's ratings of a shoe are averaged, and only testers of both count: a lenient tester is
 * lenient to both. Ratings come in steps, so that few testers may agree to the digit by chance; the
 * variance of their mean is at least what rounding to the step leaves (step² / 12 a rating).
 *
 * @param pair ids of the two shoes; the difference is the first minus the second
 */
export function testerPairs(
  bench: Pick<Bench, "impressions" | "settings">,
  attribute: string,
  [a, b]: readonly [string, string],
): TesterPairs {
  const rows = bench.impressions.filter((row) =>
    row.attribute === attribute && row.rating !== null && (row.shoe_id === a || row.shoe_id === b)
  );
  const common = [...Map.groupBy(rows, (row) => row.tester).values()]
    .filter((own) => own.some((row) => row.shoe_id === a) && own.some((row) => row.shoe_id === b));
  const used = common.flat();
  const about = {
    testers: common.length,
    freedom: Math.max(0, common.length - 1),
    unblinded: used.filter((row) => row.blind !== "yes").length,
    ratings: used.length,
    surfaces: [...new Set(used.map((row) => row.surface ?? "not noted"))].sort(),
  };
  const none = (reason: Reason) => ({
    ...about,
    difference: null,
    standard_error: null,
    reason,
  });
  if (common.length === 0) return none({ code: "too-few-rated-both", found: 0 });
  const ratings = (own: typeof rows, shoe: string) =>
    own.filter((row) => row.shoe_id === shoe).map((row) => row.rating!);
  const differences = common.map((own) => mean(ratings(own, a)) - mean(ratings(own, b)));
  if (common.length === 1) return none({ code: "too-few-rated-both", found: 1 });
  const rounding = bench.settings.rating.step ** 2 / 12;
  const leastVariance = mean(
    common.map((own) => rounding / ratings(own, a).length + rounding / ratings(own, b).length),
  );
  const variance = Math.max(sampleVariance(differences), leastVariance);
  return {
    ...about,
    difference: mean(differences),
    standard_error: Math.sqrt(variance / common.length),
    reason: null,
  };
}
