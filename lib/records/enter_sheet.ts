import { join } from "node:path";
import * as option from "../options.ts";
import { BenchError } from "./bench_error.ts";
import { isMissing } from "./cells.ts";
import { type EnteredRow, enteredRows, type SessionSaid } from "./entered_rows.ts";
import { farReadings } from "./far_readings.ts";
import { folderLock } from "./folder_lock.ts";
import { standingRow, type StandingTables } from "./import_merge.ts";
import { keyOf, sameReading } from "./import_row_set.ts";
import type { Workbook } from "./import_workbook.ts";
import { inspectBench } from "./inspect_bench.ts";
import { loadBench } from "./load_bench.ts";
import { problemInWords } from "./problem.ts";
import { tableSchemas } from "./schemas.ts";
import { ORDER, readStanding } from "./standing_tables.ts";
import type { Problem, TableFile } from "./types.ts";
import { tableText } from "./write_table.ts";
import { writeWhole } from "./write_whole.ts";

/** What entering a filled sheet adds to a bench, or would add. */
export type SheetEntry = {
  readonly code: string | null;
  /** The session that readings belong to; null for ratings. */
  readonly session_id: string | null;
  readonly added: readonly EnteredValue[];
  readonly changed: readonly (EnteredValue & { readonly from: string })[];
  /** Values that stand in the bench already. */
  readonly again: number;
  /** Cells that are still blank. */
  readonly blank: number;
  /** What looks odd about it; nothing of it is an error. */
  readonly odd: readonly string[];
  /** Errors: with any of them nothing is written. */
  readonly problems: readonly Problem[];
  readonly written: readonly string[];
};

/** A value of a sheet, and where it stands. */
export type EnteredValue = {
  readonly what: string;
  readonly value: string;
  readonly line: number;
  readonly column: string;
};

/**
 * Takes a filled bench sheet, or filled rating cards, into a bench.
 *
 * What the bench would be with it is checked as a whole, before anything is written: an error in it stops
 * all of it, what looks odd is listed. The same sheet again changes nothing; a value corrected in the
 * sheet corrects the one that the same sheet gave before, and no other.
 *
 * @param dir the bench
 * @param scratch a folder of this run's own, for the bench as it would be
 * @param write whether to write, or only to say what would be written
 * @throws {BenchError} if the bench has errors of its own
 */
export async function enterSheet(
  dir: string,
  workbook: Workbook,
  { said, scratch, write }: {
    readonly said: SessionSaid;
    readonly scratch: string;
    readonly write: boolean;
  },
): Promise<SheetEntry> {
  option.check("records.enterSheet", arguments[2], {
    said: option.needed(option.thing),
    scratch: option.needed(option.text),
    write: option.needed(option.flag),
  });
  await using _lock = await folderLock(dir, ".import-lock");
  const bench = await loadBench(dir);
  const { rows, session, code, blank, odd, problems } = enteredRows(workbook, bench, said);
  const nothing = {
    code,
    session_id: null,
    added: [],
    changed: [],
    again: 0,
    blank,
    odd,
    written: [],
  };
  if (problems.length > 0) return { ...nothing, problems };
  const standing = await readStanding(dir);
  if (standing.problems.length > 0) throw new BenchError(dir, standing.problems);
  const merged = mergeEntered(rows, session, standing.tables, { code, file: workbook.file });
  if (merged.problems.length > 0) return { ...nothing, problems: merged.problems };

  const texts = textsOf(merged.tables);
  const copy = join(scratch, "as-entered");
  await copyBench(dir, copy);
  for (const [file, text] of texts) await writeWhole(join(copy, file), text);
  const found = await newProblems(dir, copy, merged.placed, workbook.file);
  const far = found.some(({ severity }) => severity === "error")
    ? []
    : farReadings(bench, await loadBench(copy), String(session?.session_id ?? ""));
  const errors = found.filter(({ severity }) => severity === "error");
  const warnings = found.filter(({ severity }) => severity === "warning").map(problemInWords);
  const entry = {
    code,
    session_id: session === null ? null : String(session.session_id),
    added: merged.added,
    changed: merged.changed,
    again: merged.again,
    blank,
    odd: [...odd, ...far, ...warnings],
    problems: errors,
  };
  if (!write || errors.length > 0) return { ...entry, written: [] };
  // The session comes first: broken off between the two, the bench has a session without readings, and
  // the sheet entered again adds them.
  for (const [file, text] of texts) await writeWhole(join(dir, file), text);
  return { ...entry, written: texts.map(([file]) => file) };
}

type Row = Record<string, string | number>;

type Merged = {
  readonly tables: Readonly<Partial<Record<TableFile, readonly Row[]>>>;
  readonly added: readonly EnteredValue[];
  readonly changed: readonly (EnteredValue & { readonly from: string })[];
  readonly again: number;
  readonly problems: readonly Problem[];
  /** By table and line, the sheet's cell that the row comes from. */
  readonly placed: ReadonlyMap<string, EnteredRow["place"]>;
};

function mergeEntered(
  entered: readonly EnteredRow[],
  session: Row | Readonly<Record<string, string | number>> | null,
  standing: StandingTables,
  { code, file }: { readonly code: string | null; readonly file: string },
): Merged {
  const tables: Partial<Record<TableFile, Row[]>> = {};
  const rowsOf = (table: TableFile) =>
    tables[table] ??= (standing[table]?.rows ?? []).map((row) => standingRow(table, row));
  const added: EnteredValue[] = [];
  const changed: (EnteredValue & { from: string })[] = [];
  const problems: Problem[] = [];
  const placed = new Map<string, EnteredRow["place"]>();
  let again = 0;
  for (const { table, row, place, what } of entered) {
    const rows = rowsOf(table);
    const main = table === "trials.csv" ? "value" : "rating";
    const key = keyOf(table, (column) => String(row[column] ?? ""));
    const at = rows.findIndex((one) => keyOf(table, (column) => String(one[column] ?? "")) === key);
    const value = shown(row, main);
    const about = { what, value, ...place };
    if (at < 0) {
      rows.push({ ...row });
      placed.set(`${table} ${rows.length + 1}`, place);
      added.push(about);
      continue;
    }
    placed.set(`${table} ${at + 2}`, place);
    const stands = rows[at];
    const cells = (one: Row | EnteredRow["row"]) =>
      Object.fromEntries([main, "unit"].map((name) => [name, { value: one[name] ?? "" }]));
    const bothMissing = isMissing(String(stands[main] ?? "")) && isMissing(String(row[main]));
    if (bothMissing || sameReading(cells(stands), cells(row), main)) {
      again++;
      continue;
    }
    const isOwn = code !== null && String(stands.note ?? "").includes(`sheet ${code}`);
    if (!isOwn && !isMissing(String(stands[main] ?? ""))) {
      problems.push({
        file,
        line: place.line,
        column: place.column,
        found: value,
        expected: `${shown(stands, main)}, which ${table} line ${at + 2} has for ${what}`,
        fix:
          "It did not come from this sheet, so it is not replaced. Correct it there, or say another day, " +
          "operator or rig.",
        severity: "error",
      });
      continue;
    }
    changed.push({ ...about, from: shown(stands, main) });
    rows[at] = { ...stands, ...row };
  }
  if (session !== null && added.length + changed.length > 0) addSession(rowsOf, session);
  addTesters(rowsOf, standing, entered);
  return { tables, added, changed, again, problems, placed };
}

function addSession(
  rowsOf: (table: TableFile) => Row[],
  session: Readonly<Record<string, string | number>>,
): void {
  const rows = rowsOf("sessions.csv");
  const stands = rows.find((row) => row.session_id === session.session_id);
  if (stands === undefined) rows.push({ ...session });
  else {
    for (const [column, value] of Object.entries(session)) {
      if (String(stands[column] ?? "").trim() === "") stands[column] = value;
    }
  }
}

/** Where testers.csv stands, every tester of the ratings has to be in it. */
function addTesters(
  rowsOf: (table: TableFile) => Row[],
  standing: StandingTables,
  entered: readonly EnteredRow[],
): void {
  const table = standing["testers.csv"];
  if (table === undefined || table.rows.length === 0) return;
  const testers = entered.flatMap(({ table, row }) =>
    table === "impressions.csv" ? [String(row.tester)] : []
  );
  for (const tester of new Set(testers)) {
    if (table.rows.some((row) => row.tester.trim() === tester)) continue;
    rowsOf("testers.csv").push({ tester });
  }
}

function shown(row: Readonly<Record<string, string | number>>, main: string): string {
  return `${row[main]}${row.unit === undefined ? "" : ` ${row.unit}`}`;
}

function textsOf(tables: Merged["tables"]): (readonly [TableFile, string])[] {
  return ORDER.flatMap((file) => {
    const rows = tables[file];
    if (rows === undefined) return [];
    return [[file, tableText(rows, Object.keys(tableSchemas[file].shape))] as const];
  });
}

/** What the checks find in the bench as it would be, and not in the bench as it is. */
async function newProblems(
  dir: string,
  copy: string,
  placed: Merged["placed"],
  file: string,
): Promise<Problem[]> {
  const before = new Set((await inspectBench(dir)).problems.map(problemInWords));
  const { problems } = await inspectBench(copy);
  return problems.filter((problem) => !before.has(problemInWords(problem))).map((problem) => {
    const place = placed.get(`${problem.file} ${problem.line}`);
    return place === undefined ? problem : { ...problem, file, ...place };
  });
}

async function copyBench(from: string, to: string): Promise<void> {
  await Deno.mkdir(to, { recursive: true });
  for await (const { name, isDirectory } of Deno.readDir(from)) {
    if (isDirectory && (name === "rules" || name === "proposals")) {
      await copyBench(join(from, name), join(to, name));
    } else if (!isDirectory && /\.(csv|json)$/.test(name)) {
      await Deno.copyFile(join(from, name), join(to, name));
    }
  }
}
