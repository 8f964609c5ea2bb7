import { isCalendarDate, isMissing } from "./cells.ts";
import { type CellContent, percentOf, shownContent } from "./import_workbook.ts";
import type { ImportMapping } from "./import_mapping.ts";
import { parseQuantity, sameDimension, unitOf } from "./units.ts";

/** Why a cell was not read, in words that follow its content. */
export type NotRead = { readonly why: string };

/** A reading: null when the cell says that it is missing. */
export type CellReading = {
  readonly value: number | null;
  /** UCUM code; null when neither the cell nor its column names one. */
  readonly unit: string | null;
  readonly note: string | null;
  /** Where the cell gives a bound only: `<` in `<1 mm`, whose `value` is then 1. */
  readonly bound?: "<" | ">";
};

/**
 * What reading does this cell hold?
 *
 * A unit in the cell goes before the column's, and must measure the same. A note is taken only from
 * brackets, or behind `*` or `;`: other words behind a number may be a unit spelt wrongly.
 */
export function readReading(
  content: CellContent,
  { decimal, unit, notes }: {
    readonly decimal: "." | "," | null;
    readonly unit: string | null;
    readonly notes: "take" | "leave";
  },
): CellReading | NotRead {
  const code = unit === null ? null : unitOf(unit)!.code;
  if (content.kind === "trouble") return { why: content.why };
  if (content.kind === "boolean") {
    const fix = 'correct the cell, or what the column "holds" in the mapping';
    return { why: `yes or no, where a number should be; ${fix}` };
  }
  if (content.kind === "date") {
    return {
      why: "a date, where a number should be; the spreadsheet may have made it of one such as " +
        "11.2: format the cell as a number and type it again",
    };
  }
  if (content.kind === "number") {
    const { value, percent, unit: shown } = content;
    if (!Number.isFinite(value)) return { why: "a number that is too large; correct the cell" };
    if (shown !== undefined) return inUnit(value, shown, code, null);
    if (!percent || code === "1") return { value, unit: code, note: null };
    if (code !== null && code !== "%") {
      return { why: `per cent, where ${unit} should be; correct the cell's format or the "unit"` };
    }
    return { value: percentOf(value), unit: "%", note: null };
  }
  const { text } = content;
  if (isMissing(text)) return { value: null, unit: code, note: null };
  const sign = /^\s*([<>])\s*(?=[\d.,])/.exec(text);
  if (sign !== null) {
    const rest = { kind: "text", text: text.slice(sign[0].length) } as const;
    const read = readReading(rest, { decimal, unit, notes });
    return "why" in read || read.value === null ? read : { ...read, bound: sign[1] as "<" | ">" };
  }
  const whole = parseQuantity(text, { decimal });
  const parts = "value" in whole ? null : withNote(text);
  if (parts !== null) {
    if (isMissing(parts.quantity)) {
      return notes === "take" && parts.quantity !== ""
        ? { value: null, unit: code, note: parts.note }
        : { why: `no number before the note; ${NUMBER_OR_NA}` };
    }
    const read = parseQuantity(parts.quantity, { decimal });
    if ("value" in read) {
      if (notes === "take") return inUnit(read.value, read.unit, code, parts.note);
      return { why: 'a number with a note; say "notes": "take" in the mapping to take both' };
    }
    return { why: advice(read) };
  }
  return "value" in whole ? inUnit(whole.value, whole.unit, code, null) : { why: advice(whole) };
}

/** A number that has no unit, such as a size; a unit in the cell is not read. */
export function readPlainNumber(
  content: CellContent,
  decimal: "." | "," | null,
): { readonly value: number | null } | NotRead {
  const read = readReading(content, { decimal, unit: null, notes: "leave" });
  if ("why" in read) return read;
  if (read.unit !== null) {
    return { why: `a unit (${read.unit}), where a plain number should be; take it out` };
  }
  if (read.bound !== undefined) {
    return { why: `a bound (${read.bound}), where a plain number should be; write the number` };
  }
  return { value: read.value };
}

/** What a rating's cell may mean, besides a plain number. */
export type RatingScale = {
  /** The scale that the bench rates on; null where nothing says it. */
  readonly scale: { readonly min: number; readonly max: number } | null;
  /** Words in place of numbers, from the least to the most. */
  readonly words: readonly string[];
};

/** A rating: a number, `8/10` on a scale up to 10, or one of the words that the mapping puts in order. */
export function readRating(
  content: CellContent,
  { decimal, notes, scale, words }: RatingScale & {
    readonly decimal: "." | "," | null;
    readonly notes: "take" | "leave";
  },
): CellReading | NotRead {
  const text = content.kind === "text" ? content.text.trim() : "";
  const word = words.findIndex((one) => plainName(one) === plainName(text));
  if (word >= 0 && scale !== null && words.length > 1) {
    const value = scale.min + (scale.max - scale.min) * word / (words.length - 1);
    return { value: Number(value.toPrecision(12)), unit: null, note: text };
  }
  const share = /^(.*?)\s*(?:\/|out of)\s*(\d+)$/i.exec(text);
  const whole = share === null ? content : { kind: "text", text: share[1] } as const;
  const read = readReading(whole, { decimal, unit: null, notes });
  if ("why" in read || read.value === null) return read;
  if (read.unit !== null || read.bound !== undefined) {
    const found = read.unit === null ? `a bound (${read.bound})` : `a unit (${read.unit})`;
    return { why: `${found}, where a rating should be; take it out` };
  }
  if (share !== null && scale !== null && Number(share[2]) !== scale.max) {
    return { why: `out of ${share[2]}, where the bench's ratings go to ${scale.max}; convert it` };
  }
  if (scale !== null && (read.value < scale.min || read.value > scale.max)) {
    return {
      why:
        `outside the bench's scale, ${scale.min} to ${scale.max}; correct the cell, or "rating" ` +
        "in bench.json (in the mapping's bench, for a new one)",
    };
  }
  return read;
}

/** A labelled size, with the system where the cell names one: `EU 45`, `size 11 US M`. */
export function readSize(
  content: CellContent,
  decimal: "." | "," | null,
): { readonly value: number | null; readonly system: string | null } | NotRead {
  const text = shownContent(content).trim();
  const label = /\b(eur?|uk|mondo(?:point)?|us)\b\s*(men'?s?|women'?s?|[mw]\b)?/i;
  if (content.kind !== "text" || !(label.test(text) || /^size\b/i.test(text))) {
    const read = readPlainNumber(content, decimal);
    return "why" in read ? read : { value: read.value, system: null };
  }
  const found = label.exec(text);
  const left = text.replace(label, " ").replace(/^\s*size\b/i, " ").trim();
  const read = readPlainNumber({ kind: "text", text: left }, decimal);
  if ("why" in read) return read;
  const place = found?.[1].toLowerCase();
  const system = place === undefined
    ? null
    : place === "us"
    ? /^w/i.test(found![2] ?? "") ? "us-women" : /^m/i.test(found![2] ?? "") ? "us-men" : "us"
    : place.startsWith("eu")
    ? "eu"
    : place.startsWith("mondo")
    ? "mondopoint"
    : "uk";
  return { value: read.value, system };
}

const CURRENCIES: Readonly<Record<string, string | null>> = { "£": "GBP", "€": "EUR", "$": null };

/** A price, with the currency where the cell names one; `$` alone is the sign of several. */
export function readPrice(
  content: CellContent,
  decimal: "." | "," | null,
):
  | {
    readonly value: number | null;
    readonly currency: string | null;
    readonly sign: string | null;
  }
  | NotRead {
  const text = shownContent(content).trim();
  const found = content.kind !== "text" ? null : /[£€$]|\b[A-Z]{3}\b/.exec(text);
  const left = found === null ? content : {
    kind: "text",
    text: (text.slice(0, found.index) + text.slice(found.index + found[0].length)).trim(),
  } as const;
  const read = readPlainNumber(left, decimal);
  if ("why" in read) return read;
  const currency = found === null ? null : CURRENCIES[found[0]];
  return {
    value: read.value,
    currency: currency === undefined ? found![0] : currency,
    sign: currency === null && found !== null ? found[0] : null,
  };
}

/** A year alone, whether as a number, a text, or typed into a cell that is formatted as a date. */
export function yearAlone(content: CellContent): number | null {
  const year = content.kind === "number"
    ? content.value
    : content.kind === "text" && /^\d{4}$/.test(content.text.trim())
    ? Number(content.text)
    : content.kind === "date" && /^1905-0[5-8]/.test(content.date)
    // A spreadsheet shows the whole number 2023, formatted as a date, as a day of July 1905.
    ? Math.round((Date.parse(content.date) - Date.parse("1899-12-30")) / 86_400_000)
    : null;
  return year !== null && Number.isInteger(year) && year >= 1970 && year <= 2100 ? year : null;
}

/** Which day does this cell name? */
export function readDay(
  content: CellContent,
  { dates, two_digit_years }: Pick<ImportMapping, "dates" | "two_digit_years">,
): { readonly date: string } | NotRead {
  if (content.kind === "trouble") return { why: content.why };
  if (content.kind === "date") return { date: content.date };
  if (content.kind === "boolean") {
    return { why: "yes or no, where a date should be; write one such as 2026-07-14" };
  }
  if (content.kind === "number") {
    return { why: "a number, where a date should be; format the cell as a date" };
  }
  return dayOfText(content.text.trim(), dates, two_digit_years);
}

/** The time of day that a cell writes behind its day; a session is a day, so that it is not kept. */
export function timeBehindDay(content: CellContent): string | null {
  if (content.kind === "date") return content.time;
  return content.kind === "text" ? TIME.exec(content.text.trim())?.[0].slice(1) ?? null : null;
}

const TIME = /[T ]\d{1,2}:\d{2}(:\d{2})?( ?[ap]m)?$/i;

/** yes, no or unknown, in the words that spreadsheets use. */
export function readYesNo(content: CellContent): "yes" | "no" | "unknown" | NotRead {
  if (content.kind === "trouble") return { why: content.why };
  if (content.kind === "boolean") return content.value ? "yes" : "no";
  const word = shownContent(content).trim().toLowerCase();
  if (/^(yes|y|x|1|true|✓|✔|ja|oui|si|sí)$/.test(word)) return "yes";
  if (/^(no|n|0|false|-|–|—|✗|✘|nein|non)$/.test(word)) return "no";
  if (/^(unknown|\?|na|n\/a)$/.test(word)) return "unknown";
  return { why: "neither yes, no nor unknown; write yes, no or ?" };
}

/** Text in one line, without spaces around it. */
export function readText(content: CellContent): { readonly text: string } | NotRead {
  if (content.kind === "trouble") return { why: content.why };
  return { text: shownContent(content).trim() };
}

/** A name as it is compared: capitals, accents' spelling and runs of spaces don't count. */
export function plainName(text: string): string {
  return text.normalize("NFKC").trim().replace(/\s+/g, " ").toLowerCase();
}

function inUnit(
  value: number,
  written: string | null,
  column: string | null,
  note: string | null,
): CellReading | NotRead {
  if (written !== null && column !== null && !sameDimension(written, column)) {
    const fix = 'correct the cell, or "unit" in the mapping';
    return { why: `${written} does not measure what the column's unit, ${column}, does; ${fix}` };
  }
  return { value, unit: written ?? column, note };
}

function withNote(text: string): { quantity: string; note: string } | null {
  const parts = /^(.*?)\s*(?:\((.+)\)|\[(.+)\]|[;*]\s*(.*))\s*$/su.exec(text);
  if (!parts) return null;
  const note = (parts[2] ?? parts[3] ?? parts[4]).trim();
  return { quantity: parts[1].trim(), note: note === "" ? "marked *" : note };
}

const NUMBER_OR_NA = "write one, or NA where there is none";

function advice({ expected, fix }: { readonly expected: string; readonly fix: string }): string {
  if (expected === "a number and a unit") return `no number; ${NUMBER_OR_NA}`;
  return `expected ${expected}.${fix === "" ? "" : ` ${fix}`}`.replace(/\.$/, "");
}

const MONTHS = ["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"];

const SHORT_YEAR = 'a year of two digits; say "two_digit_years": "2000s" if that is meant';

const ORDERS = {
  "day-month-year": [2, 1, 0],
  "month-day-year": [2, 0, 1],
  "year-month-day": [0, 1, 2],
} as const;

function dayOfText(
  text: string,
  dates: ImportMapping["dates"],
  twoDigitYears: ImportMapping["two_digit_years"],
): { readonly date: string } | NotRead {
  const none = { why: "no date that is understood; write it like 2026-07-14" };
  const bare = text.replace(TIME, "");
  const named =
    /^(?:(\d{1,2})\.?[\s-]+([a-z]{3,9})\.?|([a-z]{3,9})\.?\s+(\d{1,2})),?[\s-]+(\d{4}|\d{2})$/i
      .exec(bare);
  if (named) {
    const word = (named[2] ?? named[3]).toLowerCase();
    const month = MONTHS.findIndex((short) => word.startsWith(short)) + 1;
    const short = named[5].length === 2;
    if (month > 0 && short && twoDigitYears === "refuse") return { why: SHORT_YEAR };
    const date = spelled(short ? `20${named[5]}` : named[5], String(month), named[1] ?? named[4]);
    return month > 0 && isCalendarDate(date) ? { date } : none;
  }
  const parts = /^(\d{1,4})\s*[./\- ]\s*(\d{1,2})\s*[./\- ]\s*(\d{1,4})\.?$/.exec(bare)?.slice(1);
  if (!parts) return none;
  if (parts[0].length === 4) {
    const date = spelled(parts[0], parts[1], parts[2]);
    return isCalendarDate(date) ? { date } : none;
  }
  const readings = (dates === null ? ["day-month-year", "month-day-year"] as const : [dates])
    .flatMap((order) => {
      const [year, month, day] = ORDERS[order].map((at) => parts[at]);
      const long = year.length === 2 && twoDigitYears === "2000s" ? `20${year}` : year;
      const date = spelled(long, month, day);
      return isCalendarDate(date) ? [date] : [];
    });
  const distinct = [...new Set(readings)];
  if (distinct.length === 1) return { date: distinct[0] };
  if (distinct.length > 1) {
    return { why: `${distinct.join(" or ")}; say in the mapping's "dates" which order is meant` };
  }
  if (twoDigitYears === "refuse" && parts.every((part) => part.length <= 2)) {
    return { why: SHORT_YEAR };
  }
  return dates === null ? none : {
    why:
      `no date of the order ${dates}, which the mapping's "dates" says; write it like 2026-07-14`,
  };
}

function spelled(year: string, month: string, day: string): string {
  const two = (part: string) => part.padStart(2, "0");
  return year.length === 4 ? `${year}-${two(month)}-${two(day)}` : "";
}
