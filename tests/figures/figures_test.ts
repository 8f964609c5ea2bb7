// No proof that a figure is right, other tests give that; here none moves unnoticed.
import assert from "node:assert/strict";
import { figuresOf, groupsOf, groupsText, movedGroups } from "./figure_groups.ts";
import { KEPT } from "./kept_figures.ts";

const [demo, imports] = KEPT;

async function hold({ file, figures }: typeof KEPT[number]): Promise<void> {
  const moved = movedGroups(await Deno.readTextFile(file), groupsOf(await figures()));
  assert.deepEqual(
    moved.slice(0, 20),
    [],
    `${moved.length} groups of figures moved. If that is meant, CHANGELOG.md says which moved and by how ` +
      "much, and they are kept anew: tests/figures/kept_figures.ts",
  );
}

Deno.test("what comes in from the sheets that tests keep, and what is suggested for them, is what it was", () =>
  hold(imports));

Deno.test("no figure of the demo's review, nor of an answer that the README shows, has moved", () =>
  hold(demo));

Deno.test("movedGroups() names a group with a figure that moved in its seventh digit, came or went", () => {
  const result = { icc: { estimate: 0.8123456, n: 12 }, mdc: { estimate: 0.5 }, word: "fit" };
  const kept = groupsText(groupsOf({ study: result }));
  assert.equal(kept.trimEnd().split("\n").length, 3);
  assert.deepEqual(movedGroups(kept, groupsOf({ study: structuredClone(result) })), []);
  const other = { ...result, icc: { estimate: 0.8123457, n: 12 } };
  assert.deepEqual(movedGroups(kept, groupsOf({ study: other })), ["study › icc"]);
  const { mdc: _, ...less } = other;
  assert.deepEqual(
    movedGroups(kept, groupsOf({ study: { ...less, drift: 1 } })),
    ["study › icc", "study › mdc", "study › drift"],
  );
});

Deno.test("figuresOf() walks lists, maps and typed arrays, and leaves sentences out", () => {
  const long = "a sentence that is a good deal longer than forty letters";
  assert.deepEqual(
    [...figuresOf("a", { b: new Map([["c", 1 / 3]]), d: Float64Array.of(2), e: null, f: long })],
    [
      { at: "a › b › 0 › 0", value: "c" },
      { at: "a › b › 0 › 1", value: "0.3333333" },
      { at: "a › d › 0", value: "2" },
      { at: "a › e", value: "null" },
    ],
  );
});
