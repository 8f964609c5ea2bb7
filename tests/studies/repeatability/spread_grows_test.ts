import assert from "node:assert/strict";
import { spreadGrows } from "../../../lib/studies/repeatability/spread_grows.ts";

/** Twelve visits with means from `low` to `high`, whose SD is a tenth at 1 and goes with this power of the mean. */
function visits(power: number, { low = 1, high = 100, trials = 3 } = {}) {
  return Array.from({ length: 12 }, (_, i) => {
    const mean = low * (high / low) ** (i / 11);
    // A tenth more and less by turns, so that the relation is not exact.
    const sd = 0.1 * mean ** power * (i % 2 === 0 ? 1.1 : 0.9);
    return { values: [-1, 0, 1].slice(0, trials).map((off) => mean + off * sd) };
  });
}

Deno.test("scatter grows with the reading where it goes with its first power, not with its 0.4th, nor where it stays or falls", () => {
  assert.equal(spreadGrows(visits(1)), true);
  assert.equal(spreadGrows(visits(0.7)), true);
  for (const power of [0.4, 0, -0.5]) assert.equal(spreadGrows(visits(power)), false);
});

Deno.test("no scatter is said to grow over means that hardly differ, in visits of two trials, or with a reading of 0", () => {
  assert.equal(spreadGrows(visits(1, { low: 50, high: 52 })), false);
  assert.equal(spreadGrows(visits(1, { trials: 2 })), false);
  assert.equal(spreadGrows([...visits(1), { values: [0, 0.1, 0.2] }]), false);
});
