import { NOT_GIVEN } from "./not_given.ts";
import { isMissing } from "./cells.ts";
import {
  type CellReading,
  type NotRead,
  plainName,
  type RatingScale,
  readRating,
  readReading,
  readText,
  readYesNo,
} from "./import_cells.ts";
import { timeBehindDay } from "./dates.ts";
import {
  type FilledCell,
  isHiddenLine,
  isStruck,
  type PlacedColumn,
  type PlacedSheet,
} from "./import_columns.ts";
import { type DetailColumn, readDetail } from "./import_details.ts";
import type { CellLedger } from "./import_ledger.ts";
import type { ColumnMapping, ImportMapping } from "./import_mapping.ts";
import type { ImportRows } from "./import_row_set.ts";
import type { OtherNames } from "./import_names.ts";
import { cellAddress, columnLetters } from "./import_sheet_marks.ts";
import { type ShoeNames, slugOf } from "./import_shoe_names.ts";
import { shownContent } from "./import_workbook.ts";
import { sameDimension, unitOf } from "./units.ts";
import type { Field, Fields } from "./import_row_set.ts";

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
  /** The bench's scale of ratings, and the mapping's words for them. */
  readonly ratings: RatingScale;
  /** What sizes are counted in where a cell leaves it open. */
  readonly sizeSystem: string | null;
  /** Maker, model and edition of each shoe as first said, and where. */
  readonly identities: Map<string, Record<string, { readonly value: string; readonly at: string }>>;
  /** Rows read of each sheet, those that repeat a shoe's session, and their shoes. */
  readonly rowsOf: Map<PlacedSheet, RowCount>;
};

/** How the rows of one sheet became shoes. */
export type RowCount = {
  rows: number;
  readonly shoes: Set<string>;
  /** Shoes with a second row in one session, which nothing but its readings tells from the first. */
  readonly repeated: Map<string, number>;
  readonly seen: Set<string>;
};

/** Takes every row of one sheet: each filled cell ends up in a field, or listed with a reason. */
export function importRows(whole: PlacedSheet, reading: RowReading): void {
  const placed = withoutHidden(whole, reading);
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
    } else if (isHidden(placed, "row", r)) {
      row.forEach((_, c) => {
        const cell = ledger.cellAt(sheet, r, c);
        if (named.has(c)) notTakenHidden(placed, line, cell, reading);
        else {ledger.notTaken(
            cell,
            "left out",
            `no entry of the mapping names this, and it is hidden`,
          );}
      });
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

function isHidden({ sheet, about }: PlacedSheet, kind: "row" | "column", at: number): boolean {
  return about.hidden !== "take" &&
    (sheet.hidden?.sheet === true || isHiddenLine(sheet, kind, at));
}

function notTakenHidden(
  { sheet, about }: PlacedSheet,
  line: string,
  cell: number,
  { ledger }: RowReading,
): void {
  const what = sheet.hidden?.sheet ? "the sheet" : `its ${line}`;
  if (about.hidden === "leave") return ledger.notTaken(cell, "left out", `${what} is hidden`);
  const fix = 'say "hidden": "take" or "hidden": "leave" in this sheet\'s part of the mapping';
  ledger.notTaken(cell, "unreadable", `${what} is hidden; ${fix}`);
}

/** The sheet without its hidden columns, whose cells are listed. */
function withoutHidden(placed: PlacedSheet, reading: RowReading): PlacedSheet {
  const { sheet, about, columns } = placed;
  const line = about.turned ? "row" : "column";
  const hidden = columns.filter(({ at }) =>
    sheet.hidden?.sheet !== true && isHidden(placed, "column", at)
  );
  const first = Math.max(...about.header_rows);
  for (const { at } of hidden) {
    sheet.rows.forEach((_, r) => {
      const cell = r < first ? -1 : reading.ledger.cellAt(sheet, r, at);
      notTakenHidden(placed, line, cell, reading);
    });
  }
  return { ...placed, columns: columns.filter((one) => !hidden.includes(one)) };
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
  const { sheet, columns } = placed;
  const { ledger, rows } = reading;
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

  const read = new Map<string, Details>();
  const details = (kind: ColumnMapping["holds"]): Details => {
    const found = read.get(kind) ?? detailsOf(placed, at, kind, reading, cellOf);
    read.set(kind, found);
    return found;
  };
  const row: Row = { placed, at, reading, cellOf, details, shoe };
  const about = shoeDetails(row);
  const other = otherShoe(row, about);
  if (other !== null) return listRest(other);
  rows.addEntity("shoes.csv", { shoe_id: shoe }, about);
  const session = sessionOf(row);
  for (const column of columns) {
    if (column.about.holds === "feature") importFeature(row, column, column.about);
  }
  countRow(row, session);
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

function detailsOf(
  { sheet, about, columns, filled }: PlacedSheet,
  at: number,
  kind: ColumnMapping["holds"],
  { ledger, mapping, names, sizeSystem }: RowReading,
  cellOf: Row["cellOf"],
): Details {
  const fields: Fields = {};
  const unread = new Set<string>();
  for (const column of columns) {
    if (column.about.holds !== kind || !("field" in column.about)) continue;
    const field = column.about.field;
    const cell = filled(at, column.at);
    if (cell === null || field === undefined) continue;
    const number = cellOf(cell);
    if (isStruck(sheet, cell.row, cell.column)) {
      ledger.notTaken(number, "unreadable", "struck through; empty the cell, or take the line off");
      unread.add(field);
      continue;
    }
    const system = about.fixed.size_system ?? sizeSystem;
    const read = readDetail(column.about as DetailColumn, cell, mapping, names, system);
    if (read === null) ledger.taken(number); // it says that nothing is known
    else if ("why" in read) {
      ledger.notTaken(number, "unreadable", read.why);
      unread.add(field);
    } else if (fields[field] !== undefined && field === "note") {
      fields.note = {
        value: `${fields.note.value}; ${column.header}: ${read.value}`,
        cells: [...fields.note.cells, number],
      };
    } else if (fields[field] !== undefined) {
      const reason = `another column says ${field} already; leave one of them out in the mapping`;
      ledger.notTaken(number, "unreadable", reason);
    } else {
      fields[field] = { value: read.value, cells: [number] };
      for (const [name, value] of Object.entries(read.also ?? {})) {
        fields[name] ??= { value, cells: [] };
      }
    }
    const isDay = field === "date" || field === "released";
    const time = isDay ? timeBehindDay(cell.content) : null;
    if (time !== null) ledger.inPart(number, `the time of day, ${time}`);
    if (read !== null && "left" in read && read.left !== undefined) {
      ledger.inPart(number, read.left);
    }
  }
  return { fields, unread };
}

const IDENTITY = ["maker", "model", "edition"] as const;

/** What the row says of its shoe, and what the mapping says of every shoe of the sheet. */
function shoeDetails({ placed, reading, details, shoe }: Row): Fields {
  const { fixed, columns } = placed.about;
  const fields: Fields = { ...details("shoe detail").fields };
  const isListed = reading.mapping.shoes.some(({ shoe_id }) => shoe_id === shoe.value);
  if (!isListed) {
    for (const [name, field] of Object.entries(details("shoe").fields)) fields[name] ??= field;
    if (fixed.maker !== undefined) fields.maker ??= { value: fixed.maker, cells: [] };
  }
  // On a sheet of ratings the court is the one played on.
  const isOfCourt = columns.some(({ holds }) => holds === "impression");
  if (fixed.surface !== undefined && !isOfCourt) {
    fields.surface ??= { value: fixed.surface, cells: [] };
  }
  if (fixed.size_system !== undefined && fields.size !== undefined) {
    fields.size_system ??= { value: fixed.size_system, cells: [] };
  }
  if (fixed.currency !== undefined && fields.price !== undefined) {
    fields.currency ??= { value: fixed.currency, cells: [] };
  }
  return fields;
}

/** Why the row's shoe is another one than the shoe of that name so far; null when it is not. */
function otherShoe({ placed, at, reading, shoe }: Row, about: Fields): string | null {
  const id = String(shoe.value);
  const known = reading.identities.get(id) ?? {};
  const where = `'${placed.sheet.name}' ${placed.about.turned ? "column" : "row"} ${
    placed.about.turned ? columnLetters(at) : at + 1
  }`;
  for (const field of IDENTITY) {
    const given = about[field];
    if (given === undefined || known[field] === undefined) continue;
    if (plainName(String(given.value)) === plainName(known[field].value)) continue;
    return `${id} has the ${field} ${JSON.stringify(given.value)} here and ` +
      `${JSON.stringify(known[field].value)} in ${
        known[field].at
      }: two shoes under one name? Let ` +
      `the columns that tell them apart hold "shoe" in the mapping, or correct the ${field}`;
  }
  for (const field of IDENTITY) {
    if (about[field] === undefined || known[field] !== undefined) continue;
    known[field] = { value: String(about[field].value), at: where };
  }
  reading.identities.set(id, known);
  return null;
}

function countRow({ placed, at, reading, shoe }: Row, session: Session): void {
  const count = reading.rowsOf.get(placed) ??
    {
      rows: 0,
      shoes: new Set<string>(),
      repeated: new Map<string, number>(),
      seen: new Set<string>(),
    };
  reading.rowsOf.set(placed, count);
  count.rows++;
  const id = String(shoe.value);
  count.shoes.add(id);
  // A long sheet has a row a reading, and a column that numbers the trials tells its rows apart.
  const tells = placed.columns.filter(({ about: { holds, ...about } }) =>
    holds === "trial detail" && "field" in about &&
    ["metric", "trial", "pair", "side"].includes(String(about.field))
  );
  const wide = placed.columns.some(({ about }) =>
    about.holds === "trial" && about.metric !== undefined
  );
  if (!wide || tells.some((column) => placed.filled(at, column.at) !== null)) return;
  const key = `${id}\0${"why" in session ? "" : session.id.value}`;
  if (count.seen.has(key)) count.repeated.set(id, (count.repeated.get(id) ?? 1) + 1);
  count.seen.add(key);
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
    if (isStruck(sheet, cell.row, cell.column)) {
      return { why: "the row's shoe is struck through; delete the row, or take the line off" };
    }
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
  const date = unread.has("date")
    ? null
    : found.date ?? constant(fixed.session_date ?? fixed.published);
  const cell = column === undefined ? null : filled(at, column.at);
  const text = cell === null ? null : readText(cell.content);
  if (text !== null && "why" in text) return { why: `the row's session: ${text.why}` };
  const named = text !== null
    ? { value: text.text, cells: [cellOf(cell!)] }
    : constant(fixed.session);
  const isPublished = fixed.published !== undefined && found.date === undefined;
  const id = named ??
    (date === null
      ? null
      : isPublished
      ? { value: `published-${fixed.published}`, cells: [] }
      : namedByDay(date, found));
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
  if (isPublished) {
    others.operator ??= constant(NOT_GIVEN)!;
    others.note ??= constant(PUBLISHED)!;
  }
  const trials = columns.some((one) => one.about.holds === "trial");
  if (trials || Object.keys(found).length > 0 || named !== null) {
    reading.rows.addEntity("sessions.csv", { session_id: id }, others);
  }
  return { id, date };
}

const PUBLISHED =
  "Published figures, one a shoe and test: how many readings each is made of, when and " +
  "by whom is not known";

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
  const struck = cell !== null && isStruck(placed.sheet, cell.row, cell.column);
  const present = cell === null
    ? blank
    : struck
    ? { why: "struck through; empty the cell, or take the line off" }
    : readYesNo(cell.content);
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
  const { placed, at, reading, cellOf, details } = row;
  const { unread } = details("trial detail");
  const lost = [...unread].filter((field) => field !== "note"); // a note costs no reading
  for (const column of placed.columns) {
    const { about } = column;
    if (about.holds !== "trial") continue;
    const content = placed.sheet.rows[at]?.[column.at] ?? null; // a merged reading is one reading
    if (content === null) continue;
    const cell = cellOf({ content, row: at, column: column.at });
    const refused = "why" in session
      ? session.why
      : lost.length > 0
      ? `the row's ${lost.join(" and ")} could not be read; see that cell`
      : importTrial(row, { column, about, content, cell, session: session.id });
    if (refused !== null) reading.ledger.notTaken(cell, "unreadable", refused);
  }
}

const known = (value: string | number, cells: readonly number[] = []): Field => ({ value, cells });

/** Takes one reading; says why where it can't be taken. */
function importTrial(
  row: Row,
  { column, about, content, cell, session }: {
    readonly column: PlacedColumn;
    readonly about: Extract<ColumnMapping, { readonly holds: "trial" }>;
    readonly content: FilledCell["content"];
    readonly cell: number;
    readonly session: Field;
  },
): string | null {
  const { reading, shoe } = row;
  const found = row.details("trial detail").fields;
  const metric = about.metric === undefined ? found.metric ?? null : known(about.metric);
  if (metric === null) return "the row names no metric; write what was read";
  const side = found.side ?? (about.side === undefined ? null : known(about.side));
  const place = {
    session_id: session,
    shoe_id: shoe,
    metric_id: metric,
    pair: about.pair === undefined ? found.pair ?? known(1) : known(about.pair),
    ...(side === null ? {} : { side }),
  };
  // Counted before it is read: a cell corrected later must not renumber those behind it.
  const trial = about.trial === "in order"
    ? known(nextTrial(place, reading.readingsOf))
    : about.trial === undefined
    ? found.trial ?? known(1)
    : known(about.trial);
  const notes = about.notes ?? "leave";
  const read = inItsUnit(content, { metric: String(metric.value), about, found, notes, reading });
  if ("why" in read) return read.why;
  const { value, bound } = read;
  const comment = notes === "take" ? takeComment(row, column) : null;
  const struck = struckReading(row, column);
  const note = [read.note, struck === null ? comment : null, found.note?.value]
    .filter((part) => part).join("; ");
  const excluded = struck === null ? found.excluded : known(struck, [cell]);
  reading.rows.addReading("trials.csv", cell, { ...place, trial }, {
    value: known(value === null ? "NA" : bound === undefined ? value : bound + value, [cell]),
    unit: known(unitOf(read.unit)!.code, [cell, ...(found.unit?.cells ?? [])]),
    ...(found.hours_played === undefined ? {} : { hours_played: found.hours_played }),
    ...(excluded === undefined ? {} : { excluded }),
    ...(note === "" ? {} : { note: known(note, [cell, ...(found.note?.cells ?? [])]) }),
  });
  return null;
}

/** The cell's reading with its unit, which must measure what the metric does. */
function inItsUnit(
  content: FilledCell["content"],
  { metric, about, found, notes, reading }: {
    readonly metric: string;
    readonly about: Extract<ColumnMapping, { readonly holds: "trial" }>;
    readonly found: Fields;
    readonly notes: "take" | "leave";
    readonly reading: RowReading;
  },
): CellReading & { readonly unit: string } | NotRead {
  const metricUnit = reading.metricUnits.get(metric) ?? null;
  const rowUnit = found.unit === undefined ? null : String(found.unit.value);
  const read = readReading(content, {
    decimal: reading.mapping.decimal,
    unit: rowUnit ?? about.unit ?? null,
    notes,
  });
  if ("why" in read) return read;
  const unit = read.unit ?? (read.value === null ? metricUnit : null);
  if (unit === null) return { why: NO_UNIT };
  if (metricUnit !== null && !sameDimension(unit, metricUnit)) {
    return {
      why: `${unit}, where ${metric} is in ${metricUnit}; correct the cell, or "unit" or ` +
        '"metric" in the mapping',
    };
  }
  return { ...read, unit };
}

/** Why a reading that is struck through does not count; with the comment on it, which may say why. */
function struckReading(row: Row, { at: column }: PlacedColumn): string | null {
  const { placed: { sheet, about }, at, reading } = row;
  if (!isStruck(sheet, at, column)) return null;
  const address = about.turned ? cellAddress(column, at) : cellAddress(at, column);
  const comment = sheet.comments.get(address)?.trim().replace(/\s+/g, " ") ?? "";
  if (comment !== "") reading.commentsTaken.add(`${plainName(sheet.name)}!${address}`);
  return `struck through in the spreadsheet${comment === "" ? "" : `: ${comment}`}`;
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
    const read = readRating(content, { decimal: mapping.decimal, notes, ...reading.ratings });
    const lost = [...unread].filter((field) => field !== "note");
    const spelt = about.tester ?? (found.tester === undefined ? fixed.tester : undefined);
    const tester = spelt === undefined
      ? found.tester ?? null
      : constant(reading.names.find("testers", spelt) as string);
    const attribute = constant(about.attribute) ?? found.attribute ?? null;
    // Published figures came out on a day, on which nobody need have played.
    const date = found.date ?? constant(fixed.impression_date) ??
      ("why" in session || fixed.published !== undefined ? null : session.date);
    if ("why" in read) refuse(read.why);
    else if (isStruck(placed.sheet, at, column.at)) {
      refuse("struck through; empty the cell, or take the line off");
    } else if (lost.length > 0) {
      refuse(`the row's ${lost.join(" and ")} could not be read; see that cell`);
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
        ...(fixed.surface === undefined ? {} : { surface: { value: fixed.surface, cells: [] } }),
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
