import assert from "node:assert/strict";
import fc from "fast-check";
import { inspectBench } from "../../lib/records/inspect_bench.ts";
import { problemInWords } from "../../lib/records/problem.ts";
import { benchFolder, small } from "./bench_folder.ts";

Deno.test("inspectBench() meets mangled tables without a crash, and accounts for every row", async () => {
  await using folder = await benchFolder();
  const original = new TextEncoder().encode(small["trials.csv"]);
  const bytes = fc.oneof(
    fc.constantFrom(...new TextEncoder().encode('",;\n\r\t.-=\u00e9')),
    fc.nat(255),
  );
  const edit = fc.record({
    at: fc.nat(original.length),
    cut: fc.nat(3),
    put: fc.array(bytes, { maxLength: 3 }),
  });
  await fc.assert(
    fc.asyncProperty(fc.array(edit, { minLength: 1, maxLength: 6 }), async (edits) => {
      let mangled = [...original];
      for (const { at, cut, put } of edits) {
        mangled = [...mangled.slice(0, at), ...put, ...mangled.slice(at + cut)];
      }
      await Deno.writeFile(`${folder.dir}/trials.csv`, Uint8Array.from(mangled));
      const { problems, counts } = await inspectBench(folder.dir);
      for (const problem of problems) {
        assert.ok(problem.file !== "" && problem.expected !== "", problemInWords(problem));
        if (problem.severity === "error") assert.ok(problem.line === null || problem.line >= 1);
      }
      const { read, kept, missing, excluded } = counts["trials.csv"];
      const failed = new Set(
        problems.flatMap(({ severity, line }) => severity === "error" ? [line] : []),
      );
      assert.ok(
        kept + missing + excluded + failed.size >= read,
        problems.map(problemInWords).join("\n"),
      );
    }),
    { numRuns: 1500, seed: 20260101 },
  );
});
