import assert from "node:assert/strict";
import { shoeComparison } from "../../../lib/studies/comparison/shoe_comparison.ts";
import { trialReliability } from "../../../lib/studies/repeatability/trial_reliability.ts";
import { smallBench } from "../small_bench.ts";

/** The size remarks on three shoes of these sizes. */
function sizeRemarks(sizes: readonly (number | null)[]) {
  const plain = smallBench(sizes.flatMap((_, s) =>
    ["one", "two"].map((session, v) => ({
      shoe: `s${s}`,
      session,
      values: [10 * s + v, 10 * s + v + 1],
    }))
  ));
  const bench = {
    ...plain,
    shoes: plain.shoes.map((shoe, s) => ({ ...shoe, size: sizes[s], size_system: "eu" as const })),
  };
  const { remarks } = shoeComparison(bench, {
    shoes: plain.shoes.map(({ shoe_id }) => shoe_id),
    reliability: trialReliability(bench, { seed: 1, resamples: 100 }),
  });
  return remarks.flatMap((one): (readonly [string, number])[] =>
    one.remark === "size-unknown"
      ? [[one.remark, one.shoes.length]]
      : one.remark === "sizes-differ"
      ? [[one.remark, one.sizes.length]]
      : []
  );
}

Deno.test("a comparison names each shoe of unknown size, one alone too, and else says where sizes differ", () => {
  assert.deepEqual(sizeRemarks([42, null, 42]), [["size-unknown", 1]]);
  assert.deepEqual(sizeRemarks([null, null, 42]), [["size-unknown", 2]]);
  assert.deepEqual(sizeRemarks([42, 42.5, 42]), [["sizes-differ", 3]]);
  assert.deepEqual(sizeRemarks([42, 42, 42]), []);
});
