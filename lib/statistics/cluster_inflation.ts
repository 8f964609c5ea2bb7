import { normalQuantile, tQuantile } from "./distributions.ts";
import { invertSymmetric } from "./linear_solve.ts";
import { randomStream } from "./random_stream.ts";
import type { CellPieces } from "./reml_fit.ts";
import { FEWEST_GROUPS, freedomUnderTails } from "./scatter_limits.ts";
import { cellSimulator } from "./simulate_cells.ts";
import type { MixedModel } from "./variance_components.ts";

/** Second moments settle sooner than limits do. */
const DRAWS = 200;
const STREAM = 43;

/**
 * By how much must the limits of a sum of components be wider than normal effects would have them?
 *
 * Limits drawn from normal effects take their shape for granted: a wild day or a wild visit counts as one
 * more reading. Here the days say it themselves. A REML estimate of a weighted sum of components is, to first order, a
 * sum over clusters of squared standardized effects and readings; how far the clusters' parts lie apart,
 * against what the same sum shows on benches drawn with normal effects, is the ratio of the true variance to
 * the assumed one (a sandwich over its bread). Its root, and Student's t with the freedom that the parts' kurtosis
 * leaves, widen the limits on their log scale; they are never made narrower.
 *
 * @param weights of each variance in the sum, the residual last
 * @param options.cluster a term of the model whose levels are independent and hold all that scatters, such as sessions
 * @param options.within squares of readings about their cell's mean, in the reading's unit, a cell each
 * @returns 1 or more; 1 with fewer than six clusters, where their scatter says too little
 * @see Huber 1967, Proceedings of the Fifth Berkeley Symposium 1:221; Liang & Zeger 1986, Biometrika 73:13 (the sandwich,
 * by clusters); Shoemaker 2003, American Statistician 57:103; Bonett 2006, Computational Statistics & Data Analysis 50:775
 */
export function clusterInflation(
  { design, fit, solver, response, scale }: MixedModel,
  { weights, cluster, within, confidence, seed }: {
    readonly weights: Float64Array;
    readonly cluster: string;
    readonly within: Float64Array;
    readonly confidence: number;
    readonly seed: number;
  },
): number {
  const at = design.terms.indexOf(cluster);
  const clusters = design.levels[at]?.length ?? 0;
  if (fit === null || solver === null || clusters < FEWEST_GROUPS) return 1;
  const { variances } = fit;
  const size = variances.length;
  const inverse = invertSymmetric(solver.information(variances), size);
  if (inverse === null) return 1;
  const influence = Float64Array.from(
    variances,
    (_, t) => weights.reduce((sum, weight, i) => sum + weight * inverse[i * size + t], 0) / 2,
  );
  const groups = groupsOf(design, at);
  const partsOf = (pieces: CellPieces) => parts(pieces, influence, groups, design);
  const simulate = cellSimulator(design, variances);
  const random = randomStream(seed, STREAM);
  const drawn = Array.from(
    { length: DRAWS },
    (_, draw) => partsOf(solver.pieces(simulate(random), variances, draw === 0)),
  );
  const seen = partsOf(solver.pieces(response, variances, true));

  const residual = variances[size - 1];
  const freedom = new Float64Array(clusters);
  design.levelOf[at].forEach((own, cell) => {
    freedom[own] += design.count[cell] - 1;
    seen[own] += influence[size - 1] *
      (within[cell] / scale ** 2 / residual - design.count[cell] + 1) / residual;
  });
  const centre = seen.map((_, g) => drawn.reduce((sum, one) => sum + one[g], 0) / DRAWS);
  const off = (one: Float64Array) =>
    scatterAbout(one.map((part, g) => part - centre[g]), groups.sets);
  // Squares within cells are independent of the rest, so that their part need not be drawn.
  const inside = freedom.reduce((sum, own) => sum + 2 * own, 0) *
    (influence[size - 1] / residual) ** 2 * (1 - 1 / clusters);
  const assumed = drawn.reduce((sum, one) => sum + off(one), 0) / (DRAWS - 1) + inside;
  const ratio = off(seen) / assumed;
  // Parts that lie no farther apart than normal ones would are no sign of tails.
  if (!(ratio > 1) || !Number.isFinite(ratio)) return 1;
  const own = seen.subarray(0, clusters).map((part, g) => part - centre[g]);
  // Fewer leave t so long that limits say nothing, and held no more in simulations.
  const t = tQuantile((1 + confidence) / 2, Math.max(3, freedomUnderTails(own)));
  return Math.sqrt(ratio) * t / normalQuantile((1 + confidence) / 2);
}

/** To which group each level of each term belongs: its cluster, or one of its own where it reaches over several. */
type Groups = {
  readonly of: readonly Int32Array[];
  readonly cellOf: Int32Array;
  readonly count: number;
  /** First and last but one group of the clusters, then of every term that crosses them. */
  readonly sets: readonly (readonly [from: number, to: number])[];
};

function groupsOf({ levelOf, levels, cells }: MixedModel["design"], at: number): Groups {
  const clusterOf = levelOf[at];
  const sets: [number, number][] = [[0, levels[at].length]];
  const of = levelOf.map((level, term) => {
    const own = new Int32Array(levels[term].length).fill(-1);
    let inside = true;
    for (let cell = 0; cell < cells; cell++) {
      if (own[level[cell]] < 0) own[level[cell]] = clusterOf[cell];
      inside &&= own[level[cell]] === clusterOf[cell];
    }
    if (inside) return own;
    const from = sets.at(-1)![1];
    sets.push([from, from + own.length]);
    return own.map((_, level) => from + level);
  });
  return { of, cellOf: clusterOf, count: sets.at(-1)![1], sets };
}

/** What each group adds to the estimate, its expectation left in. */
function parts(
  { levels, cells }: CellPieces,
  influence: Float64Array,
  { of, cellOf, count }: Groups,
  design: MixedModel["design"],
): Float64Array {
  const sums = new Float64Array(count);
  levels.forEach((own, term) => {
    for (let level = 0; level < own.length; level++) {
      sums[of[term][level]] += influence[term] * own[level] ** 2;
    }
  });
  const last = influence.length - 1;
  for (let cell = 0; cell < cells.length; cell++) {
    sums[cellOf[cell]] += influence[last] * cells[cell] ** 2 / design.count[cell];
  }
  return sums;
}

/** Squares about the mean of each set. */
function scatterAbout(values: Float64Array, sets: Groups["sets"]): number {
  let total = 0;
  for (const [from, to] of sets) {
    const own = values.subarray(from, to);
    const mean = own.reduce((sum, value) => sum + value, 0) / own.length;
    for (const value of own) total += (value - mean) ** 2;
  }
  return total;
}
