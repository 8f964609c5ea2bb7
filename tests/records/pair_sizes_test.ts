import assert from "node:assert/strict";
import { markOtherSizes } from "../../lib/records/pair_sizes.ts";
import type { Metric, Pair, Shoe, SizeSystem, Trial } from "../../lib/records/types.ts";
import { bareShoe, bareTrial } from "../bare_bench.ts";

type Label = readonly [SizeSystem | null, number | null];

/** Which of the pairs of one shoe are taken to be of another size; each was read once on each metric. */
function others(
  pairs: readonly Label[],
  { shoe = [null, null], lab = "eu" as SizeSystem | null }: {
    readonly shoe?: Label;
    readonly lab?: SizeSystem | null;
  } = {},
): readonly number[] {
  const trials = pairs.flatMap((_, i) =>
    ["mass", "grip"].map((metric_id): Trial => ({
      ...bareTrial,
      shoe_id: "alder",
      metric_id,
      pair: i + 1,
    } as Trial))
  );
  const marked = markOtherSizes(trials, {
    pairs: pairs.map(([size_system, size], i) => ({
      shoe_id: "alder",
      pair: i + 1,
      size_system,
      size,
    } as Pair)).reverse(),
    shoes: [{ ...bareShoe, shoe_id: "alder", size_system: shoe[0], size: shoe[1] } as Shoe],
    metrics: [{ id: "mass", size_free: false }, { id: "grip", size_free: true }] as Metric[],
    sizeSystem: lab,
  });
  assert.ok(marked.every((one) => one.metric_id !== "grip" || one.other_size === undefined));
  return marked.flatMap((one) => one.other_size ? [one.pair] : []);
}

Deno.test("a pair half a size off is of another size, one without a size is not, and a size-free metric minds neither", () => {
  assert.deepEqual(others([["eu", 42.5], ["eu", 43], [null, null], ["eu", 42.5]]), [2]);
  assert.deepEqual(others([["eu", 42.5], ["eu", 43]], { shoe: ["eu", 43] }), [1]);
  assert.deepEqual(others([["eu", 42.5], [null, 42.5]]), []);
  assert.deepEqual(others([["uk", 8.5], [null, 8.5]]), [2]); // the lab's system is EU
  assert.deepEqual(others([[null, 8], [null, 9]], { lab: null }), []);
});

Deno.test("sizes of two systems are one where either is the other's nearest label", () => {
  // EU 42.5 is a last of 283.33 mm, a foot of 268.33 mm with 15 mm of room: 270 is its nearest label.
  // 270 is a last of 285 mm, EU 42.75, whose nearest half sizes are as near as each other.
  assert.deepEqual(others([["eu", 42.5], ["mondopoint", 270]]), []);
  assert.deepEqual(others([["mondopoint", 270], ["eu", 42.5]]), []);
  assert.deepEqual(others([["eu", 43], ["mondopoint", 270]]), []);
  // A last of 276.67 mm is a foot of 261.67 mm.
  assert.deepEqual(others([["eu", 41.5], ["mondopoint", 270]]), [2]);
});

Deno.test("a size off the adult scale is that of no other label", () => {
  assert.deepEqual(others([["eu", 42], ["mondopoint", 90]]), [2]);
});
