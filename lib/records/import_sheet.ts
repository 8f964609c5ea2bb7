import * as option from "../options.ts";
import { plainName } from "./import_cells.ts";
import { withoutGuard } from "./cells.ts";
import { importColumns, type MappingSource, type PlacedSheet } from "./import_columns.ts";
import {
  type CellCounts,
  type CellInPart,
  type CellLedger,
  type CellNotTaken,
  importLedger,
} from "./import_ledger.ts";
import type { ImportMapping } from "./import_mapping.ts";
import {
  importMerge,
  type StandingTables,
  type TableMerge,
  type ToFillIn,
} from "./import_merge.ts";
import { type ImportConflict, importRowSet } from "./import_row_set.ts";
import { NOT_GIVEN } from "./not_given.ts";
import { importRows, type RowCount, type RowReading } from "./import_rows.ts";
import { type NameTaken, otherNames } from "./import_names.ts";
import { type ShoeName, shoeNames } from "./import_shoe_names.ts";
import type { Workbook } from "./import_workbook.ts";
import { lineOf } from "./json_file.ts";
import { quoted } from "./problem.ts";
import { nearestName } from "../similar_names.ts";
import type { Problem, TableFile } from "./types.ts";

/** A comment that hangs on a cell and is not in the bench. */
export type CommentNotTaken = {
  readonly sheet: string;
  readonly cell: string;
  readonly comment: string;
};

/** What a spreadsheet gave to a bench, and what it did not. */
export type SheetImport = {
  /** Errors in the mapping; when there are any, nothing else was done. */
  readonly problems: readonly Problem[];
  /** Tables with rows from the spreadsheet, merged with those that stood. */
  readonly tables: Readonly<Partial<Record<TableFile, TableMerge>>>;
  readonly counts: CellCounts;
  readonly not_taken: readonly CellNotTaken[];
  readonly taken_in_part: readonly CellInPart[];
  readonly comments_not_taken: readonly CommentNotTaken[];
  readonly conflicts: readonly ImportConflict[];
  readonly shoe_names: readonly ShoeName[];
  /** Other names that stand in the bench in other words than in the spreadsheet. */
  readonly other_names: readonly NameTaken[];
  readonly to_fill_in: readonly ToFillIn[];
  /** How the rows of each sheet became shoes. */
  readonly rows: readonly SheetRowCount[];
};

/** How many rows of a sheet were read, and of how many shoes they are. */
export type SheetRowCount = {
  readonly sheet: string;
  readonly rows: number;
  readonly shoes: number;
  /** Whether readings are numbered as their rows come, so that none of them is one twice. */
  readonly in_order: boolean;
  /** Shoes with several rows that only their readings tell apart, with how many. */
  readonly repeated: readonly { readonly shoe_id: string; readonly rows: number }[];
};

/**
 * Which rows of a bench does a spreadsheet give, and which of its cells does it not?
 *
 * Every filled cell is a header, is taken, or is listed with its place and the reason; the counts add
 * up. Rows are merged by key with those of the bench, so that the same spreadsheet twice, or a later
 * export of it, doubles nothing; a value that differs from one that stands is listed, never written.
 *
 * @param standing the bench's tables as they are; those that are not there may be left out
 * @param metricUnits unit of each metric that the bench has already
 * @param rating the bench's scale of ratings: what lies outside is not taken
 * @param sizeSystem what the bench counts sizes in
 * @param source the mapping's file, so that problems can name its lines
 */
export function importSheet(
  workbook: Workbook,
  mapping: ImportMapping,
  {
    standing = {},
    metricUnits = new Map(),
    source = { file: "mapping", text: "" },
    rating = mapping.bench?.rating ?? null,
    sizeSystem = mapping.bench?.size_system ?? null,
  }: {
    readonly standing?: StandingTables;
    readonly rating?: { readonly min: number; readonly max: number } | null;
    readonly sizeSystem?: string | null;
    readonly metricUnits?: ReadonlyMap<string, string>;
    readonly source?: MappingSource;
  } = {},
): SheetImport {
  option.check("records.importSheet", arguments[2], {
    standing: option.thing,
    rating: option.orNull(option.thing),
    sizeSystem: option.orNull(option.text),
    metricUnits: option.thing,
    source: option.thing,
  });
  const problems: Problem[] = [];
  const onProblem = (problem: Problem) => void problems.push(problem);
  checkNames(mapping, metricUnits, source, onProblem);
  const placed = importColumns(workbook, mapping, source, onProblem);
  const ledger = importLedger(workbook);
  if (problems.length > 0) return { ...NOTHING, problems };

  const units = new Map([
    ...mapping.metrics.map(({ id, unit }) => [id, unit] as const),
    ...metricUnits,
  ]);
  const known = (standing["shoes.csv"]?.rows ?? []).map((row) => row.shoe_id.trim());
  const shoes = shoeNames(mapping, known);
  const names = otherNames(mapping, units.keys());
  const rows = importRowSet(ledger);
  const commentsTaken = new Set<string>();
  for (const { shoe_id, maker, model, edition } of mapping.shoes) {
    // Said again for each sheet's shoes by `addEntity`; only shoes that occur are kept below.
    const about = { maker, model, edition };
    rows.addEntity("shoes.csv", { shoe_id: { value: shoe_id, cells: [] } }, {
      ...Object.fromEntries(
        Object.entries(about).flatMap(([name, value]) =>
          value === undefined ? [] : [[name, { value, cells: [] }]]
        ),
      ),
    });
  }
  const rowsOf = new Map<PlacedSheet, RowCount>();
  const reading: RowReading = {
    mapping,
    ledger,
    shoes,
    names,
    rows,
    metricUnits: units,
    commentsTaken,
    readingsOf: new Map(),
    ratings: { scale: rating, words: mapping.rating_words },
    sizeSystem,
    identities: standingIdentities(standing),
    rowsOf,
  };
  for (const one of placed) importRows(one, reading);
  listUnread(workbook, placed, ledger);
  const met = shoes.met();
  const occurring = new Set(met.map(({ shoe_id }) => shoe_id));
  const imported = rows.all().filter(({ table, key }) =>
    table !== "shoes.csv" || occurring.has(key)
  );
  const { tables, conflicts, toFillIn } = importMerge(imported, standing, ledger);
  const comments = workbook.sheets.flatMap(({ name, comments }) =>
    [...comments].filter(([cell]) => !commentsTaken.has(`${plainName(name)}!${cell}`))
      .map(([cell, comment]) => ({ sheet: name, cell, comment }))
  );
  return {
    problems,
    tables,
    ...ledger.close(),
    comments_not_taken: comments,
    conflicts: [...rows.conflicts(), ...conflicts],
    shoe_names: met,
    other_names: names.changed(),
    to_fill_in: toFillIn,
    rows: [...rowsOf].map(([{ sheet, columns }, { rows, shoes, repeated }]) => ({
      sheet: sheet.name,
      in_order: columns.some(({ about }) => about.holds === "trial" && about.trial === "in order"),
      rows,
      shoes: shoes.size,
      repeated: [...repeated].map(([shoe_id, rows]) => ({ shoe_id, rows })),
    })),
  };
}

/** Maker, model and edition of the shoes that the bench has. */
function standingIdentities(standing: StandingTables): RowReading["identities"] {
  const { rows = [], lines = [] } = standing["shoes.csv"] ?? {};
  return new Map(rows.map((row, i) => {
    const parts = ["maker", "model", "edition"].filter((name) =>
      (row[name] ?? "").trim() !== "" && row[name] !== NOT_GIVEN
    );
    const at = `shoes.csv line ${lines[i]}`;
    const said = parts.map((name) => [name, { value: withoutGuard(row[name]).trim(), at }]);
    return [row.shoe_id.trim(), Object.fromEntries(said)];
  }));
}

/** Lists the cells that no part of the mapping speaks of. */
function listUnread(
  workbook: Workbook,
  placed: readonly PlacedSheet[],
  ledger: CellLedger,
): void {
  for (const sheet of workbook.sheets) {
    const parts = placed.map((one) => one.sheet);
    const isTable = parts.some(({ partOf }) => partOf?.sheet === sheet);
    if (!isTable && parts.some((one) => (one.turnedFrom ?? one) === sheet)) continue;
    const reason = isTable
      ? "no part of the mapping reads this column"
      : "the mapping does not name this sheet";
    sheet.rows.forEach((row, r) =>
      row.forEach((_, c) => {
        const cell = ledger.cellAt(sheet, r, c);
        if (ledger.isOpen(cell)) ledger.notTaken(cell, "left out", reason);
      })
    );
  }
}

const NOTHING: Omit<SheetImport, "problems"> = {
  tables: {},
  counts: { read: 0, headers: 0, taken: 0, not_taken: 0 },
  not_taken: [],
  taken_in_part: [],
  comments_not_taken: [],
  conflicts: [],
  shoe_names: [],
  other_names: [],
  to_fill_in: [],
  rows: [],
};

function checkNames(
  mapping: ImportMapping,
  metricUnits: ReadonlyMap<string, string>,
  { file, text }: MappingSource,
  onProblem: (problem: Problem) => void,
): void {
  const report = (
    path: readonly PropertyKey[],
    column: string,
    found: string,
    expected: string,
    fix = "",
  ) =>
    onProblem({
      file,
      line: text === "" ? null : lineOf(text, path),
      column,
      found,
      expected,
      fix,
      severity: "error",
    });
  const spelt = new Map<string, string>();
  mapping.shoes.forEach(({ shoe_id, spelt: names }, i) => {
    if (mapping.shoes.findIndex((shoe) => shoe.shoe_id === shoe_id) !== i) {
      const column = `shoes[${i}].shoe_id`;
      const fix = "Join the two entries.";
      report(["shoes", i, "shoe_id"], column, `${quoted(shoe_id)} again`, "each shoe once", fix);
    }
    for (const name of new Set([shoe_id, ...names].map(plainName))) {
      const other = spelt.get(name);
      if (other !== undefined && other !== shoe_id) {
        const found = `${quoted(name)}, which ${other} has too`;
        const fix = "Take it out of one of the two.";
        report(
          ["shoes", i, "spelt"],
          `shoes[${i}].spelt`,
          found,
          "a spelling of one shoe only",
          fix,
        );
      }
      spelt.set(name, shoe_id);
    }
  });
  for (const kind of ["operators", "rigs", "testers", "attributes", "metrics"] as const) {
    const names = kind === "metrics"
      ? mapping.metrics.map(({ id, spelt }) => ({ name: id, spelt }))
      : mapping[kind];
    const meant = new Map<string, string>();
    names.forEach(({ name, spelt }, i) => {
      for (const one of new Set([name, ...spelt].map(plainName))) {
        const other = meant.get(one);
        if (other !== undefined) {
          const found = `${quoted(one)}, which ${other} has too`;
          report(
            [kind, i, "spelt"],
            `${kind}[${i}].spelt`,
            found,
            "a spelling of one of them only",
            "Take it out of one of the two.",
          );
        }
        meant.set(one, name);
      }
    });
  }
  const known = new Set([...metricUnits.keys(), ...mapping.metrics.map(({ id }) => id)]);
  mapping.sheets.forEach(({ columns, at }, place) =>
    columns.forEach((column, c) => {
      const s = at ?? place;
      if (column.holds !== "trial") return;
      if (column.metric === undefined || known.has(column.metric)) return;
      const name = `sheets[${s}].columns[${c}].metric`;
      const expected = "a metric of the mapping's metrics, or of the bench's metrics.json";
      const near = nearestName(column.metric, known);
      const fix = near === null
        ? 'Add it to "metrics", with its unit.'
        : `Write ${near} if that is meant; else add it to "metrics".`;
      report(["sheets", s, "columns", c, "metric"], name, quoted(column.metric), expected, fix);
    })
  );
}
