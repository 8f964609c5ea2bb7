import * as option from "../options.ts";
import { checkReadings, momentsOf } from "./checks.ts";
import { checkAlpha, grubbsCritical } from "./grubbs.ts";
import type { Reason } from "./reason.ts";

/** Readings too far out to be chance, however many, up to a stated number. */
export type GeneralizedEsd = {
  /** Positions of the outliers, the farthest first. */
  readonly outliers: readonly number[];
  /** Every step that was tried, also those after the last outlier. */
  readonly steps: readonly {
    readonly statistic: number;
    readonly critical: number;
    readonly index: number;
    readonly value: number;
  }[];
  readonly alpha: number;
  readonly most: number;
  readonly n: number;
  /** Why nothing could be tested; null when something was. */
  readonly reason: Reason | null;
};

/**
 * Which readings are too far out to be chance, when there may be several?
 *
 * Takes away the farthest reading again and again. The outliers are all those up to the *last* step
 * whose statistic passes its critical value: earlier steps may fail, because outliers hide each other.
 *
 * @param values readings, taken as normal but for the outliers; null for a missing one
 * @param options.most how many outliers to look for at most
 * @param options.alpha risk of any false alarm
 * @throws {RangeError} if `most` is not a whole number from 1, or a reading is not finite
 * @see Rosner 1983. The critical values are good from some 25 readings on, fair from 15
 */
export function generalizedEsd(
  values: readonly (number | null)[],
  { most, alpha = 0.05 }: { readonly most: number; readonly alpha?: number },
): GeneralizedEsd {
  option.check("statistics.generalizedEsd", arguments[1], {
    most: option.needed(option.whole(1)),
    alpha: option.share,
  });
  checkAlpha(alpha);
  checkReadings(values, "look for outliers");
  if (!Number.isInteger(most) || most < 1) {
    throw new RangeError(`most is a whole number of at least 1, was given ${most}`);
  }
  const left = [...values.keys()].filter((i) => values[i] !== null);
  const n = left.length;
  const steps: GeneralizedEsd["steps"][number][] = [];
  let found = 0;
  let reason: Reason | null = n < 3
    ? { code: "too-few", of: "readings", needed: 3, found: n }
    : null;
  while (steps.length < most && left.length >= 3) {
    const { mean, squares, rounding } = momentsOf(left.map((i) => values[i] as number));
    if (squares <= rounding) {
      if (steps.length === 0) reason = { code: "constant", which: "readings" };
      break;
    }
    let at = 0;
    left.forEach((place, i) => {
      if (Math.abs(values[place]! - mean) > Math.abs(values[left[at]]! - mean)) at = i;
    });
    const [index] = left.splice(at, 1);
    const value = values[index] as number;
    const size = left.length + 1;
    const statistic = Math.abs(value - mean) / Math.sqrt(squares / (size - 1));
    const critical = grubbsCritical(size, alpha, 2);
    steps.push({ statistic, critical, index, value });
    if (statistic > critical) found = steps.length;
  }
  return {
    outliers: steps.slice(0, found).map(({ index }) => index),
    steps,
    alpha,
    most,
    n,
    reason,
  };
}
