import type { TableFile } from "./types.ts";
import type { CellLedger } from "./import_ledger.ts";
import { quoted } from "./problem.ts";
import { convert, sameDimension } from "./units.ts";

/** One row of a table that a spreadsheet gave. */
export type ImportedRow = {
  readonly table: TableFile;
  readonly key: string;
  readonly fields: Fields;
  /** The cell of its reading; -1 for a shoe, a session or a feature, which many cells make. */
  readonly cell: number;
};

/** Two values for one thing, and where each stands. */
export type ImportConflict = {
  readonly table: TableFile;
  readonly key: string;
  readonly column: string;
  readonly kept: string;
  readonly kept_at: string;
  readonly given: string;
  readonly given_at: string;
};

/** The rows that an import gathers; nothing stands in it twice. */
export type ImportRows = {
  /** A shoe, a session or a feature: cells of many rows may say the same of it. */
  readonly addEntity: (table: TableFile, key: Fields, fields: Fields) => void;
  /** A trial or an impression: one cell makes it. */
  readonly addReading: (table: TableFile, cell: number, key: Fields, fields: Fields) => void;
  readonly all: () => readonly ImportedRow[];
  readonly conflicts: () => readonly ImportConflict[];
};

/** The columns that make a row's key, in the order of the key. */
export const KEYS: Readonly<Record<TableFile, readonly string[]>> = {
  "shoes.csv": ["shoe_id"],
  "features.csv": ["shoe_id", "feature_id"],
  "sessions.csv": ["session_id"],
  "trials.csv": ["session_id", "shoe_id", "metric_id", "pair", "side", "trial"],
  "series.csv": ["session_id", "shoe_id", "series_id", "pair", "trial", "at"],
  "impressions.csv": ["date", "tester", "shoe_id", "attribute"],
  "testers.csv": ["tester"],
  "pairs.csv": ["shoe_id", "pair"],
  "decisions.csv": ["date", "kind", "about"],
  "calibrations.csv": [
    "date",
    "rig",
    "metric_id",
    "reference_value",
    "reading",
  ],
};

/** A row's key, in words that can be compared: `s1, alder, mass, pair 1, trial 2`. */
export function keyOf(table: TableFile, value: (column: string) => string): string {
  return KEYS[table].map((column) => {
    const text = value(column).trim();
    if (column === "pair") return `pair ${text === "" ? 1 : Number(text)}`;
    if (column === "trial") return `trial ${Number(text)}`;
    return text;
  }).filter((part) => part !== "").join(", ");
}

/** Starts gathering; what can't be gathered is listed in the ledger. */
export function importRowSet(ledger: CellLedger): ImportRows {
  const rows = new Map<string, ImportedRow>();
  const conflicts: ImportConflict[] = [];
  const keyed = (table: TableFile, key: Fields) =>
    keyOf(table, (column) => String(key[column]?.value ?? ""));
  const placeOf = ({ cells }: Field) => cells.length === 0 ? "the mapping" : ledger.place(cells[0]);
  const take = (fields: Fields) => {
    for (const { cells } of Object.values(fields)) cells.forEach((cell) => ledger.taken(cell));
  };
  return {
    addEntity(table, key, fields) {
      const name = keyed(table, key);
      const found = rows.get(`${table}\0${name}`);
      take(key);
      if (found === undefined) {
        take(fields);
        rows.set(`${table}\0${name}`, {
          table,
          key: name,
          fields: { ...key, ...fields },
          cell: -1,
        });
        return;
      }
      for (const [column, field] of Object.entries(fields)) {
        const first = found.fields[column];
        if (first === undefined) found.fields[column] = field;
        else if (!sameValue(first.value, field.value)) {
          const kept = { kept: String(first.value), kept_at: placeOf(first) };
          const given = { given: String(field.value), given_at: placeOf(field) };
          conflicts.push({ table, key: name, column, ...kept, ...given });
          const reason =
            `${column} of ${name}: ${quoted(given.given)} here, ${quoted(kept.kept)} ` +
            `in ${kept.kept_at}, which was kept`;
          field.cells.forEach((cell) => ledger.notTaken(cell, "conflict", reason));
        }
        field.cells.forEach((cell) => ledger.taken(cell));
      }
    },
    addReading(table, cell, key, fields) {
      const name = keyed(table, key);
      const found = rows.get(`${table}\0${name}`);
      if (found === undefined) {
        take(key);
        take(fields);
        rows.set(`${table}\0${name}`, { table, key: name, fields: { ...key, ...fields }, cell });
        return;
      }
      const main = table === "trials.csv" ? "value" : "rating";
      const [kept, given] = [shownReading(found.fields, main), shownReading(fields, main)];
      const keptAt = ledger.place(found.cell);
      if (sameReading(found.fields, fields, main)) {
        ledger.notTaken(cell, "repeat", `${name} again, with the same value as ${keptAt}`);
        return;
      }
      const places = { kept, kept_at: keptAt, given, given_at: ledger.place(cell) };
      conflicts.push({ table, key: name, column: main, ...places });
      const reason = `${name}: ${quoted(given)} here, ${quoted(kept)} in ${keptAt}, which was kept`;
      ledger.notTaken(cell, "conflict", reason);
    },
    all: () => [...rows.values()],
    conflicts: () => conflicts,
  };
}

/** Do two cells of a table say the same? Numbers are compared as numbers. */
export function sameValue(a: string | number, b: string | number): boolean {
  const [left, right] = [String(a).trim(), String(b).trim()];
  if (left === right) return true;
  return left !== "" && right !== "" && Number(left) === Number(right);
}

/** Do two readings say the same, whatever their units? */
export function sameReading(
  a: Readonly<Record<string, { readonly value: string | number }>>,
  b: Readonly<Record<string, { readonly value: string | number }>>,
  main: string,
): boolean {
  const [left, right] = [a[main]?.value ?? "", b[main]?.value ?? ""];
  const [from, to] = [String(a.unit?.value ?? ""), String(b.unit?.value ?? "")];
  if (from === to) return sameValue(left, right);
  const [x, y] = [Number(left), Number(right)];
  if (Number.isNaN(x) || Number.isNaN(y) || !sameDimension(from, to)) return sameValue(left, right);
  const turned = convert(x, from, to);
  return Math.abs(turned - y) <= 1e-9 * Math.max(Math.abs(turned), Math.abs(y));
}

function shownReading(fields: Fields, main: string): string {
  const unit = fields.unit === undefined ? "" : ` ${fields.unit.value}`;
  return `${fields[main].value}${unit}`;
}

/** A field's value with the cells it came from; none when the mapping itself says it. */
export type Field = { readonly value: string | number; readonly cells: readonly number[] };

export type Fields = Record<string, Field>;
