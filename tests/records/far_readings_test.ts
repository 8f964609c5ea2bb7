import assert from "node:assert/strict";
import { farReadings } from "../../lib/records/far_readings.ts";
import { smallBench, type SmallVisit } from "../studies/small_bench.ts";

/** Shoes that read 99 and 101, visits of one shoe then scatter by √2; and what a last session reads. */
function told(
  last: readonly (readonly [shoe: string, value: number])[],
  { twice = 6, references = [] as string[] } = {},
): string[] {
  const visits: SmallVisit[] = Array.from({ length: twice }, (_, i) => [
    { shoe: `s${i}`, session: "a", values: [98, 100] },
    { shoe: `s${i}`, session: "b", values: [101, 101] },
  ]).flat();
  const before = [...visits, { shoe: "once", session: "b", values: [100] }];
  const after = [
    ...before,
    ...last.map(([shoe, value]) => ({ shoe, session: "c", values: [value] })),
  ];
  return farReadings(smallBench(before, { references }), smallBench(after, { references }), "c");
}

Deno.test("a reading is far beyond 4 SDs of a difference from the mean of its shoe's visits, on either side", () => {
  // Two visits before: 4·√2·√(1 + 1/2) = 6.93. One visit before: 4·√2·√2 = 8.
  assert.equal(told([["s0", 106.9], ["s1", 93.1], ["once", 107.9], ["once", 92.1]]).length, 0);
  for (const far of [["s0", 107], ["s1", 93], ["once", 108.1], ["once", 91.9]] as const) {
    const [sentence, ...more] = told([far, ["s2", 100]]);
    assert.equal(more.length, 0);
    assert.ok(
      sentence.startsWith(`${far[0]}, height: ${far[1].toFixed(1)} cm on average, 100.0 cm`),
    );
  }
  assert.match(told([["s0", 120]])[0], /in the 2 visits before/);
  assert.match(told([["once", 120]])[0], /in the visit before/);
});

Deno.test("a far reference shoe stands first, since the rig may be off, and a new shoe is never far", () => {
  const found = told([["s3", 150], ["s4", 150], ["new", 900]], { references: ["s4"] });
  assert.equal(found.length, 2);
  assert.match(found[0], /^The reference s4, .*look at the rig/);
  assert.match(found[1], /^s3, .*read it again/);
});

Deno.test("with fewer than five repeats in all, or none that differs, no reading is called far", () => {
  assert.equal(told([["s0", 500]], { twice: 5 }).length, 1);
  assert.deepEqual(told([["s0", 500]], { twice: 4 }), []);
  const same = Array.from({ length: 8 }, (_, i) =>
    ["a", "b"].map((session) => ({
      shoe: `s${i}`,
      session,
      values: [100],
    }))).flat();
  const after = [...same, { shoe: "s0", session: "c", values: [500] }];
  assert.deepEqual(farReadings(smallBench(same), smallBench(after), "c"), []);
});
