import assert from "node:assert/strict";
import type { Bench } from "../../../lib/records/types.ts";
import { shoeComparison } from "../../../lib/studies/comparison/shoe_comparison.ts";
import { trialReliability } from "../../../lib/studies/repeatability/trial_reliability.ts";
import { comparisonNotes } from "../../../lib/words/comparison/comparison_notes.ts";
import { smallBench } from "../small_bench.ts";

type System = Bench["shoes"][number]["size_system"];

/** The remarks on shoes of these sizes, in the systems that their rows name; the lab's is EU. */
function remarksOn(sizes: readonly (number | null)[], systems: readonly System[]) {
  const plain = smallBench(sizes.flatMap((_, s) =>
    ["one", "two"].map((session, v) => ({
      shoe: `s${s}`,
      session,
      values: [10 * s + v, 10 * s + v + 1],
    }))
  ));
  const bench = {
    ...plain,
    shoes: plain.shoes.map((shoe, s) => ({ ...shoe, size: sizes[s], size_system: systems[s] })),
  };
  return shoeComparison(bench, {
    shoes: plain.shoes.map(({ shoe_id }) => shoe_id),
    reliability: trialReliability(bench, { seed: 1, resamples: 100 }),
  }).remarks;
}

/** The size remarks and how many shoes each is about. */
function sizeRemarks(
  sizes: readonly (number | null)[],
  systems: readonly System[] = sizes.map(() => "eu"),
) {
  return remarksOn(sizes, systems).flatMap((one): (readonly [string, number])[] =>
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

Deno.test("a size whose system is left blank is in the lab's: the same as one that names it, and in no system called null", () => {
  assert.deepEqual(sizeRemarks([42, 42], [null, "eu"]), []);
  assert.deepEqual(sizeRemarks([42, 42], [null, "mondopoint"]), [["sizes-differ", 2]]);
  const notes = comparisonNotes(remarksOn([42, 43], [null, null])).join("\n");
  assert.match(notes, /benched in different sizes \(.*EU 42.*EU 43\)/);
  assert.doesNotMatch(notes, /null/);
});
