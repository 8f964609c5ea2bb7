import assert from "node:assert/strict";
import fc from "fast-check";
import { inspectBench } from "../../lib/records/inspect_bench.ts";
import { type ImportMapping, importMapping } from "../../lib/records/import_mapping.ts";
import type { StandingTables } from "../../lib/records/import_merge.ts";
import { importSheet } from "../../lib/records/import_sheet.ts";
import { importSuggest } from "../../lib/records/import_suggest.ts";
import { type Workbook, WorkbookError, workbookOf } from "../../lib/records/import_workbook.ts";
import type { Problem } from "../../lib/records/types.ts";
import { parseQuantity, units } from "../../lib/records/units.ts";
import { benchFolder, small } from "./bench_folder.ts";
import { MAPPING, SHAPES, WIDE } from "./mangled_sheets.ts";

/**
 * Inputs that people and programs have spoilt, and what must hold of each: no crash, nothing lost
 * without a word, every error with a place. `unitsInput` and the like each try `runs` inputs and say
 * how many of them were taken.
 */
export type Tried = { readonly runs: number; readonly taken: number };

type Runs = { readonly runs: number; readonly seed?: number };

const SEED = 20260101;

/** Bytes put in, cut out and overwritten, most of them such as matter to a table. */
function mangled(original: Uint8Array, most = 6): fc.Arbitrary<Uint8Array> {
  const marks = fc.constantFrom(...new TextEncoder().encode('",;\n\r\t.-=()/0189'));
  // Any byte at all is seldom UTF-8, which is refused before the rest is looked at.
  const byte = fc.oneof(
    { weight: 15, arbitrary: marks },
    { weight: 1, arbitrary: fc.nat(255) },
  );
  const edit = fc.record({
    at: fc.nat(original.length),
    cut: fc.nat(3),
    put: fc.array(byte, { maxLength: 3 }),
  });
  return fc.array(edit, { minLength: 1, maxLength: most }).map((edits) => {
    let bytes = [...original];
    for (const { at, cut, put } of edits) {
      bytes = [...bytes.slice(0, at), ...put, ...bytes.slice(at + cut)];
    }
    return Uint8Array.from(bytes);
  });
}

/** A number and a unit as people type them: every digit is read, or the cell is refused in words. */
export function unitsInput({ runs, seed = SEED }: Runs): Tried {
  const spelling = fc.constantFrom(...units.flatMap(({ code, spellings }) => [code, ...spellings]));
  const digits = fc.string({ unit: fc.constantFrom(..."0123456789.,-+e' "), maxLength: 10 });
  const typed = fc.tuple(
    digits,
    fc.constantFrom("", " ", "\u00a0"),
    fc.oneof(spelling, fc.string()),
  )
    .map((parts) => parts.join(""));
  const text = fc.oneof(
    { weight: 3, arbitrary: typed },
    { weight: 1, arbitrary: fc.string({ unit: "binary" }) },
  );
  const decimal = fc.constantFrom(null, "." as const, "," as const);
  let taken = 0;
  fc.assert(
    fc.property(text, decimal, (content, mark) => {
      const read = parseQuantity(content, { decimal: mark });
      if (!("value" in read)) {
        assert.notEqual(read.expected, "");
        return;
      }
      taken++;
      assert.ok(Number.isFinite(read.value), content);
      // Read again by other means: what is left once the unit is off must be that number, whole.
      const bare = content.trim();
      const ends = read.unit === null ? [""] : units.filter(({ code }) => code === read.unit)
        .flatMap((u) => [u.code, ...u.spellings, ...(DEGREES[u.code] ?? [])]);
      const numbers = ends.filter((end) => bare.endsWith(end))
        .map((end) => bare.slice(0, bare.length - end.length).trim().replace(",", "."));
      const same = (number: string) =>
        Number(number) === read.value || fraction(number) === read.value;
      assert.ok(numbers.some(same), JSON.stringify(content));
    }),
    { numRuns: runs, seed },
  );
  return { runs, taken };
}

/** How a temperature may end besides by its unit's spellings. */
const DEGREES: Readonly<Record<string, readonly string[]>> = {
  "[degF]": ["F", "deg F", "° F"],
  Cel: ["C", "deg C", "° C"],
};

const FRACTIONS =
  "½ 0.5 ¼ 0.25 ¾ 0.75 ⅓ 0.333333333333 ⅔ 0.666666666667 ⅛ 0.125 ⅜ 0.375 ⅝ 0.625 ⅞ 0.875"
    .split(" ");

/** `7½` and `7 1/2` by another way than the kit's: a list, and a division. */
function fraction(text: string): number {
  const mark = FRACTIONS.findIndex((one, i) => i % 2 === 0 && text.endsWith(one));
  const spelled = /^(\d+) +(\d)\/(\d)$/.exec(text);
  const [ones, rest] = spelled !== null
    ? [spelled[1], Number(spelled[2]) / Number(spelled[3])]
    : [text.slice(0, -1).trim(), Number(FRACTIONS[mark + 1])];
  return Number((Number(ones || "0") + rest).toPrecision(12));
}

function mappingOf(json: string): { mapping: ImportMapping | null; problems: Problem[] } {
  const problems: Problem[] = [];
  return { mapping: importMapping("m.json", json, (one) => problems.push(one)), problems };
}

/** A spoilt CSV sheet: every filled cell is a header, a reading that is there, or listed. */
export async function csvInput({ runs, seed = SEED }: Runs): Promise<Tried> {
  let taken = 0;
  const spoilt = fc.constantFrom(...SHAPES).chain(([bytes, json]) =>
    fc.tuple(mangled(bytes), fc.constant(mappingOf(JSON.stringify(json)).mapping!))
  );
  await fc.assert(
    fc.asyncProperty(spoilt, async ([bytes, mapping]) => {
      const workbook = await bookOrRefusal("season.csv", bytes);
      if (workbook === null) return;
      const result = importSheet(workbook, mapping);
      if (result.problems.length > 0) return assertPlaces(result.problems, "mapping");
      taken++;
      assertNothingLost(workbook, mapping, result);
      assertTwiceIsOnce(workbook, mapping, result);
    }),
    { numRuns: runs, seed },
  );
  return { runs, taken };
}

/** A spoilt sheet of any content: the mapping suggested for it fits it, and loses no cell. */
export async function suggestInput({ runs, seed = SEED }: Runs): Promise<Tried> {
  const word = fc.oneof(
    fc.constantFrom(
      ..."Shoe,Date,Heel 1,Heel 2,mass (g),yes,x,no,14.3.2026,3/4/2026,48.5,28;4 cm,1,234,Mean,T1 grip,Test,Reading,Unit,cm,Who,Brand,Model,Trial,Player,Comfort,Attribute,Rating,,,"
        .split(","),
    ),
    fc.double({ noNaN: true, min: -100, max: 500 }).map(String),
    fc.string({ maxLength: 6 }),
  );
  const rows = fc.array(fc.array(word, { maxLength: 6 }), { maxLength: 8 });
  let taken = 0;
  await fc.assert(
    fc.asyncProperty(rows, async (cells) => {
      const text = cells.map((row) =>
        row.map((cell) => `"${cell.replaceAll('"', '""')}"`).join(";")
      ).join("\n");
      const workbook = await bookOrRefusal("season.csv", new TextEncoder().encode(text));
      if (workbook === null || !workbook.sheets.some(({ rows }) => rows.flat().some(Boolean))) {
        return;
      }
      // What the suggestion asks for is written in, as a person would.
      const fixed = {
        shoe: "Alder",
        operator: "op1",
        session_date: "2026-03-14",
        tester: "t1",
        impression_date: "2026-03-15",
      };
      const suggested = importSuggest(workbook);
      const sheets = (suggested.sheets as object[]).map((sheet) => ({ ...sheet, fixed }));
      const json = JSON.stringify({ ...suggested, unlisted_shoes: "take", sheets });
      const { mapping, problems } = mappingOf(json);
      assert.deepEqual(problems, [], json);
      const result = importSheet(workbook, mapping!);
      if (result.problems.length > 0) return assertPlaces(result.problems, "mapping");
      taken++;
      assertNothingLost(workbook, mapping!, result);
    }),
    { numRuns: runs, seed },
  );
  return { runs, taken };
}

/** A damaged .xlsx file: refused in words, or read as if it were whole. */
export async function xlsxInput(path: URL, { runs, seed = SEED }: Runs): Promise<Tried> {
  const original = await Deno.readFile(path);
  const whole = JSON.stringify((await workbookOf("wide.xlsx", original)).sheets);
  const damage = fc.oneof(
    mangled(original, 2),
    fc.nat(original.length).map((length) => original.slice(0, length)),
    fc.tuple(fc.nat(original.length - 1), fc.nat(7)).map(([at, bit]) => {
      const bytes = original.slice();
      bytes[at] ^= 1 << bit;
      return bytes;
    }),
  );
  let taken = 0;
  await fc.assert(
    fc.asyncProperty(damage, async (bytes) => {
      const workbook = await within(10_000, bookOrRefusal("wide.xlsx", bytes));
      if (workbook === null) return;
      taken++;
      // A file that no longer begins as .xlsx does is refused by its name, so this is the workbook.
      assert.equal(JSON.stringify(workbook.sheets), whole);
    }),
    { numRuns: runs, seed },
  );
  return { runs, taken };
}

/** A spoilt mapping: refused with file, line and what was expected, or used without a loss. */
export async function mappingInput({ runs, seed = SEED }: Runs): Promise<Tried> {
  const original = new TextEncoder().encode(JSON.stringify(MAPPING, null, 1));
  const workbook = await workbookOf("season.csv", WIDE);
  let taken = 0;
  fc.assert(
    fc.property(mangled(original, 3), (bytes) => {
      const { mapping, problems } = mappingOf(new TextDecoder().decode(bytes));
      assertPlaces(problems, "m.json");
      if (mapping === null) {
        assert.ok(problems.some(({ severity }) => severity === "error"));
        return;
      }
      const result = importSheet(workbook, mapping);
      if (result.problems.length > 0) return assertPlaces(result.problems, "mapping");
      taken++;
      assertNothingLost(workbook, mapping, result);
    }),
    { numRuns: runs, seed },
  );
  return { runs, taken };
}

const TABLES = [
  "trials.csv",
  "impressions.csv",
  "shoes.csv",
  "sessions.csv",
  "features.csv",
  "testers.csv",
] as const;

/** A bench with one spoilt table: every row is kept, counted or named in a problem. */
export async function loaderInput({ runs, seed = SEED }: Runs): Promise<Tried> {
  await using folder = await benchFolder();
  const spoilt = fc.constantFrom(...TABLES).chain((file) =>
    fc.tuple(fc.constant(file), mangled(new TextEncoder().encode(small[file])))
  );
  let taken = 0;
  await fc.assert(
    fc.asyncProperty(spoilt, async ([file, bytes]) => {
      await Deno.writeFile(`${folder.dir}/${file}`, bytes);
      const { problems, counts } = await inspectBench(folder.dir);
      await Deno.writeTextFile(`${folder.dir}/${file}`, small[file]);
      for (const { file: where, line, expected } of problems) {
        assert.ok(where !== "" && expected !== "");
        assert.ok(line === null || line >= 1);
      }
      const { read, kept, missing, excluded } = counts[file];
      const failed = new Set(
        problems.flatMap((one) => one.severity === "error" && one.file === file ? [one.line] : []),
      );
      assert.ok(kept + missing + excluded + failed.size >= read);
      if (failed.size === 0) taken++;
    }),
    { numRuns: runs, seed },
  );
  return { runs, taken };
}

async function bookOrRefusal(file: string, bytes: Uint8Array): Promise<Workbook | null> {
  try {
    return await workbookOf(file, bytes);
  } catch (error) {
    assert.ok(error instanceof WorkbookError, `${error}`);
    assert.ok(error.message.includes(file), error.message);
    return null;
  }
}

function assertPlaces(problems: readonly Problem[], file: string): void {
  for (const problem of problems) {
    assert.equal(problem.file, file);
    assert.ok(problem.line !== null || problem.column !== null, JSON.stringify(problem));
    assert.ok(problem.found !== "" && problem.expected !== "", JSON.stringify(problem));
  }
}

type Result = ReturnType<typeof importSheet>;

/** Counts the cells again from the workbook itself, and the readings again from the tables. */
function assertNothingLost(
  workbook: Workbook,
  mapping: ImportMapping,
  { counts, not_taken, tables }: Result,
): void {
  const filled = workbook.sheets.reduce(
    (sum, { rows }) => sum + rows.flat().filter((cell) => cell !== null).length,
    0,
  );
  assert.equal(counts.read, filled);
  assert.equal(counts.headers + counts.taken + counts.not_taken, filled);
  assert.equal(not_taken.length, counts.not_taken);
  const places = new Set(not_taken.map(({ sheet, cell }) => `${sheet}!${cell}`));
  assert.equal(places.size, not_taken.length);
  for (const { cell, reason } of not_taken) {
    assert.match(cell, /^[A-Z]+\d+$/);
    assert.notEqual(reason, "");
  }
  for (
    const [table, holds] of [["trials.csv", "trial"], ["impressions.csv", "impression"]] as const
  ) {
    let readings = 0;
    for (const about of mapping.sheets) {
      const sheet = workbook.sheets[0];
      const numberOf = (letters: string) => letters.charCodeAt(0) - 64;
      // Lines are a sheet's rows, or the columns of a turned one.
      const headers = about.turned
        ? about.header_columns!.map(numberOf)
        : about.header_rows as readonly number[];
      const across = new Set(
        about.columns.flatMap(({ holds: kind, column, row, header }) =>
          kind !== holds ? [] : [
            row ?? (column === undefined
              ? headerAt(sheet, headers, header!, about.turned)
              : numberOf(column)),
          ]
        ),
      );
      sheet.rows.forEach((row, r) =>
        row.forEach((content, c) => {
          const [line, place] = about.turned ? [c + 1, r + 1] : [r + 1, c + 1];
          if (content === null || line <= Math.max(...headers) || !across.has(place)) return;
          const address = `${String.fromCharCode(65 + c)}${r + 1}`;
          if (!places.has(`${sheet.name}!${address}`)) readings++;
        })
      );
    }
    assert.equal(tables[table]?.added ?? 0, readings, table);
  }
}

/** The place, counted from 1, of the line whose headers make this one together. */
function headerAt(
  { rows }: Workbook["sheets"][number],
  headers: readonly number[],
  header: string,
  turned: boolean,
): number {
  const plain = (text: string) => text.normalize("NFKC").trim().replace(/\s+/g, " ").toLowerCase();
  const size = turned ? rows.length : Math.max(...rows.map(({ length }) => length));
  for (let place = 0; place < size; place++) {
    const parts = headers.flatMap((line) => {
      const cell = (turned ? rows[place]?.[line - 1] : rows[line - 1]?.[place]) ?? null;
      return cell?.kind === "text" ? [cell.text.trim()] : [];
    });
    const distinct = parts.filter((part, i) => part !== parts[i - 1]);
    if (plain(distinct.join(" / ")) === plain(header)) return place + 1;
  }
  return 0;
}

/** The tables that an import gave, brought in again: not one more row, not one new conflict. */
function assertTwiceIsOnce(workbook: Workbook, mapping: ImportMapping, first: Result): void {
  const standing: StandingTables = Object.fromEntries(
    Object.entries(first.tables).map(([file, { rows }]) => [file, {
      rows: rows.map((row) =>
        Object.fromEntries(Object.entries(row).map(([name, value]) => [name, String(value ?? "")]))
      ),
      lines: rows.map((_, i) => i + 2),
    }]),
  );
  const second = importSheet(workbook, mapping, { standing });
  for (const [file, { added, filled }] of Object.entries(second.tables)) {
    assert.deepEqual([added, filled], [0, 0], file);
  }
  assert.equal(second.conflicts.length, first.conflicts.length);
  assert.deepEqual(second.counts, first.counts);
}

/** A reader that never answers would hang the run without a word. */
async function within<T>(milliseconds: number, work: Promise<T>): Promise<T> {
  let timer: ReturnType<typeof setTimeout> | undefined;
  const late = new Promise<never>((_, reject) => {
    timer = setTimeout(() => reject(new Error(`no answer in ${milliseconds} ms`)), milliseconds);
  });
  return await Promise.race([work, late]).finally(() => clearTimeout(timer));
}
