import assert from "node:assert/strict";
import { computeColumn, numberColumn } from "../../lib/records/columns.ts";
import { groupMeans } from "../../lib/records/group_means.ts";
import { assertClose } from "../assert_close.ts";

Deno.test("groupMeans() keeps groups apart whose keys join to the same text", () => {
  const rows = [{ a: "a-b", b: "c", x: 1 }, { a: "a", b: "b-c", x: 2 }, { a: "a", b: "b-c", x: 4 }];
  assert.deepEqual(groupMeans(rows, ["a", "b"]).map(({ a, b, x_mean }) => [a, b, x_mean]), [
    ["a-b", "c", 1],
    ["a", "b-c", 3],
  ]);
  assert.equal(groupMeans([{ k: 1, x: 1 }, { k: "1", x: 1 }], "k").length, 2);
});

Deno.test("groupMeans() leaves out what is missing and counts what is left", () => {
  const rows = [
    { maker: "A", x: 1, y: null },
    { maker: "A", x: NaN, y: null },
    { maker: null, x: 5, y: 2 },
    { maker: "A", x: 4, y: null },
  ];
  const [first, second] = groupMeans(rows, "maker");
  assert.deepEqual([first.rows, first.x_mean, first.x_n, first.y_mean, first.y_sd, first.y_n], [
    3,
    2.5,
    2,
    null,
    null,
    0,
  ]);
  assertClose(first.x_sd as number, 2.1213203435596424, { within: 1e-15 }); // R 4.2.2: sd(c(1, 4))
  assert.deepEqual([second.maker, second.x_mean, second.x_sd], [null, 5, null]);
});

Deno.test("groupMeans() names a column that isn't there, and one that holds words", () => {
  const rows = [{ maker: "A", mass: 300, court: "clay" }];
  assert.throws(() => groupMeans(rows, "makr"), /Cannot group by column "makr".*Write maker/);
  assert.throws(() => groupMeans(rows, "maker", { columns: ["court"] }), /found "clay"/);
  assert.deepEqual(Object.keys(groupMeans(rows, "maker")[0]), [
    "maker",
    "rows",
    "mass_mean",
    "mass_sd",
    "mass_n",
  ]);
});

Deno.test("computeColumn() gives null where a number is missing, where JavaScript would reckon with 0", () => {
  const rows = [{ a: 6, b: 2 }, { a: null, b: 2 }, { a: 1, b: 0 }, { b: 3 }];
  const made = computeColumn(rows, "ratio", ["a", "b"], (a, b) => a / b);
  assert.deepEqual(numberColumn(made, "ratio"), [3, null, null, null]);
  assert.deepEqual(made[0], { a: 6, b: 2, ratio: 3 });
  assert.throws(() => numberColumn(made, "ratios"), /Write ratio if that is meant/);
  assert.throws(() => numberColumn([{ a: "x" }], "a"), /found "x", expected a number/);
});
