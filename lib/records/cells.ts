import { z } from "zod";
import { likelyUnit, parseQuantity } from "./units.ts";
import { isCalendarDate } from "./dates.ts";

/** What the data dictionary says about one column, kept with the schema of its cells. */
type ColumnAbout = {
  readonly says: string;
  readonly required: boolean;
  /** Whether cells are numbers, which may then come with decimal commas. */
  readonly number: boolean;
  readonly example: string;
};

/** A schema for one cell: its text in, what it means out. */
type Cell<T> = z.ZodType<T, string>;

/** The advice that a failed cell carries beside what was expected. */
export type CellAdvice = { readonly fix: string };

const about = z.registry<ColumnAbout>();

const readers = new WeakMap<z.ZodType, (text: string, payload: Payload) => unknown>();

/**
 * Reads rows as `z.object(shape).safeParse` does, but into one and the same object and list of issues.
 *
 * For the table of a million rows: zod's objects in passing, several a cell, otherwise end up in the
 * old heap among the rows that stay, at three times the memory. A cell that says what the one above it
 * said is not read again: most columns of a long table repeat themselves.
 */
export function rowReader<Shape extends Readonly<Record<string, Cell<unknown>>>>(
  shape: Shape,
): (
  cells: { readonly [Name in keyof Shape]: string },
) => { readonly row: RowOf<Shape>; readonly issues: readonly z.core.$ZodRawIssue[] } {
  const names = Object.keys(shape);
  const reads = names.map((name) => {
    const read = readers.get(shape[name]);
    if (!read) {
      throw new RangeError(`Cannot read ${name}: its schema is not one of this file's cells`);
    }
    return read;
  });
  const row: Record<string, unknown> = Object.fromEntries(names.map((name) => [name, null]));
  const issues: z.core.$ZodRawIssue[] = [];
  const payload = { value: "" as unknown, issues } as Payload;
  const result = { row: row as RowOf<Shape>, issues };
  const above: (string | null)[] = names.map(() => null); // null where the cell above had an issue
  return (cells) => {
    issues.length = 0;
    for (let i = 0; i < names.length; i++) {
      const text = cells[names[i]];
      if (text === above[i]) continue;
      const before = issues.length;
      payload.value = text;
      row[names[i]] = reads[i](text, payload);
      const isGood = issues.length === before;
      above[i] = isGood ? text : null;
      if (!isGood) issues[before] = { ...issues[before], path: [names[i]] };
    }
    return result;
  };
}

type RowOf<Shape> = {
  readonly [Name in keyof Shape]: Shape[Name] extends Cell<infer T> ? T : never;
};

/** Joins a cell's schema with what the data dictionary says about its column. */
export function column<T>(
  schema: Cell<T>,
  says: string,
  { required = false, number = false, example = "" }: Partial<Omit<ColumnAbout, "says">> = {},
): Cell<T> {
  about.add(schema, { says, required, number, example });
  return schema;
}

/** What the data dictionary says about a column of a table's schema. */
export function columnAbout(schema: z.ZodType): ColumnAbout {
  const found = about.get(schema);
  if (!found) throw new RangeError("Cannot describe a schema that column() did not make");
  return found;
}

/** Words that say a number is missing, in lower case. */
const MISSING = new Set(["", "na", "n/a", "-", "—", "–"]);

/** Does this cell say that its number is missing? */
export function isMissing(text: string): boolean {
  if (text.length > 8) return text.trim() === "";
  return MISSING.has(text.trim().toLowerCase());
}

/** A longer name or title would burst every table and picture that shows it. */
export const LONGEST_NAME = 500;
const LONGEST_NOTE = 100_000;

/** A name that must be there, without spaces around it. */
export function requiredText(): Cell<string> {
  return cell((text, payload) => {
    const trimmed = inOneLine(withoutGuard(text).trim());
    if (trimmed.length > LONGEST_NAME) return tooLong(payload, LONGEST_NAME);
    return trimmed === "" ? wrong(payload, "some text", "") : trimmed;
  });
}

/** A name, kept exactly but for line breaks; null when blank. */
export function optionalText(): Cell<string | null> {
  return textUpTo(LONGEST_NAME, inOneLine);
}

/** Free text of any useful length, kept exactly; null when blank. */
export function optionalNote(): Cell<string | null> {
  return textUpTo(LONGEST_NOTE, (text) => text);
}

function textUpTo(most: number, tidy: (text: string) => string): Cell<string | null> {
  return cell((text, payload) => {
    if (text.length > most) return tooLong(payload, most);
    return text === "" || text.trim() === "" ? null : tidy(withoutGuard(text));
  });
}

/** A spreadsheet breaks a long name; in a heading or a list the rest would pass for one of its own. */
function inOneLine(text: string): string {
  return /[\r\n]/.test(text) ? text.replace(/\s*[\r\n]\s*/g, " ") : text;
}

function tooLong(payload: Payload, most: number): never {
  return wrong(payload, `at most ${most.toLocaleString("en")} characters`, "");
}

/** A number, or null when the cell says that it is missing; `check` names what is wrong with one. */
export function optionalNumber(
  check: ((value: number) => string | null) | null = null,
): Cell<number | null> {
  return cell((text, payload) => {
    const value = plainNumber(text);
    if (value === null) return isMissing(text) ? null : noNumber(payload, text);
    const expected = check === null ? null : check(value);
    return expected === null ? value : wrong(payload, expected, "");
  });
}

/** A number that must be there. */
export function requiredNumber(): Cell<number> {
  return cell((text, payload) => plainNumber(text) ?? noNumber(payload, text));
}

/** A reading: a number, null when missing, or the bound beyond which it lies, such as `<1`. */
export function optionalReading(): Cell<
  number | null | { readonly below: number } | { readonly above: number }
> {
  return cell((text, payload) => {
    const value = plainNumber(text);
    if (value !== null) return value;
    if (isMissing(text)) return null;
    const sign = /^\s*([<>])/.exec(text);
    const bound = sign === null ? null : plainNumber(text.slice(text.indexOf(sign[1]) + 1));
    if (bound === null) return noNumber(payload, text);
    return sign![1] === "<" ? { below: bound } : { above: bound };
  });
}

/** A whole number from `least` up; `blank` stands for an empty cell, null when it must not be empty. */
export function wholeNumber(least: number, blank: number | null): Cell<number> {
  return cell((text, payload) => {
    if (blank !== null && text.trim() === "") return blank;
    const value = plainNumber(text);
    if (value !== null && value >= least && Number.isSafeInteger(value)) return value;
    return wrong(payload, `a whole number, ${least} or more`, "");
  });
}

/** A day of the calendar, `2026-07-14`. */
export function requiredDate(): Cell<string> {
  return cell((text, payload) => {
    const date = text.trim();
    return isCalendarDate(date) ? date : noDate(payload, date);
  });
}

/** A day of the calendar; null when blank. */
export function optionalDate(): Cell<string | null> {
  return cell((text, payload) => {
    const date = text.trim();
    if (date === "") return null;
    return isCalendarDate(date) ? date : noDate(payload, date);
  });
}

/** One of some words, in small or capital letters. */
export function requiredChoice<const T extends string>(words: readonly T[]): Cell<T> {
  return cell((text, payload) => choose(words, text) ?? noChoice(payload, words, ""));
}

/** One of some words; null when blank. */
export function optionalChoice<const T extends string>(words: readonly T[]): Cell<T | null> {
  return cell((text, payload) => {
    if (text === "" || text.trim() === "") return null;
    return choose(words, text) ?? noChoice(payload, words, ", or nothing");
  });
}

/**
 * Text as it was before `writeTable` put an apostrophe in front of it, so that no spreadsheet runs it.
 * Only an apostrophe before such a character is taken off: `'tis` stays.
 */
export function withoutGuard(text: string): string {
  return text.charCodeAt(0) === 39 && /^'+[=+\-@\t\r\n＝＋－＠]/.test(text) ? text.slice(1) : text;
}

/** Text that a spreadsheet would run as a formula, made inert; any other text unchanged. */
export function withGuard(text: string): string {
  return /^'*[=+\-@\t\r\n＝＋－＠]/.test(text) ? `'${text}` : text;
}

type Payload = Parameters<Parameters<typeof z.transform<string, unknown>>[0]>[1];

function cell<T>(read: (text: string, payload: Payload) => T): Cell<T> {
  const schema = z.transform(read) as unknown as Cell<T>;
  readers.set(schema, read as (text: string, payload: Payload) => unknown);
  return schema;
}

function wrong(payload: Payload, expected: string, fix: string): never {
  const params: CellAdvice = { fix };
  payload.issues.push({ code: "custom", message: expected, params, input: payload.value });
  return z.NEVER;
}

const NUMBER = /^\s*[-+−]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?\s*$/;

// Number() alone would take "", "0x10" and "Infinity".
function plainNumber(text: string): number | null {
  if (!NUMBER.test(text)) return null;
  const value = Number(text.includes("−") ? text.replace("−", "-") : text);
  return Number.isFinite(value) ? value : null;
}

function noNumber(payload: Payload, text: string): never {
  const quantity = parseQuantity(text);
  if ("value" in quantity) {
    const { value, unit } = quantity;
    if (unit === null) return wrong(payload, "a number", `Write ${value}.`);
    const spelled = text.trim().replace(/^[-+−\d.,eE]+\s*/, "");
    return wrong(payload, "a number", `Put ${value} here and ${spelled || unit} in "unit".`);
  }
  return wrong(payload, "a number", quantity.fix.startsWith("Write it like") ? "" : quantity.fix);
}

function noDate(payload: Payload, text: string): never {
  const expected = "a date of the calendar, such as 2026-07-14";
  const parts = /^(\d{1,4})[./ -](\d{1,2})[./ -](\d{1,4})$/.exec(text);
  if (!parts) return wrong(payload, expected, "");
  const [a, b, c] = parts.slice(1).map(Number);
  const spell = (year: number, month: number, day: number) =>
    [String(year).padStart(4, "0"), ...[month, day].map((n) => String(n).padStart(2, "0"))].join(
      "-",
    );
  const likely = (parts[1].length === 4 ? [spell(a, b, c)] : [spell(c, b, a), spell(c, a, b)])
    .filter((date, i, all) =>
      isCalendarDate(date) && !date.startsWith("00") && all.indexOf(date) === i
    );
  const fix = likely.length === 0 ? "" : `Write ${likely.join(" or ")}, whichever day is meant.`;
  return wrong(payload, expected, likely.length === 1 ? `Write ${likely[0]}.` : fix);
}

function choose<T extends string>(words: readonly T[], text: string): T | null {
  if (words.includes(text as T)) return text as T;
  const plain = text.trim().toLowerCase();
  return words.find((word) => word === plain) ?? null;
}

function noChoice(payload: Payload, words: readonly string[], more: string): never {
  const text = String(payload.value).trim().toLowerCase();
  const likely = words.filter((word) => text !== "" && word.startsWith(text));
  const fix = likely.length === 1 ? `Write ${likely[0]}.` : "";
  return wrong(payload, `one of ${words.join(", ")}${more}`, fix);
}

/** Advice on a unit that is not known. */
export function unitAdvice(text: string): string {
  const near = likelyUnit(text);
  return near === null
    ? "Use a UCUM code such as cm, g, N, deg, s, Cel or %."
    : `Write ${near.code}.`;
}
