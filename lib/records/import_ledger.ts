import { cellAddress } from "./import_sheet_marks.ts";
import { type Sheet, shownContent, type Workbook } from "./import_workbook.ts";

/** Why a cell is not in the bench. */
export type NotTakenKind = "left out" | "unreadable" | "repeat" | "conflict";

/** A cell that is not in the bench: where it is, what it holds, and why. */
export type CellNotTaken = {
  readonly sheet: string;
  readonly cell: string;
  readonly content: string;
  readonly kind: NotTakenKind;
  readonly reason: string;
};

/** A cell that was taken without a part of what it holds. */
export type CellInPart = {
  readonly sheet: string;
  readonly cell: string;
  readonly content: string;
  /** What is not in the bench. */
  readonly left: string;
};

/** How many cells were read, and what became of them: `read` is the sum of the other three. */
export type CellCounts = {
  readonly read: number;
  readonly headers: number;
  readonly taken: number;
  readonly not_taken: number;
};

/** What became of each filled cell, kept while an import runs. */
export type CellLedger = {
  /** The number of a filled cell; -1 for an empty one. */
  readonly cellAt: (sheet: Sheet, row: number, column: number) => number;
  readonly header: (cell: number) => void;
  readonly taken: (cell: number) => void;
  /** The first reason stays; it goes before `taken`. */
  readonly notTaken: (cell: number, kind: NotTakenKind, reason: string) => void;
  /** Names what of a cell is left out, should the rest of it be taken. */
  readonly inPart: (cell: number, left: string) => void;
  readonly isOpen: (cell: number) => boolean;
  /** `'Bench 2026' B7`, for sentences. */
  readonly place: (cell: number) => string;
  /**
   * Closes the account.
   *
   * @throws {Error} if a cell was neither taken nor listed: a fault of ours, never of the data
   */
  readonly close: () => {
    counts: CellCounts;
    not_taken: CellNotTaken[];
    taken_in_part: CellInPart[];
  };
};

/** Opens an account of every filled cell of a workbook. */
export function importLedger(workbook: Workbook): CellLedger {
  const first = new Map<Sheet, Int32Array[]>();
  const places: { sheet: Sheet; row: number; column: number }[] = [];
  for (const sheet of workbook.sheets) {
    const numbers = sheet.rows.map((row, r) =>
      Int32Array.from(row, (content, c) => {
        if (content === null) return -1;
        return places.push({ sheet, row: r, column: c }) - 1;
      })
    );
    first.set(sheet, numbers);
  }
  const OPEN = 0, HEADER = 1, TAKEN = 2, LISTED = 3;
  const states = new Uint8Array(places.length);
  const reasons = new Map<number, { kind: NotTakenKind; reason: string }>();
  const parts = new Map<number, string>();
  const place = (cell: number) => {
    const { sheet, row, column } = places[cell];
    return `'${sheet.name}' ${cellAddress(row, column)}`;
  };
  return {
    cellAt(sheet, row, column) {
      const { turnedFrom, partOf } = sheet;
      if (partOf !== undefined) {
        const isIn = column >= partOf.from && column <= partOf.to;
        return isIn ? first.get(partOf.sheet)?.[row]?.[column] ?? -1 : -1;
      }
      return turnedFrom === undefined
        ? first.get(sheet)?.[row]?.[column] ?? -1
        : first.get(turnedFrom)?.[column]?.[row] ?? -1;
    },
    header: (cell) => void (cell >= 0 && states[cell] === OPEN && (states[cell] = HEADER)),
    taken: (cell) => void (cell >= 0 && states[cell] === OPEN && (states[cell] = TAKEN)),
    notTaken(cell, kind, reason) {
      if (cell < 0 || states[cell] === LISTED) return;
      states[cell] = LISTED;
      reasons.set(cell, { kind, reason });
    },
    inPart: (cell, left) => void (cell >= 0 && parts.set(cell, left)),
    isOpen: (cell) => cell >= 0 && states[cell] === OPEN,
    place,
    close() {
      const count = (state: number) => states.reduce((sum, one) => sum + Number(one === state), 0);
      const open = states.indexOf(OPEN);
      if (open >= 0) throw new Error(`Lost a cell: ${place(open)} is neither taken nor listed`);
      const counts = {
        read: places.length,
        headers: count(HEADER),
        taken: count(TAKEN),
        not_taken: count(LISTED),
      };
      if (counts.headers + counts.taken + counts.not_taken !== counts.read) {
        throw new Error(`Cells don't add up: ${JSON.stringify(counts)}`);
      }
      const shown = (cell: number) => {
        const { sheet, row, column } = places[cell];
        const content = shownContent(sheet.rows[row][column]!);
        return { sheet: sheet.name, cell: cellAddress(row, column), content };
      };
      const inOrder = <T>(found: ReadonlyMap<number, T>) => [...found].sort(([a], [b]) => a - b);
      return {
        counts,
        not_taken: inOrder(reasons).map(([cell, reason]) => ({ ...shown(cell), ...reason })),
        taken_in_part: inOrder(parts).filter(([cell]) => states[cell] === TAKEN)
          .map(([cell, left]) => ({ ...shown(cell), left })),
      };
    },
  };
}
