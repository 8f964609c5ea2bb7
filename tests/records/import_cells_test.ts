import assert from "node:assert/strict";
import fc from "fast-check";
import {
  plainName,
  readPlainNumber,
  readReading,
  readYesNo,
} from "../../lib/records/import_cells.ts";
import { readDay } from "../../lib/records/dates.ts";
import type { CellContent } from "../../lib/records/import_workbook.ts";
import { isCalendarDate } from "../../lib/records/dates.ts";

const text = (content: string): CellContent => ({ kind: "text", text: content });
const number = (value: number, percent = false): CellContent => ({
  kind: "number",
  value,
  percent,
});

function reading(
  content: CellContent | string,
  options: Partial<Parameters<typeof readReading>[1]> = {},
) {
  const cell = typeof content === "string" ? text(content) : content;
  return readReading(cell, { decimal: null, unit: "cm", notes: "take", ...options });
}

Deno.test("readReading() takes the units and decimal marks that spreadsheets are full of", () => {
  const note = null;
  assert.deepEqual(reading("11.2 in"), { value: 11.2, unit: "[in_i]", note });
  assert.deepEqual(reading("28,4 cm"), { value: 28.4, unit: "cm", note });
  assert.deepEqual(reading("284mm"), { value: 284, unit: "mm", note });
  assert.deepEqual(reading("159 °F", { unit: "°C" }), { value: 159, unit: "[degF]", note });
  assert.deepEqual(reading("48"), { value: 48, unit: "cm", note });
  assert.deepEqual(reading(number(48.5)), { value: 48.5, unit: "cm", note });
  assert.deepEqual(reading("48", { unit: null }), { value: 48, unit: null, note });
});

Deno.test("readReading() keeps what stands behind a number as its note, or lists the cell", () => {
  assert.deepEqual(reading("41.5 (wet)"), { value: 41.5, unit: "cm", note: "wet" });
  assert.deepEqual(reading("11.2 in [tape read]"), {
    value: 11.2,
    unit: "[in_i]",
    note: "tape read",
  });
  assert.deepEqual(reading("41.5*"), { value: 41.5, unit: "cm", note: "marked *" });
  assert.deepEqual(reading("NA (rig broke)"), { value: null, unit: "cm", note: "rig broke" });
  assert.match(
    (reading("41.5 (wet)", { notes: "leave" }) as { why: string }).why,
    /number with a note.*"notes": "take"/,
  );
});

Deno.test("readReading() refuses what could be read in two ways, and says how to write it", () => {
  const why = (content: CellContent | string, options = {}) =>
    (reading(content, options) as { why: string }).why;
  assert.match(why("1,234"), /one way only.*Write 1234 or 1\.234/);
  assert.deepEqual(reading("1,234", { decimal: "," }), { value: 1.234, unit: "cm", note: null });
  assert.match(why("48.5 cn"), /known unit/);
  assert.match(why("48.5 g"), /does not measure what the column's unit, cm, does/);
  assert.match(why("about 45"), /no number; write one, or NA where there is none/);
  assert.match(why("41 43"), /./);
  assert.match(why("41/43"), /./);
  assert.match(why({ kind: "date", date: "2026-11-02", time: null }), /a date, where a number/);
  assert.match(why({ kind: "boolean", value: true }), /yes or no/);
  assert.match(why({ kind: "trouble", shown: "#DIV/0!", why: "an error" }), /an error/);
});

Deno.test("readReading() reads a cell shown as per cent as the person sees it, not as it is stored", () => {
  assert.deepEqual(reading(number(0.45, true), { unit: "%" }), {
    value: 45,
    unit: "%",
    note: null,
  });
  assert.deepEqual(reading(number(0.45, true), { unit: "1" }), {
    value: 0.45,
    unit: "1",
    note: null,
  });
  assert.match((reading(number(0.45, true)) as { why: string }).why, /per cent, where cm/);
});

Deno.test("readReading() takes the words for a missing reading as missing, never as 0", () => {
  for (const word of ["NA", "n/a", "-", "—"]) {
    assert.deepEqual(reading(word), { value: null, unit: "cm", note: null }, word);
  }
});

Deno.test("readPlainNumber() refuses a number with a unit", () => {
  assert.deepEqual(readPlainNumber(text("42,5"), null), { value: 42.5 });
  assert.match(
    (readPlainNumber(text("42 cm"), null) as { why: string }).why,
    /a unit \(cm\)/,
  );
});

Deno.test("readDay() reads a day in any spelling that leaves no doubt, and no other", () => {
  const any = { dates: null, two_digit_years: "refuse" } as const;
  const day = (content: string) => readDay(text(content), any);
  for (
    const spelling of [
      "2026-03-14",
      "2026/3/14",
      "14.3.2026",
      "14/03/2026",
      "3/14/2026",
      "14 Mar 2026",
      "14. March 2026",
      "Mar 14, 2026",
      "14-Mar-2026",
      "2026-03-14 09:30",
      "14.3.2026 9:30",
    ]
  ) assert.deepEqual(day(spelling), { date: "2026-03-14" }, spelling);
  assert.deepEqual(readDay({ kind: "date", date: "2026-03-14", time: "09:30:00" }, any), {
    date: "2026-03-14",
  });
  const why = (content: string, options: Parameters<typeof readDay>[1] = any) =>
    (readDay(text(content), options) as { why: string }).why;
  assert.match(why("3/4/2026"), /2026-04-03 or 2026-03-04; say in the mapping's "dates"/);
  assert.match(why("14.3.26"), /two digits/);
  assert.match(why("14-Mar-26"), /two digits/);
  const short = { dates: null, two_digit_years: "2000s" } as const;
  assert.deepEqual(readDay(text("14-Mar-26"), short), { date: "2026-03-14" });
  assert.match(why("31.2.2026"), /no date/);
  assert.match(why("next week"), /no date/);
  assert.match((readDay(number(46000), any) as { why: string }).why, /format the cell as a date/);
  const american = { dates: "month-day-year", two_digit_years: "2000s" } as const;
  assert.deepEqual(readDay(text("3/4/26"), american), { date: "2026-03-04" });
  assert.match(why("14/3/2026", american), /no date of the order month-day-year/);
});

Deno.test("readDay() never gives a day that no calendar has, whatever the text", () => {
  const mangled = fc.oneof(
    fc.string({ unit: fc.constantFrom(..."0123456789./- :Tmarchjuneoct,") }),
    fc.tuple(fc.nat(40), fc.constantFrom(".", "/", "-", " "), fc.nat(40), fc.nat(3000))
      .map(([a, mark, b, c]) => [a, b, c].join(mark)),
  );
  const dates = fc.constantFrom(
    null,
    "day-month-year" as const,
    "month-day-year" as const,
    "year-month-day" as const,
  );
  fc.assert(
    fc.property(mangled, dates, (content, order) => {
      const read = readDay(text(content), { dates: order, two_digit_years: "2000s" });
      if ("date" in read) assert.ok(isCalendarDate(read.date), content);
      else assert.notEqual(read.why, "");
    }),
    { numRuns: 3000, seed: 20260101 },
  );
});

Deno.test("readYesNo() takes marks and words for yes and no, and refuses the rest", () => {
  for (const word of ["yes", "Y", "x", "✓", "1"]) assert.equal(readYesNo(text(word)), "yes", word);
  for (const word of ["no", "N", "0", "–"]) assert.equal(readYesNo(text(word)), "no", word);
  assert.equal(readYesNo(text("?")), "unknown");
  assert.equal(readYesNo({ kind: "boolean", value: false }), "no");
  assert.deepEqual(readYesNo(text("partly")), {
    why: "neither yes, no nor unknown; write yes, no or ?",
  });
});

Deno.test("plainName() makes one name of spellings that differ in capitals and spaces only", () => {
  assert.equal(plainName("  Tarnwick   ALDER\u00a02 "), plainName("tarnwick alder 2"));
  assert.notEqual(plainName("Alder 2"), plainName("Alder 3"));
});
