import type { TableFile } from "./types.ts";
import { columnAbout, isMissing, withoutGuard } from "./cells.ts";
import type { CellLedger } from "./import_ledger.ts";
import {
  type ImportConflict,
  type ImportedRow,
  keyOf,
  sameReading,
  sameValue,
} from "./import_row_set.ts";
import { NOT_GIVEN } from "./not_given.ts";
import { quoted } from "./problem.ts";
import { tableSchemas } from "./schemas.ts";
import type { TableRow } from "./write_table.ts";

/** A table as it stands in a bench folder: its cells as text, and the line of each row. */
export type StandingTable = {
  readonly rows: readonly Readonly<Record<string, string>>[];
  readonly lines: readonly number[];
};
/** The tables of a bench folder; those that are not there are absent. */
export type StandingTables = Readonly<Partial<Record<TableFile, StandingTable>>>;

/** What merging did to one table. */
export type TableMerge = {
  readonly rows: readonly TableRow[];
  readonly stood: number;
  readonly added: number;
  /** Rows that stood already and got a value they lacked. */
  readonly filled: number;
  /** Rows given that stood already and said the same. */
  readonly again: number;
};

/** A value that a table must have and nobody gave. */
export type ToFillIn = { readonly file: string; readonly where: string; readonly what: string };

/**
 * Adds imported rows to those that stand in a bench, by key.
 *
 * A row that stands already keeps what it says; a column that it leaves blank is filled in. A value that
 * differs is a conflict: the standing one stays, the cell is listed. A reading that was missing (NA) is
 * filled in when the spreadsheet has it now.
 */
export function importMerge(
  imported: readonly ImportedRow[],
  standing: StandingTables,
  ledger: CellLedger,
): {
  readonly tables: Readonly<Partial<Record<TableFile, TableMerge>>>;
  readonly conflicts: readonly ImportConflict[];
  readonly toFillIn: readonly ToFillIn[];
} {
  const conflicts: ImportConflict[] = [];
  const toFillIn: ToFillIn[] = [];
  const tables: Partial<Record<TableFile, TableMerge>> = {};
  const dated = withDate(imported, standing);
  const usable = imported.filter((row) => {
    const session = row.table === "sessions.csv" || row.table === "trials.csv"
      ? String(row.fields.session_id.value)
      : null;
    if (session === null || dated.has(session)) return true;
    const reason =
      `the session ${quoted(session)} has no date that was read; write its date in the sheet, or ` +
      "the session into sessions.csv";
    if (row.cell >= 0) ledger.notTaken(row.cell, "unreadable", reason);
    else allCells(row).forEach((cell) => ledger.notTaken(cell, "unreadable", reason));
    return false;
  });
  for (const table of Object.keys(tableSchemas) as TableFile[]) {
    const given = table === "testers.csv" ? newTesters(usable, standing) : [];
    given.push(...usable.filter((row) => row.table === table));
    if (given.length === 0) continue;
    tables[table] = mergeTable(table, given, standing[table], ledger, conflicts, toFillIn);
  }
  return { tables, conflicts, toFillIn };
}

function mergeTable(
  table: TableFile,
  given: readonly ImportedRow[],
  standing: StandingTable | undefined,
  ledger: CellLedger,
  conflicts: ImportConflict[],
  toFillIn: ToFillIn[],
): TableMerge {
  const rows: Record<string, string | number>[] = (standing?.rows ?? [])
    .map((row) => standingRow(table, row));
  const byKey = new Map<string, number>();
  rows.forEach((row, i) => {
    const key = keyOf(table, (column) => String(row[column] ?? ""));
    if (!byKey.has(key)) byKey.set(key, i);
  });
  let [added, filled, again] = [0, 0, 0];
  for (const row of given) {
    const at = byKey.get(row.key);
    if (at === undefined) {
      rows.push(newRow(table, row, toFillIn));
      added++;
      continue;
    }
    const place = `${table} line ${standing!.lines[at]}`;
    const outcome = fillIn(table, rows[at], row, place, ledger, conflicts);
    if (outcome === "filled") filled++;
    if (outcome === "again") again++;
  }
  return { rows, stood: standing?.rows.length ?? 0, added, filled, again };
}

function fillIn(
  table: TableFile,
  row: Record<string, string | number>,
  { key, fields, cell }: ImportedRow,
  place: string,
  ledger: CellLedger,
  conflicts: ImportConflict[],
): "filled" | "again" | "conflict" {
  const main = table === "trials.csv" ? "value" : table === "impressions.csv" ? "rating" : null;
  let outcome: "filled" | "again" | "conflict" = "again";
  const settle = (next: typeof outcome) => void (outcome !== "conflict" && (outcome = next));
  const differ = (column: string, kept: string, given: string, cells: readonly number[]) => {
    const given_at = cells.length === 0 ? "the mapping" : ledger.place(cells[0]);
    conflicts.push({ table, key, column, kept, kept_at: place, given, given_at });
    const reason = `${column} of ${key}: ${quoted(given)} here, ${quoted(kept)} in ${place}, ` +
      "which was kept";
    for (const one of cells) ledger.notTaken(one, "conflict", reason);
    settle("conflict");
  };
  if (main !== null) {
    const stands = {
      [main]: { value: row[main] ?? "" },
      ...(table === "trials.csv" ? { unit: { value: row.unit ?? "" } } : {}),
    };
    const wasMissing = isMissing(String(row[main] ?? ""));
    const isMissingNow = isMissing(String(fields[main].value));
    const unit = fields.unit?.value;
    if (wasMissing && !isMissingNow) {
      row[main] = fields[main].value;
      if (unit !== undefined) row.unit = unit;
      settle("filled");
    } else if (!(wasMissing && isMissingNow) && !sameReading(stands, fields, main)) {
      const shown = (value: string | number, of: string | number | undefined) =>
        of === undefined ? String(value) : `${value} ${of}`;
      const kept = shown(row[main] ?? "", table === "trials.csv" ? row.unit : undefined);
      differ(main, kept, shown(fields[main].value, unit), [cell]);
    }
  }
  for (const [column, { value, cells }] of Object.entries(fields)) {
    if (column === main || (column === "unit" && main === "value")) continue;
    if (column === "pair" || column === "trial") continue; // of the key; blank means 1
    const stands = String(row[column] ?? "");
    if (stands.trim() === "") {
      if (String(value).trim() === "") continue;
      row[column] = value;
      settle("filled");
    } else if (!sameValue(stands, value)) differ(column, stands, String(value), cells);
  }
  return outcome;
}

function newRow(
  table: TableFile,
  { key, fields }: ImportedRow,
  toFillIn: ToFillIn[],
): Record<string, string | number> {
  const row = Object.fromEntries(
    Object.entries(fields).map(([column, { value }]) => [column, value]),
  );
  for (const column of REQUIRED[table] ?? []) {
    if (row[column] !== undefined) continue;
    row[column] = NOT_GIVEN;
    toFillIn.push({ file: table, where: key, what: column });
  }
  return row;
}

const REQUIRED: Readonly<Partial<Record<TableFile, readonly string[]>>> = {
  "shoes.csv": ["maker", "model"],
  "sessions.csv": ["operator"],
};

/** A standing row, ready to be written again without a change of what it means. */
export function standingRow(
  table: TableFile,
  row: Readonly<Record<string, string>>,
): Record<string, string | number> {
  const shape = tableSchemas[table].shape;
  return Object.fromEntries(
    Object.entries(row).map(([column, text]) => {
      const isNumber = columnAbout(shape[column as keyof typeof shape]).number;
      if (!isNumber) return [column, withoutGuard(text)];
      const plain = text.trim().replace("−", "-");
      if (plain !== "" && Number.isFinite(Number(plain))) return [column, Number(plain)];
      // The writer would guard a dash as if it began a formula; NA means the same.
      return [column, plain !== "" && isMissing(plain) ? "NA" : text];
    }),
  );
}

function withDate(imported: readonly ImportedRow[], standing: StandingTables): Set<string> {
  const dated = new Set((standing["sessions.csv"]?.rows ?? []).map((row) => row.session_id.trim()));
  for (const { table, fields } of imported) {
    if (table === "sessions.csv" && fields.date) dated.add(String(fields.session_id.value));
  }
  return dated;
}

// testers.csv may be left out; where it stands, the loader wants every tester of the impressions in it.
function newTesters(imported: readonly ImportedRow[], standing: StandingTables): ImportedRow[] {
  const table = standing["testers.csv"];
  if (table === undefined) return [];
  const known = new Set(table.rows.map((row) => row.tester.trim()));
  const rows: ImportedRow[] = [];
  for (const { table: file, fields } of imported) {
    if (file !== "impressions.csv" || known.has(String(fields.tester.value))) continue;
    const tester = String(fields.tester.value);
    known.add(tester);
    rows.push({
      table: "testers.csv",
      key: tester,
      fields: { tester: { value: tester, cells: [] } },
      cell: -1,
    });
  }
  return rows;
}

function allCells({ fields }: ImportedRow): number[] {
  return Object.values(fields).flatMap(({ cells }) => cells);
}
