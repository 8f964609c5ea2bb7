import type { Metric } from "../../records/types.ts";

/**
 * Which metrics are only another metric's trials in another form?
 *
 * Friction computed from the tilt at slip is the same evidence as the tilt. Of every group of metrics
 * with one source the source stands for all; where it is not among them, the first one does.
 *
 * @param metrics those that are to be counted
 * @returns metric id → id of the metric that stands for it; metrics that stand for themselves are left out
 */
export function derivedMetrics(metrics: readonly Metric[]): ReadonlyMap<string, string> {
  const byId = new Map(metrics.map((metric) => [metric.id, metric]));
  const sourceOf = (metric: Metric): string => {
    if (metric.derive === null) return metric.id;
    const [source, ...others] = [metric.derive.from].flat();
    // Of two metrics together, neither stands for it.
    if (others.length > 0) return metric.id;
    const from = byId.get(source);
    return from === undefined ? source : sourceOf(from);
  };
  const groups = Map.groupBy(metrics, sourceOf);
  return new Map([...groups].flatMap(([source, members]) => {
    const standing = members.find(({ id }) => id === source) ?? members[0];
    return members.filter(({ id }) => id !== standing.id)
      .map(({ id }) => [id, standing.id] as const);
  }));
}
