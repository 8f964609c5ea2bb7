import * as option from "../options.ts";
import { nearestName } from "../similar_names.ts";
import type { CellValue, TableRow } from "./write_table.ts";
import { escapeMarkup } from "../markup_text.ts";

/** What a table shows beside its rows. */
export type TableOptions = {
  /** Columns in this order; default: every key of the rows, in the order they first appear. */
  readonly columns?: readonly string[];
  /** Unit of a column, shown in its header. */
  readonly units?: Readonly<Record<string, string>>;
  /** Decimals of a column's numbers; default: as many as the longest has, six digits at most. */
  readonly decimals?: Readonly<Record<string, number>>;
  readonly caption?: string;
  /** What is said in place of a table without rows; an empty text leaves it out. */
  readonly none?: string;
  /** Rows shown in a cell; how many more there are is said below. */
  readonly most?: number;
  /** Where the rows that are not shown are to be found, such as `in shoes.csv`. */
  readonly rest?: string;
};

/** A table that a notebook cell shows in its own way. */
export type ShownTable = {
  /** Under `Symbol.for("Jupyter.display")`: the media bundle that Jupyter shows. */
  readonly [display: symbol]: () => { readonly "text/html": string; readonly "text/plain": string };
};

/**
 * How do these rows look as a table in a notebook?
 *
 * Numbers to the right, units in the header, texts escaped. For a table to be looked at; `frame` gives
 * the same table with a data frame behind it, to reckon with.
 *
 * @param rows plain rows; null stands for what is not known
 * @throws {RangeError} if `columns` names a column that no row has
 */
export function showTable(
  rows: readonly TableRow[],
  { columns, units = {}, decimals = {}, caption, none, most = 50, rest }: TableOptions = {},
): ShownTable {
  option.check("records.showTable", arguments[1], {
    columns: option.listOf(option.text),
    units: option.thing,
    decimals: option.thing,
    caption: option.text,
    none: option.text,
    most: option.whole(1),
    rest: option.text,
  });
  const names = columnNames(rows, columns);
  const shown = rows.slice(0, most);
  const places = { ...usualDecimals(shown, names), ...decimals };
  const view = {
    names,
    units,
    decimals: places,
    caption,
    none,
    more: rows.length - shown.length,
    rest,
  };
  return {
    [Symbol.for("Jupyter.display")]: () => ({
      "text/html": asHtml(shown, view),
      "text/plain": asText(shown, view),
    }),
  };
}

/** The columns asked for, or every key of the rows, in the order they first appear. */
export function columnNames(
  rows: readonly TableRow[],
  columns: readonly string[] | undefined,
): readonly string[] {
  const known = columnsOf(rows);
  if (rows.length > 0) checkColumns(columns ?? [], known, "show");
  return columns ?? known;
}

/** Every column that any of the rows has, in the order they first appear. */
export function columnsOf(rows: readonly TableRow[]): readonly string[] {
  return [...new Set(rows.flatMap((row) => Object.keys(row)))];
}

/** Throws unless the rows have each of these columns. */
export function checkColumns(
  columns: readonly string[],
  known: readonly string[],
  doing: string,
): void {
  const odd = columns.find((name) => !known.includes(name));
  if (odd === undefined) return;
  const near = nearestName(odd, known);
  throw new RangeError(
    `Cannot ${doing} column "${odd}": rows have ${known.join(", ")}` +
      (near === null ? "" : `. Write ${near} if that is meant.`),
  );
}

type View = {
  readonly names: readonly string[];
  readonly units: Readonly<Record<string, string>>;
  readonly decimals: Readonly<Record<string, number>>;
  readonly caption: string | undefined;
  readonly none: string | undefined;
  readonly more: number;
  readonly rest: string | undefined;
};

function asHtml(rows: readonly TableRow[], view: View): string {
  const { names, caption, more } = view;
  if (rows.length === 0) return view.none === "" ? "" : `<p>${escaped(nothing(view))}</p>`;
  const looks = new Map(names.map((name) => [name, look(rows, name)]));
  const side = (name: string) => ` style="${looks.get(name)}"`;
  // What a row is about: its first column of words, which a screen reader says with each cell.
  const about = names.find((name) =>
    looks.get(name) !== RIGHT && rows.some((row) => /^\p{L}/u.test(String(row[name] ?? "")))
  );
  const head = names.map((name) =>
    // A long head may wrap; the numbers below it may not.
    `<th scope="col"${side(name).replace(";white-space:nowrap", "")}>${
      escaped(title(name, view))
    }</th>`
  );
  const body = rows.map((row) => {
    const cells = names.map((name) => {
      const text = shownCell(row[name], name, view);
      // A reason among the numbers is prose and may wrap.
      const style = looks.get(name) === RIGHT && text.length > LONGEST_NUMBER
        ? ' style="text-align:right"'
        : side(name);
      // Not bold: a front end's own style would set whole sentences in bold.
      return name === about
        ? `<th scope="row"${style.slice(0, -1)};font-weight:normal">${escaped(text)}</th>`
        : `<td${style}>${escaped(text)}</td>`;
    });
    return `<tr>${cells.join("")}</tr>`;
  });
  // Below the rows and no row itself, so that a page can sort them.
  const foot = more === 0
    ? ""
    : `<tfoot><tr><td colspan="${names.length}" style="text-align:left">${
      escaped(moreWords(view))
    }</td></tr></tfoot>`;
  return "<table>" +
    (caption === undefined ? "" : `<caption>${escaped(caption)}</caption>`) +
    `<thead><tr>${head.join("")}</tr></thead><tbody>${body.join("")}</tbody>${foot}</table>`;
}

function moreWords({ more, rest }: View): string {
  return `and ${more} more${rest === undefined ? "" : ` ${rest}`}`;
}

/** A table without rows would be a head over nothing. */
function nothing({ caption, none }: View): string {
  if (none !== undefined) return none;
  return caption === undefined ? "Nothing to list." : `${caption}: nothing to list.`;
}

const RIGHT = "text-align:right;white-space:nowrap";
const LONGEST_NUMBER = 40;

/** A number, with its unit, to another one, or with its limits in brackets. */
const NUMBER = "[<>+−-]?\\d[\\d.,]*(?: ?[°%\\p{L}/·²³]{1,8})?";
const FIGURE = new RegExp(`^${NUMBER}(?: to ${NUMBER})?(?: \\(.* to .*\\)| \\(\\d+\\))?$`, "u");

/** Numbers to the right, and neither an interval nor a date broken in two. */
function look(rows: readonly TableRow[], name: string): string {
  if (isNumeric(rows, name)) return RIGHT;
  const given = rows.map((row) => row[name]).filter((value) =>
    value !== null && value !== undefined
  )
    .map(String);
  if (given.length > 0 && given.every((text) => /^\d{4}-\d\d-\d\d$/.test(text))) {
    return "text-align:left;white-space:nowrap";
  }
  const figures = given.filter((text) => FIGURE.test(text));
  return figures.length * 2 > given.length ? RIGHT : "text-align:left";
}

function asText(rows: readonly TableRow[], view: View): string {
  const { names, caption, more } = view;
  if (rows.length === 0) return nothing(view);
  const cells = [
    names.map((name) => title(name, view)),
    ...rows.map((row) => names.map((name) => shownCell(row[name], name, view))),
  ];
  const widths = names.map((_, i) => Math.max(...cells.map((row) => row[i].length)));
  const right = names.map((name) => look(rows, name) === RIGHT);
  const lines = cells.map((row) =>
    row.map((cell, i) => right[i] ? cell.padStart(widths[i]) : cell.padEnd(widths[i]))
      .join("  ").trimEnd()
  );
  return [
    ...(caption === undefined ? [] : [caption]),
    ...lines,
    ...(more > 0 ? [moreWords(view)] : []),
  ].join("\n");
}

/** Numbers of a column get the decimals of the longest, unless that would be a long tail of digits. */
function usualDecimals(
  rows: readonly TableRow[],
  names: readonly string[],
): Record<string, number> {
  return Object.fromEntries(names.flatMap((name) => {
    const numbers = rows.map((row) => row[name]).filter((value) => typeof value === "number");
    const texts = numbers.map((value) => String(Number(value.toPrecision(6))));
    if (texts.some((text) => !/^-?\d+(\.\d+)?$/.test(text))) return [];
    const most = Math.max(0, ...texts.map((text) => text.split(".")[1]?.length ?? 0));
    return most >= 1 && most <= MOST_PADDED ? [[name, most]] : [];
  }));
}

const MOST_PADDED = 4;

function title(name: string, { units }: View): string {
  return Object.hasOwn(units, name) ? `${name} (${units[name]})` : name;
}

function isNumeric(rows: readonly TableRow[], name: string): boolean {
  const values = rows.map((row) => row[name]).filter((value) =>
    value !== null && value !== undefined
  );
  return values.length > 0 && values.every((value) => typeof value === "number");
}

function shownCell(value: CellValue, name: string, { decimals }: View): string {
  if (value === null || value === undefined) return "–";
  if (typeof value !== "number") return String(value).replace(/[\r\n\t]+/g, " ");
  const digits = Object.hasOwn(decimals, name)
    ? value.toFixed(decimals[name])
    : String(Number(value.toPrecision(6)));
  return digits.replace(/^-/, Number(digits) === 0 ? "" : "−");
}

function escaped(text: string): string {
  return escapeMarkup(text).replaceAll("'", "&#39;");
}
