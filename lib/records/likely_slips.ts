import type { Metric, Problem, Session, Shoe, Trial } from "./types.ts";
export function likelySlips(
  _metrics: readonly Metric[],
  _shoes: readonly Shoe[],
  _sessions: readonly Session[],
  _trials: readonly Trial[],
): Problem[] {
  return [];
}
