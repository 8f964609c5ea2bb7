import type { Reason } from "./reason.ts";

/** A number with its uncertainty, or the reason there is none. */
export type Estimate = {
  readonly estimate: number | null;
  readonly estimate_reason: Reason | null;
  readonly lower: number | null;
  readonly upper: number | null;
  readonly confidence: number;
  readonly method: string;
  /** Readings used, which may be fewer than readings given. */
  readonly n: number;
  readonly warnings: readonly Reason[];
};

/** What is known about an estimate besides its value. */
export type EstimateAbout = Pick<Estimate, "confidence" | "method" | "n"> & {
  readonly warnings?: readonly Reason[];
};

/**
 * What stands in for an estimate that honest data cannot give?
 *
 * @param reason a code with its numbers, such as `{ code: "no-repeats", subjects: 5 }`
 * @param about confidence, method and n as they would have stood beside the number
 * @returns an estimate whose value and limits are null and whose reason is set
 */
export function noEstimate(reason: Reason, about: EstimateAbout): Estimate {
  return {
    estimate: null,
    estimate_reason: reason,
    lower: null,
    upper: null,
    confidence: about.confidence,
    method: about.method,
    n: about.n,
    warnings: about.warnings ?? [],
  };
}
