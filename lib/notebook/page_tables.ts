import { captionStart, type Numbering } from "./page_numbering.ts";

type Cell = {
  readonly start: number;
  readonly end: number;
  readonly tag: "th" | "td";
  readonly attributes: string;
  readonly inHead: boolean;
  readonly inFoot: boolean;
  readonly column: number;
  readonly row: number;
  text: string;
};

const NUMBER = /^[<>≤≥~≈]?\s*[-+−±]?(?:\d{1,3}(?:[, \u2009\u202f]\d{3})+|\d+)?(?:\.\d+)?/;
const DATE = /^\d{4}-\d\d-\d\d$/;
const SHORT_WORD = /^\S{1,12}$/;
const LONGEST_NAME = 14;
const LONGEST_WORDS = 24;
/** Beyond it, a cell's words would make their row high if their column were narrow. */
const LONGEST_LINE = 40;
/** An estimate with its limits, which may stand below it but never break. */
const ESTIMATE = /^\s*([-+−]?[\d.,]+(?:\s?[^\s\d(]{1,6})?) (\([^()<]*\d[^()<]*\))\s*$/;
const NOTHING = /^(?:|[-–—]|n\/?a|none)$/i;

/**
 * Numbers the tables of safe HTML, makes wide ones scroll on their own, aligns columns of numbers,
 * and marks the tables whose rows the page's script may sort.
 *
 * @param html well-formed HTML whose text and attributes are escaped (`<` and `>` only in tags)
 */
export function withNumberedTables(html: string, numbering: Numbering): string {
  let out = "";
  let rest = html;
  for (;;) {
    const open = /<table(?:\s[^>]*)?>/.exec(rest);
    if (!open) return out + rest;
    const end = endOfTable(rest, open.index);
    out += rest.slice(0, open.index) +
      tableBlock(rest.slice(open.index + open[0].length, end - "</table>".length), numbering);
    rest = rest.slice(end);
  }
}

function endOfTable(html: string, start: number): number {
  let depth = 0;
  for (const tag of html.slice(start).matchAll(/<(\/?)table(?:\s[^>]*)?>/g)) {
    depth += tag[1] === "/" ? -1 : 1;
    if (depth === 0) return start + tag.index + tag[0].length;
  }
  return html.length;
}

function tableBlock(inner: string, numbering: Numbering): string {
  const number = numbering.nextTable();
  const id = `table-${number}`;
  const caption = /<caption(?:\s[^>]*)?>([\s\S]*?)<\/caption>/.exec(inner);
  const body = caption ? inner.replace(caption[0], "") : inner;
  const cells = cellsOf(body);
  const sortable = isSortable(cells, body) ? " data-sortable" : "";
  const many = cells.some(({ column }) => column >= 7) ? ' class="many"' : ""; // smaller in print
  return `<div class="scroll" role="region" tabindex="0" aria-labelledby="${id}-caption">` +
    `<table id="${id}"${many}${sortable}><caption id="${id}-caption"><span class="words">${
      captionStart("Table", number)
    } ${caption?.[1].trim() ?? ""}</span></caption>${aligned(body, cells)}</table></div>`;
}

/** Every cell with its place. Tables with nested tables are left as they are: an empty list. */
function cellsOf(body: string): readonly Cell[] {
  if (body.includes("<table")) return [];
  const cells: Cell[] = [];
  let inHead = false;
  let inFoot = false;
  let row = -1;
  let column = 0;
  let current: Cell | null = null;
  for (const token of body.matchAll(/<(\/?)([a-z0-9]+)((?:\s[^>]*)?)>|[^<]+/g)) {
    const [whole, slash, tag, attributes] = token;
    if (tag === undefined) {
      if (current) current.text += whole;
    } else if (tag === "thead") inHead = slash !== "/";
    else if (tag === "tfoot") inFoot = slash !== "/";
    else if (tag === "tr" && slash !== "/") {
      row++;
      column = 0;
    } else if (tag === "th" || tag === "td") {
      if (slash === "/") current = null;
      else {
        const start = token.index;
        const end = start + whole.length;
        current = { start, end, tag, attributes, inHead, inFoot, column, row, text: "" };
        cells.push(current);
        column += Number(/\scolspan="(\d+)"/.exec(attributes)?.[1] ?? 1);
      }
    }
  }
  return cells;
}

function isSortable(all: readonly Cell[], body: string): boolean {
  const cells = all.filter((cell) => !cell.inFoot);
  const headRows = new Set(cells.filter((cell) => cell.inHead).map((cell) => cell.row));
  const bodyRows = new Set(cells.filter((cell) => !cell.inHead).map((cell) => cell.row));
  const merged = cells.some((cell) => /\s(?:colspan|rowspan)="/.test(cell.attributes));
  const bodies = body.match(/<tbody/g)?.length ?? 0;
  return headRows.size === 1 && bodyRows.size >= 2 && bodies === 1 && !merged;
}

function aligned(body: string, cells: readonly Cell[]): string {
  const numeric = numericColumns(cells);
  let out = "";
  let at = 0;
  for (const cell of cells) {
    const attributes = alignedAttributes(cell, numeric.has(cell.column));
    out += body.slice(at, cell.start) + `<${cell.tag}${attributes}>`;
    at = cell.end;
    const limits = ESTIMATE.exec(cell.text);
    if (limits && !cell.inHead && body.startsWith(cell.text + "</", at)) {
      // limits never break; a reason in their place is prose
      const words = limits[2].length > LONGEST_LINE ? "limits prose" : "limits";
      out += `${limits[1]} <span class="${words}">${limits[2]}</span>`;
      at += cell.text.length;
    }
  }
  return out + body.slice(at);
}

/** The columns that hold numbers, for the most part. */
function numericColumns(cells: readonly Cell[]): ReadonlySet<number> {
  const columns = Map.groupBy(
    cells.filter((cell) => !cell.inHead && !cell.inFoot),
    (cell) => cell.column,
  );
  const numeric = new Set<number>();
  for (const [column, members] of columns) {
    const filled = members.filter(({ text }) => !NOTHING.test(text.trim()));
    const marked = filled.filter(({ attributes }) => /\sclass="[^"]*\bnumber\b/.test(attributes));
    const numbers = filled.filter(({ text }) => isNumber(text.trim()));
    // a word such as "can't tell" among numbers does not make the column words
    if (filled.length > 0 && Math.max(numbers.length, marked.length) * 2 > filled.length) {
      numeric.add(column);
    }
  }
  return numeric;
}

function alignedAttributes(cell: Cell, numeric: boolean): string {
  const { inHead, tag } = cell;
  const text = cell.text.trim();
  const attributes = inHead && tag === "th" && !/\sscope="/.test(cell.attributes)
    ? `${cell.attributes} scope="col"`
    : cell.attributes;
  if (!single(attributes)) return attributes;
  if (numeric && !/\sstyle="[^"]*text-align:\s*(left|center)/.test(attributes)) {
    // a reason among the numbers is prose and may wrap
    const prose = !inHead && !isNumber(text) && text.length > LONGEST_WORDS;
    return withClass(attributes, !prose ? "number" : `number reason${wide(text)}`);
  }
  if (inHead) return attributes;
  if (text.length > LONGEST_NAME) {
    return withClass(attributes, `long${tag === "td" ? wide(text) : ""}`);
  }
  return DATE.test(text) || SHORT_WORD.test(text) ? withClass(attributes, "nowrap") : attributes;
}

function wide(text: string): string {
  return text.length > LONGEST_LINE ? " prose" : "";
}

/** Cells over several columns are left as they are. */
function single(attributes: string): boolean {
  return !/\scolspan="/.test(attributes);
}

function withClass(attributes: string, name: string): string {
  const given = /\sclass="([^"]*)"/.exec(attributes);
  if (!given) return `${attributes} class="${name}"`;
  if (given[1].split(/\s+/).includes(name)) return attributes;
  return attributes.replace(given[0], ` class="${given[1]} ${name}"`);
}

/** A number, possibly with a unit or interval after it. A date, a size range or a name is none. */
function isNumber(text: string): boolean {
  const plain = text.replaceAll("&lt;", "<").replaceAll("&gt;", ">");
  const number = NUMBER.exec(plain)?.[0] ?? "";
  if (!/\d/.test(number)) return false;
  return /^(?:e[-+]?\d+)?\s*(?:$|%|±|\(|\[|to\s|–\s?\d|(?:mm|cm|m|g|kg|N|s|°C|deg|points?)\b)/
    .test(plain.slice(number.length));
}
