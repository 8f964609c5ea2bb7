import assert from "node:assert/strict";
import { lineOf } from "../../lib/records/json_file.ts";

Deno.test("lineOf() finds an entry's line however the file is laid out, close or wide", () => {
  const value = { name: "b", terms: [{ weight: 1 }, { weight: 2 }, [3, 4]], last: "x, {y}" };
  const wide = JSON.stringify(value, null, 2);
  const lines = wide.split("\n");
  assert.equal(lines[lineOf(wide, ["terms", 1, "weight"]) - 1].trim(), '"weight": 2');
  assert.equal(lines[lineOf(wide, ["last"]) - 1].trim(), '"last": "x, {y}"');
  // Close, with a line's end before each thing looked for.
  const close = '{"name":"b","terms":[{"weight":1},\n{"weight":2},[3,\n4]],\n"last":"x, {y}"}';
  assert.equal(lineOf(close, ["name"]), 1);
  assert.equal(lineOf(close, ["terms", 0, "weight"]), 1);
  assert.equal(lineOf(close, ["terms", 1, "weight"]), 2);
  assert.equal(lineOf(close, ["terms", 2, 1]), 3);
  assert.equal(lineOf(close, ["last"]), 4);
});
