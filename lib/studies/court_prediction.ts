import type { Estimate } from "../statistics/estimate.ts";

/** What may be said of a metric as a predictor of an impression. */
export type PredictionClaim = "predicts" | "hint" | "no sign of it" | "can't tell";

/** One metric against one impression, over the shoes that have both. */
export type PredictionPair = {
  readonly metric: string;
  readonly metric_title: string;
  readonly unit: string;
  readonly attribute: string;
  readonly attribute_title: string;
  /** Rank correlation over shoes. */
  readonly spearman: Estimate;
  readonly p: number | null;
  readonly p_reason: string | null;
  /** Adjusted over the attribute's metrics by the step-down maximum. */
  readonly p_familywise: number | null;
  readonly p_familywise_reason: string | null;
  /** Benjamini–Hochberg over the whole grid. */
  readonly q: number | null;
  readonly q_reason: string | null;
  /** Largest |rho| that the noise of both sides allows. */
  readonly ceiling: number | null;
  readonly ceiling_reason: string | null;
  readonly disattenuated: Estimate;
  /** Rank correlation given mass; null for mass itself. */
  readonly partial_given_mass: Estimate;
  readonly influence: {
    readonly lowest: number | null;
    readonly highest: number | null;
    /** The shoe whose absence moves rho most. */
    readonly shoe_id: string | null;
    readonly without_it: number | null;
    readonly reason: string | null;
  };
  /** Smallest |rho| that this n finds with 80% power. */
  readonly detectable: number | null;
  readonly detectable_reason: string | null;
  readonly n: number;
  readonly claim: PredictionClaim;
  readonly sentence: string;
  readonly points: readonly {
    readonly shoe_id: string;
    readonly name: string;
    readonly metric_value: number;
    readonly panel_value: number;
    /** Lowest and highest leniency-adjusted rating of a tester. */
    readonly panel_low: number;
    readonly panel_high: number;
  }[];
};
