import assert from "node:assert/strict";
import fc from "fast-check";
import { parse } from "csv-parse/sync";
import { loadBench } from "../../lib/records/load_bench.ts";
import { tableText, writeTable } from "../../lib/records/write_table.ts";
import { writeWhole } from "../../lib/records/write_whole.ts";
import { benchFolder } from "./bench_folder.ts";

const nasty = fc.oneof(
  fc.string({ unit: "grapheme" }),
  fc.stringMatching(/^['=+\-@\t\r\n",; ]{1,4}[a-z=,"\n]{0,4}$/),
);
/** Text that is not blank: a blank cell is read as nothing. */
const text = nasty.filter((value) => value.trim() !== "" && value.isWellFormed());
/** A name: as text, but in one line and without spaces around it, as the loader reads it. */
const name = text.map((value) => value.replace(/[\r\n]+/g, " ").trim()).filter((value) =>
  value !== "" && !/^'*\s/.test(value) && value.trim() === value
);

Deno.test("writeTable() and loadBench() keep every number and text exactly", async () => {
  await using folder = await benchFolder({
    "features.csv": null,
    "rules/index-1.json": null,
    "proposals/more-rebound.json": null,
  });
  const row = fc.record({
    value: fc.oneof(
      fc.double({ min: 100, max: 700, noNaN: true }),
      fc.constantFrom(100, 123.456789012345678, 2 ** 9 + 2 ** -43, null),
    ),
    excluded: fc.option(text),
    note: fc.option(text),
  });
  await fc.assert(
    fc.asyncProperty(fc.array(row, { minLength: 1, maxLength: 20 }), name, async (rows, model) => {
      const trials = rows.map((one, i) => ({
        session_id: "s1",
        shoe_id: "birch",
        metric_id: "mass",
        trial: i + 1,
        unit: "g",
        ...one,
      }));
      await writeTable(`${folder.dir}/trials.csv`, trials);
      await writeTable(`${folder.dir}/shoes.csv`, [
        { shoe_id: "alder", maker: "T", model },
        { shoe_id: "birch", maker: model, model: "B" },
      ]);
      const bench = await loadBench(folder.dir);
      assert.deepEqual(bench.shoes.map((shoe) => [shoe.maker, shoe.model]), [["T", model], [
        model,
        "B",
      ]]);
      assert.deepEqual(
        bench.trials.map(({ value, excluded, note }) => ({ value, excluded, note })),
        rows.map((one) => ({ ...one })),
      );
    }),
    { numRuns: 500, seed: 20260101 },
  );
});

Deno.test("writeTable() leaves no cell that a spreadsheet would run", () => {
  fc.assert(
    fc.property(fc.array(nasty, { minLength: 1 }), (texts) => {
      const cells = parse(tableText(texts.map((cell) => ({ a: cell, b: "x" }))), {
        bom: false,
      }) as string[][];
      assert.ok(cells.every(([cell]) => !/^[=+\-@\t\r\n]/.test(cell)));
    }),
    { seed: 7 },
  );
  assert.equal(
    tableText([{ a: "=cmd()" }, { a: "-5" }, { a: -5 }, { a: "<b>" }]),
    "a\r\n'=cmd()\r\n'-5\r\n-5\r\n<b>\r\n",
  );
});

Deno.test("writeTable() quotes as RFC 4180 says and takes the columns of every row", () => {
  assert.equal(
    tableText([{ a: 'x "y"', b: 1.5 }, { c: true, a: "1,2\n3" }, {}]),
    'a,b,c\r\n"x ""y""",1.5,\r\n"1,2\n3",,true\r\n,,\r\n',
  );
  assert.equal(tableText([{ a: null, b: 1 }], ["b"]), "b\r\n1\r\n");
  assert.throws(
    () => tableText([{ a: 1 }, { a: NaN }]),
    /TypeError.*row 2, column "a": NaN is no/s,
  );
});

Deno.test("writeWhole() leaves the old file and nothing else when it cannot finish", async () => {
  const dir = await Deno.makeTempDir();
  await Deno.mkdir(`${dir}/taken/inside`, { recursive: true });
  await writeWhole(`${dir}/a.txt`, "old");
  await assert.rejects(writeWhole(`${dir}/taken`, "a folder stands there"));
  await assert.rejects(writeWhole(`${dir}/none/a.txt`, "no such folder"));
  await writeWhole(`${dir}/a.txt`, new TextEncoder().encode("new"));
  assert.equal(await Deno.readTextFile(`${dir}/a.txt`), "new");
  assert.deepEqual([...Deno.readDirSync(dir)].map((entry) => entry.name).sort(), [
    "a.txt",
    "taken",
  ]);
  await Deno.remove(dir, { recursive: true });
});

Deno.test("writeWhole() by many at once leaves one of the whole contents", async () => {
  const dir = await Deno.makeTempDir();
  const contents = Array.from({ length: 20 }, (_, i) => String(i).repeat(50_000));
  await Promise.all(contents.map((content) => writeWhole(`${dir}/a.txt`, content)));
  assert.ok(contents.includes(await Deno.readTextFile(`${dir}/a.txt`)));
  assert.equal([...Deno.readDirSync(dir)].length, 1);
  await Deno.remove(dir, { recursive: true });
});
