import { isMissing } from "./cells.ts";
import { type CellContent, percentOf, shownContent } from "./import_workbook.ts";
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
  switch (content.kind) {
    case "trouble":
      return { why: content.why };
    case "boolean":
      return {
        why: "yes or no, where a number should be; " +
          'correct the cell, or what the column "holds" in the mapping',
      };
    case "date":
      return {
        why: "a date, where a number should be; the spreadsheet may have made it of one such as " +
          "11.2: format the cell as a number and type it again",
      };
    case "number":
      return readNumber(content, unit, code);
    case "text":
      return readTyped(content.text, { decimal, unit, notes });
  }
}

/** A cell that the spreadsheet holds as a number, in its own format's unit where it shows one. */
function readNumber(
  { value, percent, unit: shown }: Extract<CellContent, { readonly kind: "number" }>,
  unit: string | null,
  code: string | null,
): CellReading | NotRead {
  if (!Number.isFinite(value)) return { why: "a number that is too large; correct the cell" };
  if (shown !== undefined) return inUnit(value, shown, code, null);
  if (!percent || code === "1") return { value, unit: code, note: null };
  if (code !== null && code !== "%") {
    return { why: `per cent, where ${unit} should be; correct the cell's format or the "unit"` };
  }
  return { value: percentOf(value), unit: "%", note: null };
}

/** A reading typed as text: with a unit, a bound, a note, or a sign that it is missing. */
function readTyped(
  text: string,
  about: {
    readonly decimal: "." | "," | null;
    readonly unit: string | null;
    readonly notes: "take" | "leave";
  },
): CellReading | NotRead {
  const { decimal, unit, notes } = about;
  const code = unit === null ? null : unitOf(unit)!.code;
  if (isMissing(text)) return { value: null, unit: code, note: null };
  const sign = /^\s*([<>])\s*(?=[\d.,])/.exec(text);
  if (sign !== null) {
    const read = readTyped(text.slice(sign[0].length), about);
    return "why" in read || read.value === null ? read : { ...read, bound: sign[1] as "<" | ">" };
  }
  const whole = parseQuantity(text, { decimal });
  if ("value" in whole) return inUnit(whole.value, whole.unit, code, null);
  const parts = withNote(text);
  if (parts === null) return { why: advice(whole) };
  if (isMissing(parts.quantity)) {
    return notes === "take" && parts.quantity !== ""
      ? { value: null, unit: code, note: parts.note }
      : { why: `no number before the note; ${NUMBER_OR_NA}` };
  }
  const read = parseQuantity(parts.quantity, { decimal });
  if (!("value" in read)) return { why: advice(read) };
  if (notes === "take") return inUnit(read.value, read.unit, code, parts.note);
  return { why: 'a number with a note; say "notes": "take" in the mapping to take both' };
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
  // "99,-" and "99.–" write no cents.
  const whole = left.kind === "text" && /^\d+[.,][-–—]$/.test(left.text)
    ? { ...left, text: left.text.slice(0, -2) }
    : left;
  const read = readPlainNumber(whole, decimal);
  if ("why" in read) return read;
  const currency = found === null ? null : CURRENCIES[found[0]];
  return {
    value: read.value,
    currency: currency === undefined ? found![0] : currency,
    sign: currency === null && found !== null ? found[0] : null,
  };
}

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
