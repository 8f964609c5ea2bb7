/**
 * A bench metric computed from one or a few readings, with the uncertainty that the readings carry
 * into it.
 */
export type MetricValue = {
  readonly value: number;
  /** UCUM code. */
  readonly unit: string;
  /** In `unit`, coverage factor 1; null when it can't be told. */
  readonly standard_uncertainty: number | null;
  /** Why `standard_uncertainty` is null. */
  readonly standard_uncertainty_reason: string | null;
  /** What a reader must be told beside the number. */
  readonly caution: string | null;
};

/**
 * The same for a metric that honest readings may fail to give: a series that never falls has no
 * time constant.
 */
export type FittedMetricValue = Omit<MetricValue, "value"> & {
  readonly value: number | null;
  /** Why `value` is null. */
  readonly value_reason: string | null;
};
