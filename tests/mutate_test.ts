import assert from "node:assert/strict";
import { linesRun, mutantsOf, nearestTests, type Reach } from "./mutate.ts";

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

function reach(test: string, seconds: number, lines: Record<string, number[]>): Reach {
  return {
    test,
    seconds,
    lines: new Map(Object.entries(lines).map(([file, run]) => [file, new Set(run)])),
  };
}

Deno.test("nearestTests() takes the tests that run the line: the one of its name, then those that run little else", () => {
  const reaches = [
    reach("tests/whole_test.ts", 5, { "lib/a/b.ts": [1, 2, 3], "lib/c.ts": [1, 2, 3, 4, 5, 6] }),
    reach("tests/near_test.ts", 5, { "lib/a/b.ts": [1, 2], "lib/c.ts": [1] }),
    reach("tests/a/b_test.ts", 5, { "lib/a/b.ts": [2], "lib/c.ts": [1, 2, 3, 4] }),
    reach("tests/other_test.ts", 5, { "lib/a/b.ts": [1], "lib/c.ts": [1] }),
  ];
  const names = (line: number, most = 9, seconds = 60) =>
    nearestTests(reaches, "lib/a/b.ts", line, most, seconds).map(({ test }) => test);
  assert.deepEqual(names(2), ["tests/a/b_test.ts", "tests/near_test.ts", "tests/whole_test.ts"]);
  assert.deepEqual(names(2, 2), ["tests/a/b_test.ts", "tests/near_test.ts"]);
  assert.deepEqual(names(2, 9, 11), ["tests/a/b_test.ts", "tests/near_test.ts"]);
  assert.deepEqual(names(2, 9, 1), ["tests/a/b_test.ts"]);
  assert.deepEqual(names(4), []);
  const all = [...reaches, reach("tests/figures/figures_test.ts", 9, { "lib/a/b.ts": [2, 3] })];
  assert.deepEqual(
    nearestTests(all, "lib/a/b.ts", 2, 2, 60).map(({ test }) => test),
    ["tests/a/b_test.ts", "tests/figures/figures_test.ts"],
  );
});

Deno.test("linesRun() reads the lines that ran or were come to, of the kit's own files only", () => {
  const report = `SF:/kit/lib/a.ts
FN:1,f
DA:1,3
DA:2,0
DA:3,0
DA:5,1
end_of_record
SF:/kit/lib/b.ts
DA:1,0
DA:2,1
end_of_record
SF:/kit/tests/a_test.ts
DA:1,1
end_of_record
`;
  assert.deepEqual(
    linesRun(report, "/kit"),
    new Map([["lib/a.ts", new Set([1, 2, 5])], ["lib/b.ts", new Set([2])]]),
  );
});
