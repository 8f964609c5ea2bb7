import assert from "node:assert/strict";
import { finishHash, mixHash, rowKeys } from "../../lib/records/row_keys.ts";

Deno.test("mixHash() and finishHash() give the published values of MurmurHash3 for one block", () => {
  // Public test values of MurmurHash3 in 32 bits, from memory: four letters are one block, and the length
  // in bytes goes in before the end.
  const hashed = (seed: number, block: number) => finishHash(mixHash(seed, block) ^ 4) >>> 0;
  assert.equal(hashed(0, 0x74736574), 0xba6bd213); // "test"
  assert.equal(hashed(0x9747b28c | 0, 0x61616161), 0x5a97808a); // "aaaa"
  assert.equal(finishHash(1) >>> 0, 0x514e28b7); // an empty text, seed 1
});

Deno.test("rowKeys() finds every earlier row of a key and no other, also where all hashes are alike", () => {
  const rows = Array.from({ length: 3000 }, (_, i) => `key ${i % 1500}`);
  for (const hashOf of [(row: number) => mixHash(0, row % 1500), () => 7, () => -1]) {
    const count = hashOf(1) === hashOf(2) ? 600 : rows.length;
    const keys = rowKeys((a, b) => rows[a] === rows[b]);
    for (let row = 0; row < count; row++) {
      assert.equal(keys.add(hashOf(row), row), row < 1500 ? -1 : row - 1500);
    }
  }
  const keys = rowKeys((a, b) => a % 5 === b % 5);
  assert.deepEqual([0, 1, 2, 3, 4, 8, 5].map((row) => keys.add(7, row)), [
    -1,
    -1,
    -1,
    -1,
    -1,
    3,
    0,
  ]);
});
