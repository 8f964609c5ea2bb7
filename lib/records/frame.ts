import type { DataFrame, Series } from "danfojs";
import * as option from "../options.ts";
import { columnNames, type ShownTable, showTable, type TableOptions } from "./show_table.ts";
import type { CellValue, TableRow } from "./write_table.ts";

/** What a frame shows beside its rows; the frame itself holds all of them. */
export type FrameOptions = TableOptions;

/**
 * How do these rows look as a data frame, to sort, group and reckon with?
 *
 * A data frame (danfojs) of the rows, which a notebook cell shows as a readable table; so do the
 * frames, columns and groups that its operations give (`head`, `sortValues`, `query`, `loc`,
 * `groupby`, …), with the units and decimals named here. What is missing is NaN in a column of
 * numbers. The library is loaded here and nowhere else, at the first frame: a third of a second.
 *
 * Known to go wrong in danfojs 1.1.2, all tried:
 * - `groupby` takes keys `a-b`, `c` and `a`, `b-c` for one group, gives NaN for a group with anything
 *   missing, and counts what is missing: take `groupMeans`.
 * - `describe` of a frame is NaN where a column has anything missing; `describe` of one column is right.
 * - `mean`, `std`, `sum` of a frame run along rows, not columns; those of one column are right and
 *   skip what is missing.
 * - `sortValues` of a frame left rows unsorted around what is missing: cured here, missing comes last. A
 *   column's own `sortValues` sorts texts backwards: sort the frame.
 * - `concat` spoils its first frame; `merge` takes "1" for 1 and joins missing with missing: join rows
 *   as arrays, and make a frame of the result.
 * - `toCSV` doesn't quote: take `writeTable(path, frameRows(frame))`.
 * - `new DataFrame(rows)` swaps columns where rows bring their keys in another order: make frames here.
 *
 * @param rows plain rows; null stands for what is not known
 * @throws {RangeError} if `columns` names a column that no row has
 *
 * @example The two cheapest, with what is not known last
 * ```ts
 * import assert from "node:assert/strict";
 * import { records, show } from "bench-to-court";
 * const frame = await show.frame([{ shoe: "a", price: null }, { shoe: "b", price: 90 }, { shoe: "c", price: 80 }]);
 * const cheapest = frame.sortValues("price").head(2);
 * assert.deepEqual(records.frameRows(cheapest), [{ shoe: "c", price: 80 }, { shoe: "b", price: 90 }]);
 * ```
 */
export async function frame(
  rows: readonly TableRow[],
  options: FrameOptions = {},
): Promise<DataFrame> {
  option.check("records.frame", arguments[1], {
    columns: option.listOf(option.text),
    units: option.thing,
    decimals: option.thing,
    caption: option.text,
    none: option.text,
    most: option.whole(1),
    rest: option.text,
  });
  const names = columnNames(rows, options.columns);
  const danfo = await shownFrames();
  // By columns: given rows whose keys come in another order, the library mixes the columns up.
  const data = Object.fromEntries(names.map((name) => [name, columnOf(rows, name)]));
  const made = rows.length === 0
    ? new danfo.DataFrame([], { columns: [...names] })
    : new danfo.DataFrame(data);
  ownOptions.set(made, options);
  keptOptions.set(styleOf(made), {
    units: options.units,
    decimals: options.decimals,
    most: options.most,
  });
  return made;
}

/**
 * Which rows does a frame hold?
 *
 * @param frame a data frame, such as `frame` gives, after any operations
 * @returns plain rows, null for what is missing; `showTable`, `writeTable` and `charts.plot` take them
 */
export function frameRows(frame: DataFrame): readonly TableRow[] {
  const names = frame.columns as readonly string[];
  return (frame.values as readonly (readonly unknown[])[]).map((row) =>
    Object.fromEntries(names.map((name, i) => [name, plain(row[i])]))
  );
}

// What a frame shows, kept beside the library's own objects: by the frame itself what is said of all
// its rows; by the style object, which operations hand on, what stays true of the frames they give.
const ownOptions = new WeakMap<object, FrameOptions>();
const keptOptions = new WeakMap<object, FrameOptions>();

type Danfo = typeof import("danfojs");
type Shown = ReturnType<ShownTable[symbol]>;

const display = Symbol.for("Jupyter.display");
let loaded: Promise<Danfo> | undefined;

/** The library, its frames, columns and groups shown as tables. */
function shownFrames(): Promise<Danfo> {
  return loaded ??= import("danfojs").then((danfo) => {
    const frames = homeOf(danfo.DataFrame.prototype, "sortValues");
    define(frames, function (this: DataFrame): Shown {
      return tableOf(this, indexed(this, frameRows(this)));
    });
    define(homeOf(danfo.Series.prototype, "sortValues"), function (this: Series): Shown {
      const name = this.columns[0] === "0" ? "value" : String(this.columns[0]);
      const rows = (this.values as readonly unknown[]).map((value) => ({ [name]: plain(value) }));
      return tableOf(this, indexed(this, rows));
    });
    const groups = new danfo.DataFrame({ group: ["a"] }).groupby(["group"]);
    define(Object.getPrototypeOf(groups), function (this: typeof groups): Shown {
      const rows = Object.entries(this.keyToValue).map(([joined, keys]) => ({
        ...Object.fromEntries(this.keyCol.map((name, i) => [name, plain(keys[i])])),
        rows: (Object.values(this.colDict[joined])[0] as unknown[]).length,
      }));
      return shown(rows, { caption: `Grouped by ${this.keyCol.join(", ")}` });
    });
    sortMissingLast(frames);
    return danfo;
  });
}

// The library's own classes, which every operation makes; those it exports stand upon them.
function homeOf<T extends object>(prototype: T, method: keyof T): T {
  let home = prototype;
  while (!Object.hasOwn(home, method)) home = Object.getPrototypeOf(home);
  return home;
}

function define(prototype: object, value: (this: never) => Shown): void {
  Object.defineProperty(prototype, display, { value, configurable: true });
}

function tableOf(one: DataFrame | Series, rows: readonly TableRow[]): Shown {
  const own = ownOptions.get(one);
  const { units, decimals, most } = keptOptions.get(styleOf(one)) ?? {};
  return shown(rows, { units, decimals, most, ...own, columns: undefined });
}

function shown(rows: readonly TableRow[], options: FrameOptions): Shown {
  return showTable(rows, options)[display]();
}

/** Rows named by words, such as `mean` and `std`, show them; mere row numbers say nothing. */
function indexed(one: DataFrame | Series, rows: readonly TableRow[]): readonly TableRow[] {
  const names = one.index;
  if (names.every((name) => typeof name === "number")) return rows;
  return rows.map((row, i) => ({ "": String(names[i]), ...row }));
}

/** The object that the library hands on, as it is, to every frame made from another. */
function styleOf(one: DataFrame | Series): object {
  return one.config.getTableDisplayConfig;
}

// The library's sort compares NaN as a number, which leaves the rows around it where they were.
function sortMissingLast(prototype: DataFrame): void {
  const original = prototype.sortValues;
  type Options = { readonly ascending?: boolean; readonly inplace?: boolean };
  prototype.sortValues = function (this: DataFrame, by: string, options?: Options) {
    // The library fails at a frame that a filter has left without a row.
    if (this.shape[0] === 0) return this;
    const values = this.columns.includes(by) ? this.column(by).values.map(plain) : [];
    if (!values.includes(null)) return original.call(this, by, options);
    const { ascending = true, inplace = false } = options ?? {};
    if (inplace) {
      throw new RangeError(
        `Cannot sort by ${by} in place, as values are missing: take the sorted frame, without inplace`,
      );
    }
    const order = values.map((_, i) => i).sort((a, b) => {
      const [x, y] = [values[a], values[b]];
      if (x === null || y === null) return Number(x === null) - Number(y === null);
      return (x < y ? -1 : x > y ? 1 : 0) * (ascending ? 1 : -1);
    });
    return this.iloc({ rows: order });
  } as DataFrame["sortValues"];
}

function columnOf(rows: readonly TableRow[], name: string): readonly CellValue[] {
  const values = rows.map((row) => row[name] ?? null);
  const isNumeric = values.some((value) => typeof value === "number") &&
    values.every((value) => value === null || typeof value === "number");
  // The library takes null among numbers for 0 when it groups; NaN at least stays NaN.
  return isNumeric ? values.map((value) => value ?? NaN) : values;
}

function plain(value: unknown): string | number | boolean | null {
  if (typeof value === "number") return Number.isNaN(value) ? null : value;
  if (value === null || value === undefined) return null;
  return typeof value === "boolean" ? value : String(value);
}
