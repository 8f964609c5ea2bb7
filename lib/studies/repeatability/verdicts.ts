/** What a metric's published mean is good for, by the lower limit of its ICC. */
export type ReliabilityVerdict =
  | "fit to rank single shoes"
  | "fit for tiers"
  | "fit for groups only"
  | "not fit to publish"
  | "too few shoes to tell"
  | "can't tell";

/** Best first; the last two say that it isn't known. */
export const VERDICTS = [
  "fit to rank single shoes",
  "fit for tiers",
  "fit for groups only",
  "not fit to publish",
  "too few shoes to tell",
  "can't tell",
] as const satisfies readonly ReliabilityVerdict[];
