import { unitAdvice } from "./cells.ts";
import {
  type NotRead,
  readPlainNumber,
  readPrice,
  readReading,
  readSize,
  readText,
  readYesNo,
} from "./import_cells.ts";
import { readDay, yearAlone } from "./dates.ts";
import type { FilledCell } from "./import_columns.ts";
import type { ColumnMapping, ImportMapping } from "./import_mapping.ts";
import type { OtherNames } from "./import_names.ts";
import { shownContent } from "./import_workbook.ts";
import { convert, sameDimension, unitOf } from "./units.ts";

/** An entry of the mapping for a column that says something about its row. */
export type DetailColumn = Extract<ColumnMapping, { readonly field: string }>;

/** What a cell says about its row; it may say something of another field too, and hold more. */
export type Detail = {
  readonly value: string | number;
  /** Another field that the cell gives: the size system of `EU 45`. */
  readonly also?: Readonly<Record<string, string>>;
  /** What of the cell is not in the bench. */
  readonly left?: string;
};

/**
 * What does a cell say about its row: a day, a person, a size, a side?
 *
 * @param sizeSystem what the sheet or the bench counts sizes in, where they say it
 * @returns null when the cell says that it is not known
 */
export function readDetail(
  about: DetailColumn,
  { content }: FilledCell,
  mapping: ImportMapping,
  names: OtherNames,
  sizeSystem: string | null = null,
): Detail | null | NotRead {
  if (about.field === "size") return sizeDetail(content, mapping, sizeSystem);
  if (about.field === "price") return priceDetail(content, mapping);
  const read = oneDetail(about, content, mapping, names);
  return read === null || typeof read === "object" ? read : { value: read };
}

type OneDetail = string | number | null | NotRead;

/** The words of fields that have a few only, as people spell them. */
const CHOICES: Readonly<Record<string, Readonly<Record<string, RegExp>>>> = {
  side: { left: /^(l|left)$/, right: /^(r|right)$/ },
  surface: {
    "all-court": /^all[- ]?court$/,
    hard: /^hard([- ]?court)?$/,
    clay: /^clay([- ]?court)?$/,
    grass: /^grass([- ]?court)?$/,
    indoor: /^indoor$/,
  },
  size_system: {
    mondopoint: /^mondo(point)?$/,
    eu: /^eu$/,
    "us-men": /^us[- ]?(m|men)$/,
    "us-women": /^us[- ]?(w|women)$/,
    uk: /^uk$/,
  },
};

function oneDetail(
  about: DetailColumn,
  content: FilledCell["content"],
  mapping: ImportMapping,
  names: OtherNames,
): OneDetail {
  const { field } = about;
  switch (field) {
    case "released":
    case "date":
      return dayDetail(content, mapping);
    case "temperature_c":
      return inUnit(content, ("unit" in about ? about.unit : undefined) ?? "Cel", "Cel", mapping);
    case "humidity_pct":
      return inUnit(content, "%", "%", mapping);
    case "hours_played":
      return inUnit(content, "h", "h", mapping);
    case "minutes":
      return inUnit(content, ("unit" in about ? about.unit : undefined) ?? "min", "min", mapping);
    case "trial":
    case "pair":
      return countDetail(content, mapping);
    case "side":
    case "surface":
    case "size_system":
      return choice(content, CHOICES[field]);
    case "blind": {
      const word = readYesNo(content);
      return word === "unknown" ? null : word;
    }
    default: {
      const text = readText(content);
      return "why" in text ? text : inWords(field, text.text, names);
    }
  }
}

function dayDetail(content: FilledCell["content"], mapping: ImportMapping): OneDetail {
  const year = yearAlone(content);
  if (year !== null) {
    return {
      why: `the year ${year} alone, where a day should be; write one, or let the column hold a ` +
        '"note" in the mapping',
    };
  }
  const day = readDay(content, mapping);
  return "why" in day ? day : day.date;
}

function countDetail(content: FilledCell["content"], { decimal }: ImportMapping): OneDetail {
  const read = readPlainNumber(content, decimal);
  if ("why" in read || read.value === null) return "why" in read ? read : null;
  return Number.isSafeInteger(read.value) && read.value >= 1
    ? read.value
    : { why: "no whole number from 1; correct the cell" };
}

function inWords(field: DetailColumn["field"], text: string, names: OtherNames): OneDetail {
  switch (field) {
    case "operator":
    case "rig":
    case "tester":
    case "attribute":
    case "metric":
      return names.find(`${field}s`, text);
    case "unit":
      return unitOf(text)?.code ??
        { why: `no unit that is known. ${unitAdvice(text)}`.replace(/\.$/, "") };
    default:
      return text;
  }
}

function sizeDetail(
  content: FilledCell["content"],
  { decimal }: ImportMapping,
  given: string | null,
): Detail | null | NotRead {
  const read = readSize(content, decimal);
  if ("why" in read) return read;
  if (read.value === null) return null;
  if (read.value <= 0) return { why: "outside what a size can be; correct the cell" };
  const { system } = read;
  if (system === null) return { value: read.value };
  if (system !== "us") return { value: read.value, also: { size_system: system } };
  if (given?.startsWith("us-")) return { value: read.value, also: { size_system: given } };
  const fix = 'write "11 US M" or "11 US W", or size_system in the mapping\'s "fixed"';
  return { why: `a US size, of men's or women's counting; ${fix}` };
}

function priceDetail(
  content: FilledCell["content"],
  { decimal }: ImportMapping,
): Detail | null | NotRead {
  const read = readPrice(content, decimal);
  if ("why" in read) return read;
  if (read.value === null) return null;
  if (read.value < 0) return { why: "outside what a price can be; correct the cell" };
  return {
    value: read.value,
    ...(read.currency === null ? {} : { also: { currency: read.currency } }),
    ...(read.sign === null
      ? {}
      : { left: `the sign ${read.sign}, which several currencies have; say it in "fixed"` }),
  };
}

function choice(
  content: FilledCell["content"],
  words: Readonly<Record<string, RegExp>>,
): string | NotRead {
  const text = shownContent(content).trim().toLowerCase();
  const found = Object.entries(words).find(([, spelling]) => spelling.test(text));
  return found ? found[0] : { why: `none of ${Object.keys(words).join(", ")}; write one of them` };
}

/** What can be at all, by unit: a room, a humidity, a day's play, what a pair was played in. */
const POSSIBLE: Readonly<Record<"Cel" | "%" | "min" | "h", readonly [low: number, high: number]>> =
  {
    "Cel": [-60, 200],
    "%": [0, 100],
    "min": [0, 1440],
    "h": [0, 10_000],
  };

function inUnit(
  content: FilledCell["content"],
  unit: string,
  wanted: keyof typeof POSSIBLE,
  { decimal }: ImportMapping,
): number | null | NotRead {
  const read = readReading(content, { decimal, unit, notes: "leave" });
  if ("why" in read) return read;
  if (read.value === null) return null;
  if (!sameDimension(read.unit!, wanted)) return { why: `${read.unit}, where ${wanted} should be` };
  const value = convert(read.value, read.unit!, wanted);
  const [low, high] = POSSIBLE[wanted];
  return value >= low && value <= high ? Number(value.toPrecision(12)) : {
    why: `outside ${low} to ${high} ${wanted}; correct the cell${
      wanted === "h" ? "" : ', or "unit" in the mapping'
    }`,
  };
}
