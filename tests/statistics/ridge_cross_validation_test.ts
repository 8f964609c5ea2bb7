import assert from "node:assert/strict";
import { ridgeCrossValidation } from "../../lib/statistics/ridge_cross_validation.ts";
import { assertClose } from "../assert_close.ts";
Deno.test("R² on groups left out sets the predictions' errors against those of the other groups' mean", () => {
  const X = [[1], [2], [3], [4], [5], [6], [7]];
  const y = [2, 2.5, 4, 3, 5.5, 5, 8];
  const groups = ["a", "a", "b", "c", "c", "d", "e"];
  const { predicted, r2 } = ridgeCrossValidation(X, y, { groups });
  const others = groups.map((own) => y.filter((_, row) => groups[row] !== own));
  const means = others.map((list) => list.reduce((a, b) => a + b) / list.length);
  const off = (from: readonly number[]) =>
    y.reduce((sum, value, row) => sum + (value - from[row]) ** 2, 0);
  assert.ok(r2! > 0 && r2! < 1);
  assertClose(r2!, 1 - off(predicted) / off(means), { within: 1e-12 });
});
