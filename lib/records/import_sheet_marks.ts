import { strFromU8 } from "fflate";
import { Parser } from "saxen";
import type { XlsxFiles as Files } from "./import_unzip.ts";
import { unitOf } from "./units.ts";

/** A block of merged cells; rows and columns count from 0, both ends belong to it. */
export type Merge = {
  readonly top: number;
  readonly left: number;
  readonly bottom: number;
  readonly right: number;
};

/** What a sheet of an .xlsx file says beside its cells' values. */
export type SheetMarks = {
  readonly merges: readonly Merge[];
  /** Cells without a usable value, by address: a formula that was never computed, or one that failed. */
  readonly troubles: ReadonlyMap<string, { readonly shown: string; readonly why: string }>;
  /** Addresses of numbers that are shown as per cent, so that a stored 0.45 reads 45 %. */
  readonly percents: ReadonlySet<string>;
  /** The unit that a number's format shows behind it, by address: the cell itself holds a bare number. */
  readonly shownUnits: ReadonlyMap<string, string>;
  /** Comments hung on cells, by address. */
  readonly comments: ReadonlyMap<string, string>;
  /** Addresses of cells whose whole content is struck through. */
  readonly struck: ReadonlySet<string>;
  readonly hidden: Hidden;
};

/** What of a sheet its reader does not see; rows and columns count from 0. */
export type Hidden = {
  readonly sheet: boolean;
  readonly rows: ReadonlySet<number>;
  readonly columns: ReadonlySet<number>;
};

type Attributes = Readonly<Record<string, string>>;

/**
 * What does each sheet of an .xlsx file say that its values don't: merged blocks, formulas without a
 * value, numbers shown as per cent, comments, what is struck through, what is hidden?
 *
 * @returns by sheet name
 * @see ECMA-376 part 1, SpreadsheetML: mergeCell, c, f, v, numFmt, cellXfs, comment, strike, hidden
 */
export function importSheetMarks(files: Files): ReadonlyMap<string, SheetMarks> {
  const styles = readStyles(files);
  const targets = relations(files, "xl/workbook.xml");
  const struckTexts = readStruckTexts(files);
  const marks = new Map<string, SheetMarks>();
  walk(files["xl/workbook.xml"], {
    open(name, attributes) {
      if (name !== "sheet") return;
      const path = targets.find(({ id }) => id === idOf(attributes))?.path;
      if (path === undefined) return;
      const isHidden = attributes.state === "hidden" || attributes.state === "veryHidden";
      marks.set(attributes.name, readSheet(files, path, styles, struckTexts, isHidden));
    },
  });
  return marks;
}

/** The file of each sheet, by its name. */
export function sheetFiles(files: Files): ReadonlyMap<string, string> {
  const targets = relations(files, "xl/workbook.xml");
  const found = new Map<string, string>();
  walk(files["xl/workbook.xml"], {
    open(name, attributes) {
      const path = targets.find(({ id }) => id === idOf(attributes))?.path;
      if (name === "sheet" && path !== undefined) found.set(attributes.name, path);
    },
  });
  return found;
}

/** The day an .xlsx file says it was last saved; null where it says none. */
export function savedOn(files: Files): string | null {
  let inside = "";
  let text = "";
  walk(files["docProps/core.xml"], {
    open: (name) => void (inside = name),
    text: (part) => void (inside === "modified" && (text += part)),
    close: () => void (inside = ""),
  });
  const day = /^\d{4}-\d{2}-\d{2}/.exec(text.trim())?.[0];
  return day ?? null;
}

/** `B7` for row 6, column 1, both counted from 0. */
export function cellAddress(row: number, column: number): string {
  return `${columnLetters(column)}${row + 1}`;
}

/** `A` for column 0, `AA` for column 26. */
export function columnLetters(column: number): string {
  let letters = "";
  for (let rest = column + 1; rest > 0; rest = Math.floor((rest - 1) / 26)) {
    letters = String.fromCharCode(65 + (rest - 1) % 26) + letters;
  }
  return letters;
}

/** Column 0 for `A`; -1 when the text is no column. */
export function columnNumber(letters: string): number {
  if (!/^[A-Za-z]{1,3}$/.test(letters)) return -1;
  return [...letters.toUpperCase()].reduce((sum, one) => sum * 26 + one.charCodeAt(0) - 64, 0) - 1;
}

function readSheet(
  files: Files,
  path: string,
  styles: Styles,
  struckTexts: ReadonlyMap<number, "whole" | "part">,
  isHidden: boolean,
): SheetMarks {
  const struck = new Set<string>();
  const hidden = { sheet: isHidden, rows: new Set<number>(), columns: new Set<number>() };
  const merges: Merge[] = [];
  const troubles = new Map<string, { shown: string; why: string }>();
  const percents = new Set<string>();
  const shownUnits = new Map<string, string>();
  let cell: { at: string; type: string; style: number } | null = null;
  let formula: string | null = null;
  let value = "";
  let inside = "";
  walk(files[path], {
    open(name, attributes) {
      inside = name;
      if (name === "c") {
        cell = { at: attributes.r, type: attributes.t ?? "n", style: Number(attributes.s ?? 0) };
        [formula, value] = [null, ""];
      } else if (name === "row" || name === "col") readHidden(name, attributes, hidden);
      else if (name === "f") formula = "";
      else if (name === "mergeCell") {
        const merge = readMerge(attributes.ref ?? "");
        if (merge !== null) merges.push(merge);
      }
    },
    text(text) {
      if (inside === "v") value += text;
      else if (inside === "f" && formula !== null) formula += text;
    },
    close(name) {
      inside = "";
      if (name !== "c" || cell === null) return;
      if (cell.type === "e") {
        const shown = value || `=${formula ?? ""}`;
        troubles.set(cell.at, {
          shown,
          why: "the spreadsheet's own error, not a value; correct its formula",
        });
      } else if (formula !== null && value === "" && cell.type !== "str") {
        const why = "a formula whose value is not stored; open the file, compute, save it again";
        troubles.set(cell.at, { shown: `=${formula}`, why });
      } else if (cell.type === "n" && value !== "") {
        if (styles.percent.has(cell.style)) percents.add(cell.at);
        const unit = styles.units.get(cell.style);
        if (unit !== undefined) shownUnits.set(cell.at, unit);
      }
      const text = cell.type === "s" ? struckTexts.get(Number(value)) : undefined;
      if (value !== "" && (styles.struck.has(cell.style) || text === "whole")) struck.add(cell.at);
      else if (text === "part") {
        const why = "a part of it is struck through; leave only what counts";
        troubles.set(cell.at, { shown: "text with a part struck through", why });
      }
      cell = null;
    },
  });
  const comments = readComments(files, path);
  return { merges, troubles, percents, shownUnits, comments, struck, hidden };
}

function readHidden(
  name: "row" | "col",
  { hidden, r, min, max }: Attributes,
  found: { readonly rows: Set<number>; readonly columns: Set<number> },
): void {
  if (!isOn(hidden ?? "0")) return;
  if (name === "row") found.rows.add(Number(r) - 1);
  // Hiding all that lies right of a table gives one entry up to the last column there can be.
  else {for (let at = Number(min); at <= Math.min(Number(max), 16384); at++) {
      found.columns.add(at - 1);
    }}
}

function isOn(value: string): boolean {
  return value === "1" || value === "true";
}

/** Which shared texts are struck through, wholly or in part, run by run? */
function readStruckTexts(files: Files): ReadonlyMap<number, "whole" | "part"> {
  const found = new Map<number, "whole" | "part">();
  let at = -1;
  let inText = false;
  let [isStruck, struck, plain] = [false, false, false];
  walk(files["xl/sharedStrings.xml"], {
    open(name, { val }) {
      if (name === "si") [at, struck, plain] = [at + 1, false, false];
      if (name === "r" || name === "si") isStruck = false;
      if (name === "strike") isStruck = isOn(val ?? "1");
      inText = name === "t";
    },
    text(text) {
      if (!inText || text.trim() === "") return;
      if (isStruck) struck = true;
      else plain = true;
    },
    close(name) {
      inText = false;
      if (name === "si" && struck) found.set(at, plain ? "part" : "whole");
    },
  });
  return found;
}

function readMerge(ref: string): Merge | null {
  const ends = /^\$?([A-Z]+)\$?(\d+):\$?([A-Z]+)\$?(\d+)$/.exec(ref);
  if (!ends) return null;
  const [, left, top, right, bottom] = ends;
  return {
    top: Number(top) - 1,
    left: columnNumber(left),
    bottom: Number(bottom) - 1,
    right: columnNumber(right),
  };
}

function readComments(files: Files, path: string): ReadonlyMap<string, string> {
  const comments = new Map<string, string>();
  const found = relations(files, path).find(({ type }) => type.endsWith("/comments"));
  let at = "";
  let inText = false;
  walk(found && files[found.path], {
    open(name, attributes) {
      if (name === "comment") at = attributes.ref;
      inText = name === "t";
    },
    text: (text) => void (inText && comments.set(at, (comments.get(at) ?? "") + text)),
    close: () => void (inText = false),
  });
  return comments;
}

/** What a cell's style, by its number, says about the number in it. */
type Styles = {
  readonly percent: ReadonlySet<number>;
  readonly units: ReadonlyMap<number, string>;
  readonly struck: ReadonlySet<number>;
};

function readStyles(files: Files): Styles {
  const percentFormats = new Set([9, 10]); // built in: 0% and 0.00%
  const unitFormats = new Map<number, string>();
  const percent = new Set<number>();
  const units = new Map<number, string>();
  const struck = new Set<number>();
  const struckFonts = new Set<number>();
  let inCellStyles = false;
  let inFonts = false;
  let [style, font] = [0, -1];
  walk(files["xl/styles.xml"], {
    open(name, attributes) {
      const format = Number(attributes.numFmtId);
      if (name === "numFmt") {
        const code = attributes.formatCode ?? "";
        const unit = unitInFormat(code);
        if (unit !== null) unitFormats.set(format, unit);
        else if (code.includes("%")) percentFormats.add(format);
      } else if (name === "fonts") inFonts = true;
      else if (name === "font" && inFonts) font++;
      else if (name === "strike" && inFonts && isOn(attributes.val ?? "1")) struckFonts.add(font);
      else if (name === "cellXfs") inCellStyles = true;
      else if (name === "xf" && inCellStyles) {
        if (percentFormats.has(format)) percent.add(style);
        const unit = unitFormats.get(format);
        if (unit !== undefined) units.set(style, unit);
        if (struckFonts.has(Number(attributes.fontId ?? 0))) struck.add(style);
        style++;
      }
    },
    close(name) {
      if (name === "cellXfs") inCellStyles = false;
      if (name === "fonts") inFonts = false;
    },
  });
  return { percent, units, struck };
}

/** `cm` in the format `0.0" cm"`; null where its text is no unit. */
function unitInFormat(code: string): string | null {
  const literals = code.split(";")[0].matchAll(/"([^"]*)"|\\(.)/g);
  const text = [...literals].map(([, quoted, escaped]) => quoted ?? escaped).join("").trim();
  return unitOf(text)?.code ?? null;
}

type Relation = { readonly id: string; readonly type: string; readonly path: string };

function relations(files: Files, path: string): Relation[] {
  const cut = path.lastIndexOf("/");
  const found: Relation[] = [];
  walk(files[`${path.slice(0, cut)}/_rels/${path.slice(cut + 1)}.rels`], {
    open(name, { Id, Type, Target }) {
      if (name !== "Relationship" || !Target) return;
      const whole = new URL(Target, `file:///${path}`).pathname.slice(1);
      found.push({ id: Id, type: Type ?? "", path: decodeURIComponent(whole) });
    },
  });
  return found;
}

function idOf(attributes: Attributes): string | undefined {
  const key = Object.keys(attributes).find((name) => /:id$/.test(name));
  return key === undefined ? undefined : attributes[key];
}

type Handlers = {
  readonly open: (name: string, attributes: Attributes) => void;
  readonly text?: (text: string) => void;
  readonly close?: (name: string) => void;
};

type Decode = (text: string) => string;

// Prefixes differ between programs (`x:c` and `c`), so names are taken without them.
function walk(bytes: Uint8Array | undefined, { open, text, close }: Handlers): void {
  if (bytes === undefined) return;
  const bare = (name: string) => name.slice(name.indexOf(":") + 1);
  const parser = new Parser();
  parser.on(
    "openTag",
    (name: string, attributes: () => object, decode: Decode, closed: boolean) => {
      const given = { ...attributes() } as Record<string, string>;
      for (const key in given) given[key] = decode(given[key]);
      open(bare(name), given);
      if (closed) close?.(bare(name));
    },
  );
  parser.on("closeTag", (name: string, _: Decode, closed: boolean) => {
    if (!closed) close?.(bare(name));
  });
  if (text) parser.on("text", (value: string, decode: Decode) => text(decode(value)));
  parser.on("error", () => {});
  parser.parse(strFromU8(bytes));
}
