import assert from "node:assert/strict";
import { completeBlock } from "../../lib/statistics/complete_block.ts";
import { kendallW } from "../../lib/statistics/kendall_w.ts";
import { randomStream } from "../../lib/statistics/random_stream.ts";

type Table = readonly (readonly (number | null)[])[];

/** Every set of columns and, for each, every row without a gap: by definition, without a shortcut. */
function mostCells(table: Table): number {
  const columns = table[0].map((_, j) => j);
  let most = 0;
  for (let set = 0; set < 2 ** columns.length; set++) {
    const chosen = columns.filter((j) => Math.floor(set / 2 ** j) % 2 === 1);
    const rows = table.filter((row) => chosen.every((j) => row[j] !== null));
    if (chosen.length >= 2 && rows.length >= 2) most = Math.max(most, chosen.length * rows.length);
  }
  return most;
}

Deno.test("completeBlock() of up to 16 raters or things holds no gap and as many cells as the largest of all blocks without one", () => {
  const random = randomStream(11);
  for (let round = 0; round < 60; round++) {
    const [n, k] = [2 + random.integer(9), 2 + random.integer(6)];
    const share = random.uniform();
    const table: Table = Array.from(
      { length: n },
      () => Array.from({ length: k }, () => random.uniform() < share ? null : 1),
    );
    const { rows, columns } = completeBlock(table);
    const most = mostCells(table);
    if (most === 0) continue;
    assert.ok(rows.every((i) => columns.every((j) => table[i][j] !== null)));
    assert.equal(rows.length * columns.length, most, JSON.stringify(table));
  }
});

Deno.test("completeBlock() finds the twelve things that four raters share beside a panel that overlaps", () => {
  // Four raters rated the first twelve things, three others in other parts of the table.
  const table: Table = Array.from(
    { length: 20 },
    (_, i) =>
      Array.from(
        { length: 7 },
        (_, j) => j < 4 ? (i < 12 ? i + j : null) : (i >= 9 ? i - j : null),
      ),
  );
  const { rows, columns } = completeBlock(table);
  assert.deepEqual(columns, [0, 1, 2, 3]);
  assert.deepEqual(rows, Array.from({ length: 12 }, (_, i) => i));
  const block = rows.map((i) => columns.map((j) => table[i][j]));
  assert.equal(kendallW(block, { resamples: 0, permutations: 0 }).estimate, 1);
});

Deno.test("completeBlock() takes more columns of two blocks alike, and looks at rows where they are fewer", () => {
  assert.deepEqual(completeBlock([[1, 2, 3], [1, 2, 3], [null, 2, 3]]), {
    rows: [0, 1],
    columns: [0, 1, 2],
  });
  const wide: Table = [
    [1, 1, 1, 1, null],
    [null, 1, 1, 1, 1],
    [1, null, 1, 1, 1],
  ];
  assert.deepEqual(completeBlock(wide), { rows: [0, 1], columns: [1, 2, 3] });
  assert.deepEqual(completeBlock([[1, 2, null], [1, 2, null], [1, 2, 3]]), {
    rows: [0, 1, 2],
    columns: [0, 1],
  });
  assert.deepEqual(completeBlock([]), { rows: [], columns: [] });
  assert.deepEqual(completeBlock([[null, null], [null, null]]), { rows: [], columns: [0, 1] });
});
