/** What Holm's step-down leaves one comparison. */
type HolmLevel = {
  readonly p_adjusted: number;
  /** Risk at which its interval is drawn, so that the interval leaves out 0 when Holm rejects. */
  readonly alpha: number;
};

/**
 * At which risk is each of several intervals drawn, so that they agree with Holm's adjusted p-values?
 *
 * In order of p the k-th of m is tested at alpha / (m − k + 1) until one fails; that one and all
 * behind it are drawn at the risk of the step that failed. An interval at its risk leaves out 0
 * exactly when the adjusted p is at most alpha.
 *
 * @param p p-values in any order
 * @param alpha risk of a single false rejection among them all
 * @see Holm 1979, Scandinavian Journal of Statistics 6:65
 */
export function holmLevels(p: readonly number[], alpha: number): HolmLevel[] {
  const order = p.map((_, index) => index).sort((a, b) => p[a] - p[b] || a - b);
  const levels = new Array<HolmLevel>(p.length);
  let [highest, failedAt] = [0, null as number | null];
  order.forEach((index, step) => {
    const left = p.length - step;
    highest = Math.max(highest, Math.min(1, left * p[index]));
    if (failedAt === null && p[index] > alpha / left) failedAt = alpha / left;
    levels[index] = { p_adjusted: highest, alpha: failedAt ?? alpha / left };
  });
  return levels;
}
