import type { MixedDesign } from "./mixed_design.ts";
import type { RandomStream } from "./random_stream.ts";
import type { CellResponse } from "./reml_fit.ts";

/**
 * What might the readings have been, had they been taken again?
 *
 * Draws cell means and the sum of squares inside cells from normal effects with the given variances
 * around a mean of 0. A reading is never drawn on its own: the sum of squares is a chi-squared draw.
 *
 * @param variances one for each term of the design, then the residual
 */
export function simulateCells(
  design: MixedDesign,
  variances: Float64Array,
  random: RandomStream,
): CellResponse {
  const residual = variances[design.terms.length];
  const mean = random.fillNormal(new Float64Array(design.cells));
  for (let c = 0; c < design.cells; c++) mean[c] *= Math.sqrt(residual / design.count[c]);
  for (let t = 0; t < design.terms.length; t++) {
    if (variances[t] === 0) continue;
    const effect = random.fillNormal(new Float64Array(design.levels[t].length));
    const size = Math.sqrt(variances[t]);
    const level = design.levelOf[t];
    for (let c = 0; c < design.cells; c++) mean[c] += size * effect[level[c]];
  }
  return { mean, within: residual * drawChiSquared(design.readings - design.cells, random) };
}

/** One chi-squared number: Marsaglia & Tsang's method for gamma numbers, doubled. */
function drawChiSquared(freedom: number, random: RandomStream): number {
  if (freedom === 0) return 0;
  if (freedom === 1) return random.normal() ** 2;
  const d = freedom / 2 - 1 / 3;
  const c = 1 / Math.sqrt(9 * d);
  while (true) {
    const x = random.normal();
    const root = 1 + c * x;
    if (root <= 0) continue;
    const v = root * root * root;
    const u = random.uniform();
    if (u > 0 && Math.log(u) < 0.5 * x * x + d - d * v + d * Math.log(v)) return 2 * d * v;
  }
}
