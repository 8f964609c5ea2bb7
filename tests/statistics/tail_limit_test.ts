import assert from "node:assert/strict";
import { normalQuantile } from "../../lib/statistics/distributions.ts";
import { gapChance, tailLimit } from "../../lib/statistics/tail_limit.ts";
import { assertClose } from "../assert_close.ts";
import { Chance, type Shape } from "../benchmarks/chance.ts";

function readings(shape: Shape, n: number, seed: number): number[] {
  const chance = new Chance(seed);
  return Array.from({ length: n }, () => chance.noise(shape));
}

Deno.test("tailLimit() of readings as normal as can be is their SD times the normal quantile for the risk", () => {
  // Blom scores; R 4.2.2: qnorm(0.05 / (2 * 999), lower.tail = FALSE)
  const scores = Array.from({ length: 999 }, (_, i) => normalQuantile((i + 0.625) / 999.25));
  const { freedom, limit } = tailLimit(scores, 0, { alpha: 0.05 });
  assert.equal(freedom, Infinity);
  const sd = Math.sqrt(scores.reduce((sum, x) => sum + x * x, 0) / scores.length);
  assertClose(limit / sd, 4.05539314, { within: 1e-4 });
});

Deno.test("the limit grows with the tails: t(4) noise is allowed far more than normal noise of the same SD", () => {
  const [normal, heavy] = (["normal", "t(4)"] as const).map((shape) =>
    tailLimit(readings(shape, 2000, 3), 0, { alpha: 0.05 })
  );
  assert.equal(normal.freedom, Infinity);
  assert.ok(heavy.freedom < 6, String(heavy.freedom));
  assert.ok(heavy.limit > 2 * normal.limit);
});

Deno.test("a suspect excuses neither itself nor counts as no reading: the limit is that of the others and one more", () => {
  const others = Array.from({ length: 500 }, (_, i) => normalQuantile((i + 0.625) / 500.25));
  const without = tailLimit(others, 0, { alpha: 0.05 });
  const one = tailLimit(others, 1, { alpha: 0.05 });
  assertClose(one.limit, without.limit, { relative: 0.1 });
  const included = tailLimit([...others, 30], 0, { alpha: 0.05 });
  assert.ok(included.limit > 1.3 * one.limit);
});

Deno.test("gapChance() is how often a gap is that wide under tails that fall off with the cube of the distance", () => {
  const chance = new Chance(11);
  const wide = [0, 0, 0];
  const sets = 20_000;
  for (let set = 0; set < sets; set++) {
    const far = Array.from({ length: 30 }, () => (1 - chance.next()) ** (-1 / 3)).sort((a, b) =>
      b - a
    );
    for (const j of [1, 2, 3]) if (gapChance(far[j - 1], far[j], j) < 0.05) wide[j - 1]++;
  }
  for (const count of wide) assertClose(count / sets, 0.05, { within: 0.005 });
});
