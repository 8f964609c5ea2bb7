import * as option from "../options.ts";
import { normalUpperQuantile, tQuantile } from "./distributions.ts";

/** One source of uncertainty of a value. */
export type UncertaintyPart = {
  /** Standard uncertainty of the input, in the input's unit. */
  readonly standard: number;
  /** By how much the value changes with the input; 1 by default. */
  readonly sensitivity?: number;
  /** Degrees of freedom behind it; infinite by default, as for what a data sheet states. */
  readonly freedom?: number;
};

/** What all sources make together, in the value's unit. */
export type CombinedUncertainty = {
  readonly standard: number;
  /** Effective degrees of freedom by Welch and Satterthwaite; infinite where no part has a number. */
  readonly freedom: number;
  /** Student's t at these degrees of freedom, cut to a whole number as JCGM 100, G.4 asks. */
  readonly factor: number;
  readonly expanded: number;
  readonly confidence: number;
};

/**
 * How uncertain is a value with several independent sources of uncertainty?
 *
 * The root of the summed squares of sensitivity × standard uncertainty, its effective degrees of freedom,
 * and the half-width that holds the value at the confidence wanted.
 *
 * @throws {RangeError} if an uncertainty is below 0 or not finite, or a freedom is not above 0
 * @see JCGM 100:2008 (GUM), 5.1.2 and annex G.4
 *
 * @example Two sources, one known from five readings only
 * ```ts
 * import assert from "node:assert/strict";
 * import { combinedUncertainty } from "./combined_uncertainty.ts";
 * const { standard } = combinedUncertainty([{ standard: 0.3, freedom: 4 }, { standard: 0.4 }]);
 * assert.equal(standard.toFixed(6), "0.500000");
 * ```
 */
export function combinedUncertainty(
  parts: readonly UncertaintyPart[],
  { confidence = 0.95 }: { readonly confidence?: number } = {},
): CombinedUncertainty {
  option.check("statistics.combinedUncertainty", arguments[1], { confidence: option.share });
  let [square, spread] = [0, 0];
  for (const { standard, sensitivity = 1, freedom = Infinity } of parts) {
    if (!(standard >= 0 && standard < Infinity) || !Number.isFinite(sensitivity)) {
      throw new RangeError(
        `A standard uncertainty is 0 or more, was given ${standard} times ${sensitivity}`,
      );
    }
    if (!(freedom > 0)) throw new RangeError(`Degrees of freedom lie above 0, were ${freedom}`);
    const own = (standard * sensitivity) ** 2;
    square += own;
    spread += own * own / freedom;
  }
  const freedom = spread > 0 ? square * square / spread : Infinity;
  const standard = Math.sqrt(square);
  const factor = freedom === Infinity
    ? normalUpperQuantile((1 - confidence) / 2)
    : tQuantile((1 + confidence) / 2, Math.max(1, Math.floor(freedom)));
  return { standard, freedom, factor, expanded: factor * standard, confidence };
}
