import assert from "node:assert/strict";
import { normalUpperQuantile, tUpperQuantile } from "../../lib/statistics/distributions.ts";
import { singleStepLevel } from "../../lib/statistics/single_step_level.ts";
import { assertClose } from "../assert_close.ts";

/** Covariance of differences of independent means of variance 1, by their contrasts. */
const covarianceOf = (contrasts: readonly (readonly number[])[]) =>
  contrasts.map((one) =>
    contrasts.map((other) => one.reduce((sum, part, i) => sum + part * other[i], 0))
  );
const unit = (size: number, plus: number, minus: number) =>
  Array.from({ length: size }, (_, i) => i === plus ? 1 : i === minus ? -1 : 0);
const allPairs = (size: number) =>
  Array.from(
    { length: size },
    (_, i) => Array.from({ length: size - i - 1 }, (_, j) => unit(size, i, i + j + 1)),
  ).flat();
const againstOne = (size: number) =>
  Array.from({ length: size - 1 }, (_, i) => unit(size, i + 1, 0));

function critical(contrasts: readonly (readonly number[])[], freedom: number): number {
  const { level } = singleStepLevel([
    { covariance: covarianceOf(contrasts), freedom: contrasts.map(() => freedom) },
  ], { directions: 20_000 });
  return freedom === Infinity ? normalUpperQuantile(level / 2) : tUpperQuantile(level / 2, freedom);
}

Deno.test("singleStepLevel() over all pairs of means gives Tukey's critical values", () => {
  // qtukey(.95, k, df) / sqrt(2); references/shoe_comparison.R, R 4.2.2
  assertClose(critical(allPairs(3), 10), 2.7412951285, { within: 0.004 });
  assertClose(critical(allPairs(6), 20), 3.1432569575, { within: 0.005 });
  assertClose(critical(allPairs(4), Infinity), 2.5690317774, { within: 0.004 });
});

Deno.test("singleStepLevel() of means against one gives Dunnett's critical values", () => {
  // By numeric integration over the one and the scatter; references/shoe_comparison.R, R 4.2.2
  assertClose(critical(againstOne(4), 10), 2.75899697829, { within: 0.004 });
  assertClose(critical(againstOne(6), 20), 2.73467715753, { within: 0.004 });
  assertClose(critical(againstOne(5), Infinity), 2.4417707732, { within: 0.004 });
});

Deno.test("singleStepLevel() of independent differences is Šidák's, and of one alone the whole risk", () => {
  const alone = { covariance: [[3]], freedom: [9] };
  assertClose(singleStepLevel([alone, alone, alone]).level, 1 - 0.95 ** (1 / 3), {
    relative: 1e-5,
  });
  assert.equal(singleStepLevel([alone]).level, 1 - 0.95);
  assert.equal(singleStepLevel([]).level, 1 - 0.95);
});

Deno.test("a difference repeated in a block costs nothing: both exceed together", () => {
  const twice = { covariance: [[1, 1], [1, 1]], freedom: [12, 12] };
  assertClose(singleStepLevel([twice]).level, 0.05, { relative: 1e-5 });
});

Deno.test("an adjusted p is at most the risk exactly where p is at most the level", () => {
  const covariance = covarianceOf(allPairs(4));
  const p = [0.001, 0.008, 0.0101, 0.02, 0.3, 0.9];
  const { level, p_adjusted: [adjusted] } = singleStepLevel([
    { covariance, freedom: p.map(() => 15), p },
  ]);
  p.forEach((own, index) => assert.equal(own <= level, adjusted[index] <= 0.05, `${own}`));
  assert.deepEqual(adjusted.toSorted((a, b) => a - b), adjusted);
  assert.ok(adjusted.every((one, index) => one >= p[index] && one <= 1));
});

Deno.test("singleStepLevel() gives the same for the same seed, and nearly so for any other", () => {
  const block = { covariance: covarianceOf(allPairs(5)), freedom: Array(10).fill(8) };
  const at = (seed: number) => singleStepLevel([block], { seed }).level;
  assert.equal(at(1), at(1));
  assertClose(at(1), at(2), { relative: 0.05 });
});

Deno.test("singleStepLevel() refuses a covariance of another shape, or without variance", () => {
  assert.throws(() => singleStepLevel([{ covariance: [[1, 0]], freedom: [3, 3] }]), RangeError);
  assert.throws(
    () => singleStepLevel([{ covariance: [[1, 0], [0, 0]], freedom: [3, 3] }]),
    /Variance 2 of block 1/,
  );
});
