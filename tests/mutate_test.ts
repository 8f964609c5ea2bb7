import assert from "node:assert/strict";
import { mutantsOf, nearestTests } from "./mutate.ts";

Deno.test("mutantsOf() changes numbers, operators and comparisons, and no text, comment, type or import", () => {
  const source = `import { a } from "./a-1.ts"; // 1 + 2
/** Adds 3 + 4. */
export function f(x: number, y = 0.5): number {
  const text = "5 < 6";
  return x > 7 && y <= 8 ? Math.max(x, 2) + y : x - 1;
}
`;
  assert.deepEqual(
    mutantsOf("f.ts", source).map(({ line, before, after }) => [line, before, after]),
    [
      [3, "0.5", "0.55"],
      [5, ">", ">="],
      [5, "7", "8"],
      [5, "&&", "||"],
      [5, "<=", "<"],
      [5, "8", "9"],
      [5, "Math.max", "Math.min"],
      [5, "2", "3"],
      [5, "+", "-"],
      [5, "-", "+"],
      [5, "1", "2"],
    ],
  );
});

Deno.test("nearestTests() begins with the test of the same name, and goes on by imports", async () => {
  const nearest = await nearestTests(new URL("..", import.meta.url).pathname, 3);
  assert.equal(
    nearest("lib/statistics/complete_block.ts")[0],
    "tests/statistics/complete_block_test.ts",
  );
  assert.equal(nearest("lib/metrics/propagate.ts").length, 3);
  assert.deepEqual(nearest("lib/no_such_file.ts"), []);
});
