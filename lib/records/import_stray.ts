import { strFromU8, strToU8 } from "fflate";
import type { XlsxFiles as Files } from "./import_unzip.ts";
import { columnLetters, columnNumber } from "./import_sheet_marks.ts";

/** A cell that stands so far from its sheet's table that it is none of it. */
export type StrayCell = { readonly sheetFile: string; readonly cell: string };

/** How many empty rows or columns between a cell and the table before it say that it is a stray one. */
const GAP = { rows: 2000, columns: 200 };

const CELL = /<((?:[A-Za-z]\w*:)?)c\b([^>]*?)(\/>|>([\s\S]*?)<\/\1c>)/g;

/**
 * Takes cells out of an .xlsx file's sheets that would make a reader build millions of empty ones: a
 * space typed into column XFD, formats down to the last row.
 *
 * Cells without a value are dropped silently where they stand beyond the table; those with one are
 * named, so that an import can list them.
 *
 * @returns the same files with smaller sheets, and the cells that were taken out with a value
 */
export function withoutStrayCells(files: Files): {
  readonly files: Files;
  readonly strays: readonly StrayCell[];
} {
  const strays: StrayCell[] = [];
  const smaller = Object.entries(files).map(([path, bytes]) => {
    if (!/(^|\/)worksheets\/[^/]+\.xml$/.test(path)) return [path, bytes] as const;
    const xml = strFromU8(bytes);
    const at = placesWithValue(xml);
    const lastRow = lastBefore(at.map(({ row }) => row), GAP.rows);
    const lastColumn = lastBefore(at.map(({ column }) => column), GAP.columns);
    const beyond = ({ row, column }: Place) => row > lastRow || column > lastColumn;
    for (const place of at) {
      if (!beyond(place)) continue;
      strays.push({ sheetFile: path, cell: `${columnLetters(place.column)}${place.row}` });
    }
    const widest = (ref: string) => {
      const place = placeOf(/[A-Z]+\d+$/.exec(ref)?.[0] ?? "");
      return place !== null && (place.row > lastRow + 1000 || place.column > lastColumn + 50);
    };
    const told = /<(?:\w+:)?dimension\b[^>]*\bref="([^"]*)"/.exec(xml)?.[1] ?? "";
    const reaches = [...xml.matchAll(CELL)].some(([, , attributes]) => {
      const place = placeIn(attributes);
      return place !== null && beyond(place);
    });
    if (!reaches && !widest(told)) return [path, bytes] as const;
    const cut = xml.replace(CELL, (all, _prefix, attributes) => {
      const place = placeIn(attributes);
      return place !== null && beyond(place) ? "" : all;
    }).replace(/<(?:\w+:)?dimension\b[^>]*\/>/, "");
    return [path, strToU8(cut)] as const;
  });
  return { files: Object.fromEntries(smaller), strays };
}

type Place = { readonly row: number; readonly column: number };

function placesWithValue(xml: string): Place[] {
  return [...xml.matchAll(CELL)].flatMap(([, , attributes, , inside]) => {
    const place = placeIn(attributes);
    const holds = inside !== undefined && /<(?:\w+:)?(v|is|f)\b/.test(inside);
    return place !== null && holds ? [place] : [];
  });
}

function placeIn(attributes: string): Place | null {
  return placeOf(/\br="([A-Z]{1,3}\d{1,7})"/.exec(attributes)?.[1] ?? "");
}

function placeOf(address: string): Place | null {
  const parts = /^([A-Z]{1,3})(\d{1,7})$/.exec(address);
  return parts === null ? null : { row: Number(parts[2]), column: columnNumber(parts[1]) };
}

/** The last of these places before a gap that no table has. */
function lastBefore(places: readonly number[], gap: number): number {
  const sorted = [...new Set(places)].sort((a, b) => a - b);
  const far = sorted.findIndex((place, i) => place - (sorted[i - 1] ?? 0) > gap);
  return far < 0 ? sorted.at(-1) ?? 0 : sorted[far - 1] ?? 0;
}
