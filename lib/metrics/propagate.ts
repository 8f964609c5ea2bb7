import { requireAtLeast } from "./domain.ts";
import type { MetricValue } from "./metric_value.ts";

/** One reading's share in the uncertainty of a result. */
type Share = {
  /** Name of the option that carries the reading's standard uncertainty. */
  readonly name: string;
  /** The reading's standard uncertainty; undefined when the caller gave none. */
  readonly u: number | undefined;
  /** Change of the result for a unit change of the reading. */
  readonly slope: number;
};

/**
 * How uncertain is a result whose readings are uncertain?
 *
 * Root sum of squares of slope times standard uncertainty, for independent readings. All of them
 * must be given (0 for an exact one): leaving one out would make the result look surer than it is.
 *
 * @throws {RangeError} if an uncertainty is negative or not finite
 * @see JCGM 100:2008 (GUM), 5.1.2
 */
export function propagate(
  shares: readonly Share[],
): Pick<MetricValue, "standard_uncertainty" | "standard_uncertainty_reason"> {
  for (const { name, u } of shares) if (u !== undefined) requireAtLeast(name, u, 0);
  const silent = shares.filter(({ u }) => u === undefined).map(({ name }) => name);
  if (silent.length > 0) {
    return {
      standard_uncertainty: null,
      standard_uncertainty_reason: `no ${silent.join(" and no ")} was given`,
    };
  }
  const parts = shares.map(({ u, slope }) => (u === 0 ? 0 : slope * (u as number)));
  const total = Math.hypot(...parts);
  if (!Number.isFinite(total)) {
    return {
      standard_uncertainty: null,
      standard_uncertainty_reason: "the result changes without bound at this reading",
    };
  }
  return { standard_uncertainty: total, standard_uncertainty_reason: null };
}
