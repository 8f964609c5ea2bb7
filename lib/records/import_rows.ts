import { isMissing } from "./cells.ts";
import { plainName, readReading, readText, readYesNo, timeBehindDay } from "./import_cells.ts";
import type { FilledCell, PlacedColumn, PlacedSheet } from "./import_columns.ts";
import { readDetail } from "./import_details.ts";
import type { CellLedger } from "./import_ledger.ts";
import type { ColumnMapping, ImportMapping } from "./import_mapping.ts";
import type { ImportRows } from "./import_row_set.ts";
import type { OtherNames } from "./import_names.ts";
import { cellAddress, columnLetters } from "./import_sheet_marks.ts";
import { type ShoeNames, slugOf } from "./import_shoe_names.ts";
import { shownContent } from "./import_workbook.ts";
import { sameDimension, unitOf } from "./units.ts";

/** A field's value with the cells it came from; none when the mapping itself says it. */
export type Field = { readonly value: string | number; readonly cells: readonly number[] };
export type Fields = Record<string, Field>;

/** What reading the rows of a sheet needs to know. */
export type RowReading = {
  readonly mapping: ImportMapping;
  readonly ledger: CellLedger;
  readonly shoes: ShoeNames;
  readonly names: OtherNames;
  readonly rows: ImportRows;
  /** The unit of each metric, where the mapping or the bench says it. */
  readonly metricUnits: ReadonlyMap<string, string>;
  /** Cells whose comment was taken as a note. */
  readonly commentsTaken: Set<string>;
  /** How many readings each key has had so far, where they are numbered as they come. */
  readonly readingsOf: Map<string, number>;
};

/** Takes every row of one sheet: each filled cell ends up in a field, or listed with a reason. */
export function importRows(placed: PlacedSheet, reading: RowReading): void {
  const { sheet, about, columns } = placed;
  const { ledger } = reading;
  const lastHeader = Math.max(...about.header_rows);
  const skipNames = new Set(about.skip_names.map(plainName));
  const shoeColumns = columns.filter((column) => column.about.holds === "shoe").map(({ at }) => at);
  const shownName = (r: number) =>
    shoeColumns.flatMap((at) => {
      const content = sheet.rows[r]?.[at] ?? null;
      return content === null ? [] : [shownContent(content).trim()];
    }).join(" ");
  const nameIn = (r: number) => plainName(shownName(r));
  const named = new Set(columns.map(({ at }) => at));
  const line = about.turned ? "column" : "row";
  const nameOf = (number: number) => about.turned ? columnLetters(number - 1) : number;
  const isHeading = (r: number) =>
    !about.repeat_shoe && nameIn(r) !== "" &&
    sheet.rows[r].every((cell, c) => cell === null || shoeColumns.includes(c)) &&
    columns.every(({ at }) => shoeColumns.includes(at) || placed.filled(r, at) === null) &&
    !reading.shoes.isKnown(nameIn(r));
  sheet.rows.forEach((row, r) => {
    const number = r + 1;
    const leaveRow = (reason: string) =>
      row.forEach((_, c) => ledger.notTaken(ledger.cellAt(sheet, r, c), "left out", reason));
    if (about.header_rows.includes(number)) {
      row.forEach((_, c) => ledger.header(ledger.cellAt(sheet, r, c)));
    } else if (about.skip_rows.includes(number)) {
      leaveRow(`the mapping skips ${line} ${nameOf(number)}`);
    } else if (number < lastHeader) {
      leaveRow(about.turned ? "before the header" : "above the header");
    } else if (about.last_row !== undefined && number > about.last_row) {
      leaveRow(`beyond the mapping's last ${line}, ${nameOf(about.last_row)}`);
    } else if (isHeading(r)) {
      leaveRow(`a heading: the ${line} holds nothing else, and no shoe of that name is known`);
    } else if (skipNames.has(nameIn(r))) {
      leaveRow(`the mapping skips ${line}s whose shoe cell says ${shownName(r)}`);
    } else {
      row.forEach((_, c) => {
        if (named.has(c)) return;
        const across = about.turned ? "row" : "column";
        const reason = `no entry of the mapping names this ${across}`;
        ledger.notTaken(ledger.cellAt(sheet, r, c), "left out", reason);
      });
      importRow(placed, r, reading);
    }
  });
}

type Details = {
  readonly fields: Fields;
  /** Fields whose cell could not be read: nothing else may stand in for them. */
  readonly unread: ReadonlySet<string>;
};

type Row = {
  readonly placed: PlacedSheet;
  readonly at: number;
  readonly reading: RowReading;
  readonly cellOf: (cell: FilledCell) => number;
  readonly details: (kind: ColumnMapping["holds"]) => Details;
  readonly shoe: Field;
};

function importRow(placed: PlacedSheet, at: number, reading: RowReading): void {
  const { sheet, columns, filled } = placed;
  const { ledger, mapping, names, rows } = reading;
  const cellOf = ({ row, column }: FilledCell) => ledger.cellAt(sheet, row, column);
  const own = columns.map((column) => ledger.cellAt(sheet, at, column.at)).filter((cell) =>
    cell >= 0
  );
  const listRest = (reason: string, kind: "unreadable" | "left out" = "unreadable") => {
    for (const cell of own) if (ledger.isOpen(cell)) ledger.notTaken(cell, kind, reason);
  };
  for (const column of columns) {
    if (column.about.holds !== "left out") continue;
    ledger.notTaken(ledger.cellAt(sheet, at, column.at), "left out", column.about.because);
  }
  if (!own.some((cell) => ledger.isOpen(cell))) return;

  const shoe = shoeOf(placed, at, reading, cellOf);
  if ("why" in shoe) return listRest(shoe.why);

  const details = (kind: ColumnMapping["holds"]): Details => {
    const fields: Fields = {};
    const unread = new Set<string>();
    for (const column of columns) {
      if (column.about.holds !== kind || !("field" in column.about)) continue;
      const cell = filled(at, column.at);
      if (cell === null) continue;
      const read = readDetail(column.about, cell, mapping, names);
      if (read === null) ledger.taken(cellOf(cell)); // it says that nothing is known
      else if (typeof read === "object") {
        ledger.notTaken(cellOf(cell), "unreadable", read.why);
        unread.add(column.about.field);
      } else if (fields[column.about.field] !== undefined) {
        const reason =
          `another column says ${column.about.field} already; leave one of them out in the mapping`;
        ledger.notTaken(cellOf(cell), "unreadable", reason);
      } else fields[column.about.field] = { value: read, cells: [cellOf(cell)] };
      const isDay = column.about.field === "date" || column.about.field === "released";
      const time = isDay ? timeBehindDay(cell.content) : null;
      if (time !== null) ledger.inPart(cellOf(cell), `the time of day, ${time}`);
    }
    return { fields, unread };
  };
  const row: Row = { placed, at, reading, cellOf, details, shoe };
  rows.addEntity("shoes.csv", { shoe_id: shoe }, details("shoe detail").fields);
  const session = sessionOf(row);
  for (const column of columns) {
    if (column.about.holds === "feature") importFeature(row, column, column.about);
  }
  importTrials(row, session);
  importImpressions(row, session);
  const hasReading = columns.some(({ at: c, about: { holds } }) =>
    (holds === "trial" || holds === "impression") && (sheet.rows[at][c] ?? null) !== null
  );
  // Where the reading itself is listed, what only belongs to it needs no second look.
  if (hasReading) return listRest("it belongs to a reading that was not taken", "left out");
  for (const { at: c, about } of columns) {
    const cell = ledger.cellAt(sheet, at, c);
    const isPlace = (about.holds === "trial detail" || about.holds === "impression detail") &&
      about.field !== "note" && about.field !== "excluded";
    if (isPlace && ledger.isOpen(cell)) {
      ledger.notTaken(cell, "left out", "no reading stands in its row");
    }
  }
  listRest("no reading stands in its row, so that what it says would be lost");
}

function shoeOf(
  { about, columns, filled, sheet }: PlacedSheet,
  at: number,
  { shoes, ledger }: RowReading,
  cellOf: Row["cellOf"],
): Field | { readonly why: string } {
  const parts = columns.filter((one) => one.about.holds === "shoe");
  if (parts.length === 0) {
    const found = shoes.find(about.fixed.shoe!, null);
    return "why" in found ? found : { value: found.shoe_id, cells: [] };
  }
  const partsIn = (row: number) => parts.flatMap((column) => filled(row, column.at) ?? []);
  let cells = partsIn(at);
  for (let above = at - 1; cells.length === 0 && about.repeat_shoe; above--) {
    if (above < Math.max(...about.header_rows) || about.skip_rows.includes(above + 1)) break;
    cells = partsIn(above);
  }
  if (cells.length === 0) {
    const above = 'say "repeat_shoe": true in the mapping if the one above is meant';
    return { why: `the row names no shoe; write it, or ${above}` };
  }
  const texts: string[] = [];
  for (const cell of cells) {
    const text = readText(cell.content);
    if ("why" in text) return { why: `the row's shoe: ${text.why}` };
    texts.push(text.text);
  }
  const found = shoes.find(texts.join(" "), ledger.cellAt(sheet, at, parts[0].at));
  return "why" in found ? found : { value: found.shoe_id, cells: cells.map(cellOf) };
}

type Session = { readonly id: Field; readonly date: Field | null } | { readonly why: string };

function sessionOf({ placed, at, reading, cellOf, details }: Row): Session {
  const { about, columns, filled } = placed;
  const { fixed } = about;
  const column = columns.find((one) => one.about.holds === "session");
  const { fields: found, unread } = details("session detail");
  const constant = (value: string | undefined): Field | null =>
    value === undefined ? null : { value, cells: [] };
  const date = unread.has("date") ? null : found.date ?? constant(fixed.session_date);
  const cell = column === undefined ? null : filled(at, column.at);
  const text = cell === null ? null : readText(cell.content);
  if (text !== null && "why" in text) return { why: `the row's session: ${text.why}` };
  const named = text !== null
    ? { value: text.text, cells: [cellOf(cell!)] }
    : constant(fixed.session);
  const id = named ?? (date === null ? null : namedByDay(date, found));
  if (id === null) {
    return { why: "the row has no date that was read, and no name of a session; write its date" };
  }
  const others: Fields = { ...found };
  if (date !== null) others.date = date;
  for (const name of ["operator", "rig"] as const) {
    const given = fixed[name] === undefined
      ? undefined
      : reading.names.find(`${name}s`, fixed[name]);
    const field = unread.has(name) ? null : others[name] ?? constant(given as string | undefined);
    if (field !== null) others[name] = field;
  }
  const trials = columns.some((one) => one.about.holds === "trial");
  if (trials || Object.keys(found).length > 0 || named !== null) {
    reading.rows.addEntity("sessions.csv", { session_id: id }, others);
  }
  return { id, date };
}

/** `2026-03-14`, or `2026-03-14-mb-rig-2`: what a column says tells sessions of one day apart. */
function namedByDay(date: Field, { operator, rig }: Fields): Field {
  const parts = [date, ...[operator, rig].filter((field) => field !== undefined)];
  const words = parts.map(({ value }, i) => i === 0 ? value : slugOf(String(value)) || value);
  return { value: words.join("-"), cells: parts.flatMap(({ cells }) => cells) };
}

function importFeature(
  { placed, at, reading, cellOf, shoe }: Row,
  column: PlacedColumn,
  about: Extract<ColumnMapping, { readonly holds: "feature" }>,
): void {
  const cell = placed.filled(at, column.at);
  const blank = about.blank ?? "nothing";
  if (cell === null && blank === "nothing") return;
  const present = cell === null ? blank : readYesNo(cell.content);
  if (typeof present === "object") {
    reading.ledger.notTaken(cellOf(cell!), "unreadable", present.why);
    return;
  }
  const cells = cell === null ? [] : [cellOf(cell)];
  const feature = { value: about.feature, cells: [] };
  // A feature is the shoe's, so that the same word in another row of the shoe is no second reading.
  reading.rows.addEntity("features.csv", { shoe_id: shoe, feature_id: feature }, {
    present: { value: present, cells },
  });
}

function importTrials(row: Row, session: Session): void {
  const { placed, at, reading, cellOf, details, shoe } = row;
  const { ledger, rows, mapping, metricUnits } = reading;
  const { fields: found, unread } = details("trial detail");
  const known = (value: string | number, cells: readonly number[]): Field => ({ value, cells });
  const constant = (value: string | number): Field => known(value, []);
  for (const column of placed.columns) {
    const { about } = column;
    if (about.holds !== "trial") continue;
    const content = placed.sheet.rows[at]?.[column.at] ?? null; // a merged reading is one reading
    if (content === null) continue;
    const cell = cellOf({ content, row: at, column: column.at });
    const refuse = (why: string) => ledger.notTaken(cell, "unreadable", why);
    if ("why" in session) {
      refuse(session.why);
      continue;
    }
    if (unread.size > 0) {
      refuse(`the row's ${[...unread].join(" and ")} could not be read; see that cell`);
      continue;
    }
    const metric = about.metric === undefined ? found.metric ?? null : constant(about.metric);
    if (metric === null) {
      refuse("the row names no metric; write what was read");
      continue;
    }
    const side = found.side ?? (about.side === undefined ? null : constant(about.side));
    const place = {
      session_id: session.id,
      shoe_id: shoe,
      metric_id: metric,
      pair: about.pair === undefined ? found.pair ?? constant(1) : constant(about.pair),
      ...(side === null ? {} : { side }),
    };
    // Counted before it is read: a cell corrected later must not renumber those behind it.
    const trial = about.trial === "in order"
      ? constant(nextTrial(place, reading.readingsOf))
      : about.trial === undefined
      ? found.trial ?? constant(1)
      : constant(about.trial);
    const metricUnit = metricUnits.get(String(metric.value)) ?? null;
    const rowUnit = found.unit === undefined ? null : String(found.unit.value);
    const notes = about.notes ?? "leave";
    const read = readReading(content, {
      decimal: mapping.decimal,
      unit: rowUnit ?? about.unit ?? null,
      notes,
    });
    if ("why" in read) {
      refuse(read.why);
      continue;
    }
    const unit = read.unit ?? (read.value === null ? metricUnit : null);
    if (unit === null) {
      refuse(NO_UNIT);
      continue;
    }
    if (metricUnit !== null && !sameDimension(unit, metricUnit)) {
      refuse(
        `${unit}, where ${metric.value} is in ${metricUnit}; correct the cell, or "unit" or ` +
          '"metric" in the mapping',
      );
      continue;
    }
    const comment = notes === "take" ? takeComment(row, column) : null;
    const note = [read.note, comment, found.note?.value].filter((part) => part).join("; ");
    rows.addReading("trials.csv", cell, { ...place, trial }, {
      value: known(read.value ?? "NA", [cell]),
      unit: known(unitOf(unit)!.code, [cell, ...(found.unit?.cells ?? [])]),
      ...(found.excluded === undefined ? {} : { excluded: found.excluded }),
      ...(note === "" ? {} : { note: known(note, [cell, ...(found.note?.cells ?? [])]) }),
    });
  }
}

const NO_UNIT = 'no unit: neither the cell nor its row names one; say it with "unit" at its ' +
  "column in the mapping";

/** The number of the next reading of one session, shoe, metric, pair and side. */
function nextTrial(place: Fields, readingsOf: Map<string, number>): number {
  const key = JSON.stringify(Object.entries(place).map(([name, { value }]) => [name, value]));
  const number = (readingsOf.get(key) ?? 0) + 1;
  readingsOf.set(key, number);
  return number;
}

function importImpressions(row: Row, session: Session): void {
  const { placed, at, reading, cellOf, details, shoe } = row;
  const { ledger, rows, mapping } = reading;
  const { fixed } = placed.about;
  const { fields: found, unread } = details("impression detail");
  const constant = (value: string | undefined): Field | null =>
    value === undefined ? null : { value, cells: [] };
  for (const column of placed.columns) {
    const { about } = column;
    if (about.holds !== "impression") continue;
    const content = placed.sheet.rows[at]?.[column.at] ?? null;
    if (content === null) continue;
    const cell = cellOf({ content, row: at, column: column.at });
    const refuse = (why: string) => ledger.notTaken(cell, "unreadable", why);
    const notes = about.notes ?? "leave";
    const read = readReading(content, { decimal: mapping.decimal, unit: null, notes });
    const spelt = about.tester ?? (found.tester === undefined ? fixed.tester : undefined);
    const tester = spelt === undefined
      ? found.tester ?? null
      : constant(reading.names.find("testers", spelt) as string);
    const attribute = constant(about.attribute) ?? found.attribute ?? null;
    const date = found.date ?? constant(fixed.impression_date) ??
      ("why" in session ? null : session.date);
    if ("why" in read) refuse(read.why);
    else if (read.unit !== null) {
      refuse(`a unit (${read.unit}), where a rating should be; take it out`);
    } else if (unread.size > 0) {
      refuse(`the row's ${[...unread].join(" and ")} could not be read; see that cell`);
    } else if (tester === null) refuse("the row names no tester; write who rated");
    else if (attribute === null) refuse("the row names no attribute; write what was rated");
    else if (date === null) refuse("the row has no date that was read; write it");
    else {
      const comment = notes === "take" ? takeComment(row, column) : null;
      const note = [read.note, comment, found.note?.value].filter((part) => part).join("; ");
      const { note: rowNote, tester: _t, date: _d, attribute: _a, ...rest } = found;
      rows.addReading("impressions.csv", cell, {
        date,
        tester,
        shoe_id: shoe,
        attribute,
      }, {
        rating: { value: read.value ?? "NA", cells: [cell] },
        ...rest,
        ...(note === "" ? {} : { note: { value: note, cells: [cell, ...(rowNote?.cells ?? [])] } }),
      });
    }
  }
}

function takeComment({ placed, at, reading }: Row, column: PlacedColumn): string | null {
  const address = placed.about.turned ? cellAddress(column.at, at) : cellAddress(at, column.at);
  const text = placed.sheet.comments.get(address)?.trim().replace(/\s+/g, " ") ?? "";
  if (text === "" || isMissing(text)) return null;
  reading.commentsTaken.add(`${plainName(placed.sheet.name)}!${address}`);
  return text;
}
