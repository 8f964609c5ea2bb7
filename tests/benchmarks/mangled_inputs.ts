/**
 * Do mangled inputs crash the loader, the unit parser or the importer, or lose anything unsaid?
 *
 * Run: deno run -A tests/benchmarks/mangled_inputs.ts [inputs, default 100000]
 * A third of the inputs goes to each. Ends with exit code 1 and the smallest input that broke it.
 * Seeded, so that the same inputs come each time.
 */
import assert from "node:assert/strict";
import fc from "fast-check";
import { inspectBench } from "../../lib/records/inspect_bench.ts";
import { importMapping } from "../../lib/records/import_mapping.ts";
import { importSheet } from "../../lib/records/import_sheet.ts";
import { WorkbookError, workbookOf } from "../../lib/records/import_workbook.ts";
import { parseQuantity, units } from "../../lib/records/units.ts";
import { benchFolder, small } from "../records/bench_folder.ts";

const inputs = Number(Deno.args[0] ?? 100_000);
const each = Math.ceil(inputs / 3);
const seed = 20260101;

const spellings = units.flatMap(({ code, spellings }) => [code, ...spellings]);

/** A good text with a few characters put in, taken out or doubled. */
const mangled = (good: fc.Arbitrary<string>) =>
  fc.tuple(good, fc.array(fc.tuple(fc.nat(), fc.nat(3), anyMark), { maxLength: 4 }))
    .map(([text, edits]) =>
      edits.reduce((now, [at, kind, mark]) => {
        const i = now.length === 0 ? 0 : at % now.length;
        if (kind === 0) return now.slice(0, i) + mark + now.slice(i);
        if (kind === 1) return now.slice(0, i) + now.slice(i + 1);
        if (kind === 2) return now.slice(0, i) + now.slice(i, i + 9) + now.slice(i);
        return now.slice(0, i) + mark + now.slice(i + 1);
      }, text)
    );
const anyMark = fc.oneof(
  fc.constantFrom('"', ",", ";", "\n", "\r\n", "\t", "-", ".", "°", "\u0000", "\uFEFF", "=", "'"),
  fc.string({ maxLength: 2, unit: "binary" }),
);

function unitParser() {
  const quantity = fc.tuple(
    fc.double({ noNaN: true }),
    fc.constantFrom("", " "),
    fc.constantFrom(...spellings),
  )
    .map(([value, gap, unit]) => `${value}${gap}${unit}`);
  fc.assert(
    fc.property(mangled(quantity), fc.constantFrom(null, ".", ","), (text, decimal) => {
      const read = parseQuantity(text, { decimal });
      if ("value" in read) assert.ok(Number.isFinite(read.value));
      else assert.ok(read.expected.length > 0);
    }),
    { numRuns: each, seed },
  );
}

async function loader() {
  await using folder = await benchFolder();
  const path = `${folder.dir}/trials.csv`;
  const text = mangled(fc.constant(small["trials.csv"]));
  await fc.assert(
    fc.asyncProperty(text, async (csv) => {
      await Deno.writeTextFile(path, csv);
      const { problems, counts } = await inspectBench(folder.dir);
      for (const { file, expected, found } of problems) {
        assert.ok(file.length > 0 && expected.length > 0 && found.length > 0);
      }
      const table = counts["trials.csv"];
      if (table === undefined) return;
      const errors = problems.filter((one) =>
        one.file === "trials.csv" && one.severity === "error"
      );
      const told = table.kept + table.missing + table.excluded;
      assert.ok(told >= table.read || errors.length > 0, "rows went missing without an error");
    }),
    { numRuns: each, seed },
  );
}

async function importer() {
  const mapping = importMapping(
    "m.json",
    JSON.stringify({
      kind: "import-mapping",
      schema: 1,
      decimal: null,
      dates: null,
      unlisted_shoes: "take",
      metrics: [{ id: "mass", unit: "g" }],
      sheets: [{
        header_rows: [1],
        fixed: { operator: "op1", session_date: "2026-03-14", tester: "t1" },
        columns: [
          { column: "A", holds: "shoe" },
          { column: "B", holds: "trial", metric: "mass", unit: "g", notes: "take" },
          { column: "C", holds: "session detail", field: "date" },
          { column: "D", holds: "impression", attribute: "energy" },
        ],
      }],
    }),
    (problem) => assert.fail(JSON.stringify(problem)),
  )!;
  const good = fc.constantFrom(
    "Shoe;Mass;Day;Energy\r\nAlder;300,5;14.3.2026;7\r\nBirch;11.2 oz;2026-03-15;7,5\r\n;;;\r\n",
    'Shoe,Mass,Day,Energy\nAlder,"41.5 (wet)",3/4/2026,-\nAlder,300,14 Mar 2026,8\nCedar,x,,\n',
  );
  await fc.assert(
    fc.asyncProperty(mangled(good), async (text) => {
      try {
        const book = await workbookOf("season.csv", new TextEncoder().encode(text));
        const { counts, not_taken, problems } = importSheet(book, mapping);
        if (problems.length > 0) {
          for (const { column, expected } of problems) assert.ok(column && expected);
          return;
        }
        const filled = book.sheets[0].rows.flat().filter((cell) => cell !== null).length;
        assert.equal(counts.read, filled);
        assert.equal(counts.headers + counts.taken + counts.not_taken, filled);
        for (const { cell, reason } of not_taken) {
          assert.match(cell, /^[A-Z]+\d+$/);
          assert.ok(reason.length > 0);
        }
      } catch (error) {
        if (!(error instanceof WorkbookError)) throw error;
        assert.match(error.message, /season\.csv/);
      }
    }),
    { numRuns: each, seed },
  );
}

for (
  const [name, run] of [["unit parser", unitParser], ["importer", importer], [
    "loader",
    loader,
  ]] as const
) {
  const start = performance.now();
  await run();
  const seconds = ((performance.now() - start) / 1000).toFixed(0);
  console.log(`${name}: ${each} mangled inputs, none crashed or was lost unsaid (${seconds} s)`);
}
