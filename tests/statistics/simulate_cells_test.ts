import assert from "node:assert/strict";
import { mixedDesign } from "../../lib/statistics/mixed_design.ts";
import { randomStream } from "../../lib/statistics/random_stream.ts";
import { cellSimulator } from "../../lib/statistics/simulate_cells.ts";

const DRAWS = 40_000;

/** Sums of squares inside cells, drawn over and over: `freedom` + 1 readings of one shoe, variance 1. */
function squaresInside(freedom: number): number[] {
  const shoe = ["a", "b", ...Array<string>(freedom).fill("b")];
  const design = mixedDesign(shoe.length, { shoe }, ["shoe"]);
  const draw = cellSimulator(design, Float64Array.of(1, 1));
  const random = randomStream(7);
  return Array.from({ length: DRAWS }, () => draw(random).within);
}

// Of two degrees of freedom the chi-squared distribution is the exponential one with a mean of 2.
Deno.test("squares inside cells of two degrees of freedom are exponential: 4.9% lie below 0.1, 63.2% below 2", () => {
  const drawn = squaresInside(2);
  for (const limit of [0.1, 0.5, 2, 6]) {
    const share = drawn.filter((value) => value < limit).length / DRAWS;
    const wanted = 1 - Math.exp(-limit / 2);
    const error = Math.sqrt(wanted * (1 - wanted) / DRAWS);
    assert.ok(Math.abs(share - wanted) < 4 * error, `${share} below ${limit}, expected ${wanted}`);
  }
});

Deno.test("squares inside cells have the chi-squared mean of f and variance of 2f, of one freedom and of seven", () => {
  for (const f of [1, 7]) {
    const drawn = squaresInside(f);
    const mean = drawn.reduce((sum, value) => sum + value, 0) / DRAWS;
    const variance = drawn.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (DRAWS - 1);
    assert.ok(Math.abs(mean - f) < 4 * Math.sqrt(2 * f / DRAWS), `mean ${mean} of ${f}`);
    // Fourth central moment 12 f (f + 4).
    const error = Math.sqrt((12 * f * (f + 4) - 4 * f * f) / DRAWS);
    assert.ok(Math.abs(variance - 2 * f) < 4 * error, `variance ${variance} of ${f}`);
  }
});
