import * as option from "../options.ts";
import { type Estimate, noEstimate } from "./estimate.ts";
import { orderStatistics } from "./order_statistics.ts";
import type { Reason } from "./reason.ts";

/** A correlation freed of measurement noise, beside the raw one and the ceiling. */
export type Disattenuated = Estimate & {
  readonly raw: number | null;
  /** √(reliability of x · reliability of y): the best correlation that the noise allows. */
  readonly ceiling: number | null;
};

/**
 * What would the correlation be if both sides were measured without noise?
 *
 * Spearman's correction: raw / √(reliability of x · reliability of y). A value above 1 is left as it
 * is and marked: it says that a reliability is too low or the sample too small, not that more than
 * everything is explained. Never show it without the raw one.
 *
 * @param raw the observed correlation
 * @param reliabilityX, reliabilityY share of variance that is not noise, of the means that were correlated
 * @param draws the three resampled together, for an interval that carries their uncertainty; without
 *   them there is none
 * @returns null with a reason if a reliability is missing or not above 0
 * @throws {RangeError} if raw or a reliability is outside its range, or draws differ in length
 * @see Spearman 1904, American Journal of Psychology 15:72
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { statistics } from "bench-to-court";
 * const { estimate, ceiling } = statistics.disattenuate({ raw: 0.42, reliabilityX: 0.7, reliabilityY: 0.7 });
 * assert.equal(ceiling?.toFixed(2), "0.70");
 * assert.equal(estimate?.toFixed(2), "0.60");
 * ```
 */
export function disattenuate(
  { raw, reliabilityX, reliabilityY, n = 0, draws }: {
    readonly raw: number | null;
    readonly reliabilityX: number | null;
    readonly reliabilityY: number | null;
    readonly n?: number;
    readonly draws?: {
      readonly raw: ArrayLike<number>;
      readonly reliabilityX: ArrayLike<number>;
      readonly reliabilityY: ArrayLike<number>;
    };
  },
  { confidence = 0.95 }: { readonly confidence?: number } = {},
): Disattenuated {
  option.check("statistics.disattenuate", arguments[0], {
    raw: option.needed(option.orNull(option.number)),
    reliabilityX: option.needed(option.orNull(option.number)),
    reliabilityY: option.needed(option.orNull(option.number)),
    n: option.number,
    draws: option.thing,
  });
  option.check("statistics.disattenuate", arguments[1], { confidence: option.share });
  if (raw !== null && !(raw >= -1 && raw <= 1)) {
    throw new RangeError(`A correlation lies from -1 to 1, was given ${raw}`);
  }
  for (const reliability of [reliabilityX, reliabilityY]) {
    if (reliability !== null && !(reliability <= 1)) {
      throw new RangeError(`A reliability is at most 1, was given ${reliability}`);
    }
  }
  const about = {
    confidence,
    method: draws === undefined
      ? "Spearman's correction for attenuation"
      : `Spearman's correction for attenuation, percentile bootstrap, ${draws.raw.length} resamples`,
    n,
  };
  const none = (reason: Reason, ceiling: number | null) => ({
    ...noEstimate(reason, about),
    raw,
    ceiling,
  });
  if (reliabilityX === null || reliabilityY === null) {
    return none({ code: "unknown", which: "reliability" }, null);
  }
  if (reliabilityX <= 0 || reliabilityY <= 0) {
    return none({ code: "not-positive", which: "reliability" }, 0);
  }
  const ceiling = Math.sqrt(reliabilityX * reliabilityY);
  if (raw === null) return none({ code: "unknown", which: "correlation" }, ceiling);
  const estimate = raw / ceiling;
  const warnings: Reason[] = [];
  if (Math.abs(estimate) > 1) warnings.push({ code: "above-one" });
  const limits = draws === undefined ? null : drawnLimits(draws, confidence, warnings);
  return {
    estimate,
    estimate_reason: null,
    lower: limits?.lower ?? null,
    upper: limits?.upper ?? null,
    ...about,
    warnings,
    raw,
    ceiling,
  };
}

function drawnLimits(
  { raw, reliabilityX, reliabilityY }: {
    readonly raw: ArrayLike<number>;
    readonly reliabilityX: ArrayLike<number>;
    readonly reliabilityY: ArrayLike<number>;
  },
  confidence: number,
  warnings: Reason[],
): { lower: number; upper: number } | null {
  if (raw.length !== reliabilityX.length || raw.length !== reliabilityY.length) {
    throw new RangeError(
      `Draws belong together; found lengths ${raw.length}, ${reliabilityX.length} and ${reliabilityY.length}`,
    );
  }
  const all = Float64Array.from(
    { length: raw.length },
    (_, b) =>
      reliabilityX[b] > 0 && reliabilityY[b] > 0
        ? raw[b] / Math.sqrt(reliabilityX[b] * reliabilityY[b])
        : NaN,
  );
  const usable = all.filter((value) => Number.isFinite(value));
  const lost = all.length - usable.length;
  if (usable.length < all.length / 2 || usable.length < 2) {
    warnings.push({ code: "too-few-resamples", lost, of: all.length, because: "not-positive" });
    return null;
  }
  if (lost > 0) {
    warnings.push({ code: "resamples-lost", lost, of: all.length, because: "not-positive" });
  }
  const sorted = orderStatistics(usable);
  const tail = (1 - confidence) / 2;
  return { lower: sorted.quantile(tail), upper: sorted.quantile(1 - tail) };
}
