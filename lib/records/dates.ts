import type { CellContent } from "./import_workbook.ts";

/** How days are typed, where several ways could be meant. */
type DateReading = {
  readonly dates: keyof typeof ORDERS | null;
  readonly two_digit_years: "refuse" | "2000s";
};

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
  { dates, two_digit_years }: DateReading,
): { readonly date: string } | { readonly why: string } {
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

const MONTHS = ["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"];

const SHORT_YEAR = 'a year of two digits; say "two_digit_years": "2000s" if that is meant';

const ORDERS = {
  "day-month-year": [2, 1, 0],
  "month-day-year": [2, 0, 1],
  "year-month-day": [0, 1, 2],
} as const;

function dayOfText(
  text: string,
  dates: DateReading["dates"],
  twoDigitYears: DateReading["two_digit_years"],
): { readonly date: string } | { readonly why: string } {
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

/** Is this text a day that the calendar has, written `2026-07-14`? */
export function isCalendarDate(text: string): boolean {
  const parts = /^(\d{4})-(\d{2})-(\d{2})$/.exec(text);
  if (!parts) return false;
  const [year, month, day] = parts.slice(1).map(Number);
  const date = new Date(Date.UTC(2000, 0, 1));
  date.setUTCFullYear(year, month - 1, day); // the constructor would read year 0026 as 1926
  return date.getUTCMonth() === month - 1 && date.getUTCDate() === day;
}
