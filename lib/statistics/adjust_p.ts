/**
 * What do p-values become when many were looked at?
 *
 * "holm" bounds the chance of a single false claim in the whole list, whatever the dependence;
 * "benjamini-hochberg" bounds the expected share of false ones among the claims made (q-values), for
 * independent or positively dependent tests.
 *
 * @param p p-values in any order
 * @returns adjusted values in the same order, at most 1
 * @throws {RangeError} if a value is not from 0 to 1 or the method is another
 * @see Holm 1979, Scandinavian Journal of Statistics 6:65; Benjamini & Hochberg 1995, Journal of the
 *   Royal Statistical Society B 57:289
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { statistics } from "bench-to-court";
 * assert.deepEqual(statistics.adjustP([0.02, 0.5, 0.02], "holm"), [0.06, 0.5, 0.06]);
 * ```
 */
export function adjustP(
  p: readonly number[],
  method: "holm" | "benjamini-hochberg",
): number[] {
  const odd = p.find((value) => !(value >= 0 && value <= 1));
  if (odd !== undefined) throw new RangeError(`A p-value lies from 0 to 1, was given ${odd}`);
  if (method !== "holm" && method !== "benjamini-hochberg") {
    throw new RangeError(`method is "holm" or "benjamini-hochberg", was given "${method}"`);
  }
  const m = p.length;
  const ascending = p.map((_, i) => i).sort((a, b) => p[a] - p[b] || a - b);
  const adjusted = new Array<number>(m);
  if (method === "holm") {
    let highest = 0;
    ascending.forEach((i, place) => {
      highest = Math.max(highest, Math.min(1, (m - place) * p[i]));
      adjusted[i] = highest;
    });
    return adjusted;
  }
  let lowest = 1;
  for (let place = m - 1; place >= 0; place--) {
    const i = ascending[place];
    lowest = Math.min(lowest, m / (place + 1) * p[i]);
    adjusted[i] = lowest;
  }
  return adjusted;
}
