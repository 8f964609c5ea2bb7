import assert from "node:assert/strict";
import type { ImportMapping } from "../../lib/records/import_mapping.ts";
import { shoeNames, slugOf } from "../../lib/records/import_shoe_names.ts";

const mapping = {
  unlisted_shoes: "take",
  shoes: [{ shoe_id: "birch", spelt: ["Tarnwick Birch", "B. Tarnwick"] }],
} as unknown as ImportMapping;

Deno.test("slugOf() makes one id of spellings that differ in marks, and never drops a letter", () => {
  assert.equal(slugOf("  Alder/2 "), "alder-2");
  assert.equal(slugOf("ALDER-2"), "alder-2");
  assert.equal(slugOf("Alder 2+"), "alder-2-plus"); // another model, as a rule
  assert.equal(slugOf("Hügel & Søn"), "hugel-and-son");
  // Two shoes whose names keep nothing but their digits would become one.
  assert.deepEqual([slugOf("アルダー 2"), slugOf("Ольха 2")], ["", ""]);
});

Deno.test("shoeNames() finds the same shoe for each name in a second import as in the first", () => {
  const names = ["Alder/2", "alder 2", "Alder 2+", "Tarnwick  birch", "アルダー"];
  const first = names.map((name) => shoeNames(mapping, []).find(name, null));
  const known = first.flatMap((found) => "shoe_id" in found ? [found.shoe_id] : []);
  for (const order of [names, names.toReversed()]) {
    const second = shoeNames(mapping, known);
    for (const name of order) {
      const found = second.find(name, null);
      assert.deepEqual(found, first[names.indexOf(name)], name);
    }
  }
  assert.deepEqual(known, ["alder-2", "alder-2", "alder-2-plus", "birch"]);
});
