import type { BenchImport } from "./import_bench.ts";
import type { CellNotTaken, NotTakenKind } from "./import_ledger.ts";

const KINDS: Readonly<Record<NotTakenKind, string>> = {
  conflict: "Conflicts: another value stands already, and was kept; correct the one that is wrong",
  unreadable: "Not understood: correct the cell or the mapping, then import again",
  repeat: "Said twice: the same reading with the same value",
  "left out": "Left out by the mapping",
};

const SHOWN = 200;
/** Cells that somebody has to look at are all listed, up to what a page can hold. */
const SHOWN_TO_LOOK_AT = 5000;

/** Are there cells that somebody should look at: conflicts, or content that was not understood? */
export function needsLook({ not_taken, conflicts }: BenchImport): boolean {
  return conflicts.length > 0 ||
    not_taken.some(({ kind }) => kind === "conflict" || kind === "unreadable");
}

/**
 * What became of the spreadsheet, for the person who keeps it? Markdown.
 *
 * Cells left out for one reason are listed as ranges; import-report.json has each of them.
 */
export function importReport(
  imported: BenchImport,
  { from, mapping, notes }: {
    readonly from: string;
    readonly mapping: string;
    readonly notes: readonly string[];
  },
): string {
  const { counts, tables, rows, written } = imported;
  const { read, headers, taken } = counts;
  const parts = [
    `# Import of ${inert(from)}`,
    "",
    `Mapping: ${
      inert(mapping)
    }. Of ${read} filled cells, ${headers} are headers, ${taken} were taken, ` +
    `${counts.not_taken} were not (${headers} + ${taken} + ${counts.not_taken} = ${read}).`,
    ...notes.map((note) => `\n${inert(note)}.`),
    "",
    ...rows.map(({ sheet, rows, shoes }) => `- ${inert(sheet)}: ${rows} rows → ${shoes} shoes`),
    "",
    "| table | stood before | added | filled in | given again |",
    "| --- | --- | --- | --- | --- |",
    ...Object.entries(tables).map(([file, { stood, added, filled, again }]) =>
      `| ${file} | ${stood} | ${added} | ${filled} | ${again} |`
    ),
    "",
    written.length === 0 ? "Nothing had to be written." : `Written: ${written.join(", ")}.`,
    ...cellSections(imported),
    ...nameSections(imported),
  ];
  return parts.join("\n") + "\n";
}

/** What became of cells: conflicts, what was not taken and why, what was taken in part. */
function cellSections(
  { conflicts, not_taken, taken_in_part, comments_not_taken }: BenchImport,
): string[] {
  const ofKind = (wanted: NotTakenKind) => not_taken.filter(({ kind }) => kind === wanted);
  const cells = (kind: "unreadable" | "repeat", most: number) => {
    const found = ofKind(kind);
    const rows = found.map(({ sheet, cell, content, reason }) => [sheet, cell, content, reason]);
    return section(
      `${KINDS[kind]} (${found.length})`,
      ["sheet", "cell", "content", "reason"],
      rows,
      most,
    );
  };
  return [
    ...section(
      KINDS.conflict,
      ["what", "kept", "where", "given", "where"],
      conflicts.map(({ key, column, kept, kept_at, given, given_at }) => [
        `${column} of ${key}`,
        kept,
        kept_at,
        given,
        given_at,
      ]),
      SHOWN_TO_LOOK_AT,
    ),
    ...cells("unreadable", SHOWN_TO_LOOK_AT),
    ...cells("repeat", SHOWN),
    ...section(
      KINDS["left out"],
      ["sheet", "cells", "how many", "reason"],
      byReason(ofKind("left out")).map(({ sheet, reason, cells }) => {
        const shown = cells.slice(0, 6).map(({ cell, content }) => `${cell} (${short(content)})`);
        const more = cells.length > 6 ? ` and ${cells.length - 6} more` : "";
        return [sheet, shown.join(", ") + more, String(cells.length), reason];
      }),
    ),
    ...section(
      "Taken in part",
      ["sheet", "cell", "content", "left out"],
      taken_in_part.map(({ sheet, cell, content, left }) => [sheet, cell, content, left]),
    ),
    ...section(
      "Comments on cells that were not taken",
      ["sheet", "cell", "comment"],
      comments_not_taken.map(({ sheet, cell, comment }) => [sheet, cell, comment]),
    ),
  ];
}

/** How names were read, and what the bench still lacks. */
function nameSections({ shoe_names, other_names, to_fill_in }: BenchImport): string[] {
  return [
    ...section(
      "How shoes' names were read",
      ["name", "shoe", "how", "cells"],
      shoe_names.map(({ name, shoe_id, how, cells }) => [
        name,
        shoe_id ?? "none",
        how,
        String(cells),
      ]),
    ),
    ...section(
      "Other names in other words",
      ["what", "name", "taken as", "cells"],
      other_names.map(({ kind, name, taken_as, cells }) => [kind, name, taken_as, String(cells)]),
    ),
    ...section(
      "To fill in",
      ["file", "where", "what"],
      to_fill_in.map(({ file, where, what }) => [file, where, what]),
    ),
  ];
}

/** A heading with its table, of which the first rows are shown; nothing where there are no rows. */
function section(
  title: string,
  columns: readonly string[],
  rows: readonly (readonly string[])[],
  most = SHOWN,
): string[] {
  if (rows.length === 0) return [];
  return [
    "",
    `## ${title}`,
    "",
    `| ${columns.join(" | ")} |`,
    `| ${columns.map(() => "---").join(" | ")} |`,
    ...rows.slice(0, most).map(line),
    ...rest(rows.length, most),
  ];
}

function line(cells: readonly string[]): string {
  return `| ${cells.map((cell) => inert(short(cell))).join(" | ")} |`;
}

function rest(count: number, most: number): string[] {
  return count > most ? ["", `And ${count - most} more, in import-report.json.`] : [];
}

function short(text: string): string {
  const flat = text.trim().replace(/\s+/g, " ");
  return flat.length > 160 ? `${flat.slice(0, 159)}…` : flat;
}

// A cell's text must not become a table's bar, a link or HTML.
function inert(text: string): string {
  return text.replace(/[\\|<>[\]`*_]/g, (mark) => `\\${mark}`);
}

type Group = {
  readonly sheet: string;
  readonly reason: string;
  readonly cells: readonly CellNotTaken[];
};

/** Cells that were not taken, those of one sheet and one reason together. */
export function byReason(cells: readonly CellNotTaken[]): Group[] {
  const groups = new Map<string, { sheet: string; reason: string; cells: CellNotTaken[] }>();
  for (const cell of cells) {
    const key = `${cell.sheet}\0${cell.reason}`;
    const group = groups.get(key) ?? { sheet: cell.sheet, reason: cell.reason, cells: [] };
    group.cells.push(cell);
    groups.set(key, group);
  }
  return [...groups.values()];
}
