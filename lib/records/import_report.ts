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
  {
    counts,
    not_taken,
    taken_in_part,
    comments_not_taken,
    conflicts,
    tables,
    shoe_names,
    other_names,
    to_fill_in,
    rows,
    written,
  }: BenchImport,
  { from, mapping, notes }: {
    readonly from: string;
    readonly mapping: string;
    readonly notes: readonly string[];
  },
): string {
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
  ];
  if (conflicts.length > 0) {
    parts.push("", `## ${KINDS.conflict}`, "", "| what | kept | where | given | where |");
    parts.push("| --- | --- | --- | --- | --- |");
    for (
      const { key, column, kept, kept_at, given, given_at } of conflicts.slice(0, SHOWN_TO_LOOK_AT)
    ) {
      parts.push(line([`${column} of ${key}`, kept, kept_at, given, given_at]));
    }
    parts.push(...rest(conflicts.length, SHOWN_TO_LOOK_AT));
  }
  for (const kind of ["unreadable", "repeat"] as const) {
    const cells = not_taken.filter((cell) => cell.kind === kind);
    if (cells.length === 0) continue;
    parts.push(
      "",
      `## ${KINDS[kind]} (${cells.length})`,
      "",
      "| sheet | cell | content | reason |",
    );
    parts.push("| --- | --- | --- | --- |");
    const most = kind === "unreadable" ? SHOWN_TO_LOOK_AT : SHOWN;
    for (const { sheet, cell, content, reason } of cells.slice(0, most)) {
      parts.push(line([sheet, cell, content, reason]));
    }
    parts.push(...rest(cells.length, most));
  }
  const groups = byReason(not_taken.filter(({ kind }) => kind === "left out"));
  if (groups.length > 0) {
    parts.push("", `## ${KINDS["left out"]}`, "", "| sheet | cells | how many | reason |");
    parts.push("| --- | --- | --- | --- |");
    for (const { sheet, reason, cells } of groups.slice(0, SHOWN)) {
      const shown = cells.slice(0, 6).map(({ cell, content }) => `${cell} (${short(content)})`);
      const more = cells.length > 6 ? ` and ${cells.length - 6} more` : "";
      parts.push(line([sheet, shown.join(", ") + more, String(cells.length), reason]));
    }
    parts.push(...rest(groups.length));
  }
  if (taken_in_part.length > 0) {
    parts.push("", "## Taken in part", "", "| sheet | cell | content | left out |");
    parts.push("| --- | --- | --- | --- |");
    for (const { sheet, cell, content, left } of taken_in_part.slice(0, SHOWN)) {
      parts.push(line([sheet, cell, content, left]));
    }
    parts.push(...rest(taken_in_part.length));
  }
  if (comments_not_taken.length > 0) {
    parts.push("", "## Comments on cells that were not taken", "", "| sheet | cell | comment |");
    parts.push("| --- | --- | --- |");
    for (const { sheet, cell, comment } of comments_not_taken.slice(0, SHOWN)) {
      parts.push(line([sheet, cell, comment]));
    }
    parts.push(...rest(comments_not_taken.length));
  }
  if (shoe_names.length > 0) {
    parts.push("", "## How shoes' names were read", "", "| name | shoe | how | cells |");
    parts.push("| --- | --- | --- | --- |");
    for (const { name, shoe_id, how, cells } of shoe_names.slice(0, SHOWN)) {
      parts.push(line([name, shoe_id ?? "none", how, String(cells)]));
    }
    parts.push(...rest(shoe_names.length));
  }
  if (other_names.length > 0) {
    parts.push("", "## Other names in other words", "", "| what | name | taken as | cells |");
    parts.push("| --- | --- | --- | --- |");
    for (const { kind, name, taken_as, cells } of other_names.slice(0, SHOWN)) {
      parts.push(line([kind, name, taken_as, String(cells)]));
    }
    parts.push(...rest(other_names.length));
  }
  if (to_fill_in.length > 0) {
    parts.push("", "## To fill in", "", "| file | where | what |", "| --- | --- | --- |");
    for (const { file, where, what } of to_fill_in.slice(0, SHOWN)) {
      parts.push(line([file, where, what]));
    }
    parts.push(...rest(to_fill_in.length));
  }
  return parts.join("\n") + "\n";
}

function line(cells: readonly string[]): string {
  return `| ${cells.map((cell) => inert(short(cell))).join(" | ")} |`;
}

function rest(count: number, most = SHOWN): string[] {
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
