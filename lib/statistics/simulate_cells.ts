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
 * @returns a function that draws again each time; the next draw is written over the last one
 */
export function cellSimulator(
  design: MixedDesign,
  variances: Float64Array,
): (random: RandomStream) => CellResponse {
  const residual = variances[design.terms.length];
  const mean = new Float64Array(design.cells);
  const noise = Float64Array.from(design.count, (count) => Math.sqrt(residual / count));
  const effects = design.terms.flatMap((_, t) =>
    variances[t] === 0 ? [] : [{
      level: design.levelOf[t],
      size: Math.sqrt(variances[t]),
      drawn: new Float64Array(design.levels[t].length),
    }]
  );
  return (random) => {
    random.fillNormal(mean);
    multiplyBy(noise, mean);
    for (const { level, size, drawn } of effects) {
      addEffects(random.fillNormal(drawn), size, level, mean);
    }
    return { mean, within: residual * drawChiSquared(design.readings - design.cells, random) };
  };
}

function multiplyBy(factors: Float64Array, into: Float64Array): void {
  for (let c = 0; c < into.length; c++) into[c] *= factors[c];
}

function addEffects(
  effect: Float64Array,
  size: number,
  level: Int32Array,
  into: Float64Array,
): void {
  for (let c = 0; c < into.length; c++) into[c] += size * effect[level[c]];
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
