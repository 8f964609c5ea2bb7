import { escapeHtml } from "./page_text.ts";

/** One line of the table of contents. */
export type ContentsEntry = { readonly id: string; readonly level: number; readonly text: string };

/**
 * Counts figures, tables and headings while one page is written, so that every one of them has an
 * address of its own. Lives as long as the page is being made.
 */
export type Numbering = {
  readonly nextFigure: () => number;
  readonly nextTable: () => number;
  readonly nextError: () => number;
  /** A name for ids and fonts within one picture. */
  readonly ownName: () => string;
  /** Takes a heading in; gives its id and the level to show it at, never skipping one. */
  readonly heading: (text: string, wantedLevel: number) => ContentsEntry;
  readonly contents: () => readonly ContentsEntry[];
};

export function startNumbering(): Numbering {
  let figures = 0;
  let tables = 0;
  let errors = 0;
  let names = 0;
  let lastLevel = 1;
  const entries: ContentsEntry[] = [];
  const taken = new Set([
    "main",
    "contents",
    "in-short",
    "about-this-page",
    "input-files",
    "cautions",
    "status",
  ]);

  return {
    nextFigure: () => ++figures,
    nextTable: () => ++tables,
    nextError: () => ++errors,
    ownName: () => `p${++names}`,
    heading: (text, wantedLevel) => {
      const level = Math.min(Math.max(2, wantedLevel), lastLevel + 1, 6);
      lastLevel = level;
      const entry = { id: freeId(slug(text), taken), level, text };
      entries.push(entry);
      return entry;
    },
    contents: () => entries,
  };
}

/** `Figure 3` as a link to itself, the way captions begin. */
export function captionStart(kind: "Figure" | "Table", number: number): string {
  const id = `${kind.toLowerCase()}-${number}`;
  return `<a class="self" href="#${id}">${escapeHtml(kind)} ${number}</a>`;
}

function slug(text: string): string {
  const words = text.normalize("NFKD").toLowerCase().replace(/[^a-z0-9]+/g, "-")
    .replace(/^-|-$/g, "").slice(0, 60);
  // an id of a figure, table or error must never be taken by a heading that is called so
  if (words === "" || /^(figure|table|error)-\d+/.test(words)) return `section-${words}`;
  return words;
}

function freeId(wanted: string, taken: Set<string>): string {
  let id = wanted;
  for (let suffix = 2; taken.has(id); suffix++) id = `${wanted}-${suffix}`;
  taken.add(id);
  return id;
}
