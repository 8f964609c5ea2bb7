import { PAGE_SCRIPT, PAGE_STYLE } from "./page_assets.ts";
import { narrowChartType } from "./in_cell.ts";
import { bitmapPicture, figureBlock, svgPicture } from "./page_figure.ts";
import { safeHtml } from "./page_html.ts";
import { safeMarkdown, type SummaryPart, summaryParts } from "./page_markdown.ts";
import { type ContentsEntry, type Numbering, startNumbering } from "./page_numbering.ts";
import { pageHead } from "./page_head.ts";
import {
  glossaryList,
  glossaryTerms,
  type PageTerm,
  termPopovers,
  withTermLinks,
} from "./page_terms.ts";
import { escapeHtml, joinedText, plainProse, plainTerminalText } from "./page_text.ts";

/** One output of a cell, in the words of nbformat 4.5. */
export type ExecutedOutput = {
  readonly output_type: string;
  readonly data?: Readonly<Record<string, unknown>>;
  readonly name?: string;
  readonly text?: string | readonly string[];
  readonly ename?: string;
  readonly evalue?: string;
  readonly traceback?: readonly string[];
};

/** One cell, in the words of nbformat 4.5. */
export type ExecutedCell = {
  readonly cell_type: string;
  readonly source: string | readonly string[];
  readonly metadata?: { readonly tags?: readonly string[] };
  readonly attachments?: Readonly<Record<string, Readonly<Record<string, unknown>>>>;
  readonly outputs?: readonly ExecutedOutput[];
};

/** What the page needs of a notebook that has been run; any nbformat 4.5 document fits. */
export type ExecutedNotebook = { readonly cells: readonly ExecutedCell[] };

/** A line of where the page comes from: `{label: "Data", value: "3f9a…"}`. */
export type Provenance = {
  readonly label: string;
  readonly value: string;
  /** A file that went in and its SHA-256: too long for the top, listed in the footer only. */
  readonly footOnly?: boolean;
};

/** A card at the top of the page. */
export type SummaryCard = {
  readonly heading: string;
  readonly items: readonly { readonly text: string }[];
};

/** What the page says beside what the notebook says. */
export type PageOptions = {
  readonly title: string;
  readonly subtitle?: string;
  /** Data, rule version, seed, kit version: all in the footer, the short ones under the title too. */
  readonly provenance: readonly Provenance[];
  /** True where the data are made up; the page then says so before anything else. */
  readonly invented: boolean;
  readonly cautions?: readonly string[];
  /** Cards at the top, before those of cells tagged `summary`. */
  readonly summary?: readonly SummaryCard[];
  /** Language of the page, as in `<html lang>`. */
  readonly language?: string;
};

type Shown = {
  readonly numbering: Numbering;
  /** The page's prose, which captions do not repeat. */
  readonly said: string;
  readonly terms: PageTerm[];
  readonly errors: { readonly cell: number; readonly words: string; readonly id: string }[];
};

/**
 * What does this notebook say, as a page to publish?
 *
 * One HTML file that needs nothing else: no network, no fonts, no other file. It reads as a report:
 * code is folded away and left out in print, figures and tables are numbered and have addresses
 * (`#figure-3`, `#table-2`), tables sort, and a table of contents comes from the headings. Whatever
 * the cells put out is shown as inert text, cleaned HTML or a picture; nothing of it can run.
 *
 * Tags on a cell (`metadata.tags`) steer the page:
 * - `summary`: goes to the top. Each heading in its Markdown starts a card, and the list below it
 *   fills the card (three things to know, three to do).
 * - `caution`: a Markdown cell, or a code cell's output, in a box that warns.
 * - `hide-code`: a code cell whose source the page does not offer at all.
 * - `hide`: the whole cell stays out of the page.
 * - `fold`: what the cell shows waits behind a line with its caption, to be opened; a lone sentence stays.
 * - `fold-small`: the same on a narrow screen only.
 * - `glossary`: a list of terms, each emphasised and followed by a colon and its meaning. It is folded, and
 *   wherever the page uses one of the terms, its explanation opens from there.
 *
 * A table takes its caption from `<caption>`; `data-sort` on a cell is what it sorts by (the estimate
 * of an interval); class `number` marks numbers where the text does not look like one. A chart takes
 * its caption from `<title>` and `<desc>`, its description for screen readers from `aria-label`.
 *
 * @param notebook an nbformat 4.5 notebook with outputs
 * @returns the text of the HTML file; the same input gives the same bytes
 * @throws {TypeError} if the notebook has no list of cells
 */
export function notebookPage(notebook: ExecutedNotebook, options: PageOptions): string {
  if (!Array.isArray(notebook?.cells)) {
    throw new TypeError(
      `Cannot make a page: expected a notebook with "cells", got ${typeof notebook}`,
    );
  }
  const shown: Shown = {
    numbering: startNumbering(),
    said: proseOf(notebook),
    terms: [],
    errors: [],
  };
  const cards = (options.summary ?? []).map(cardOfItems);
  const sections: string[] = [];
  let waitingCode: string[] = []; // sources of cells that show nothing join the next one that does
  let number = 0;
  let isFirstProse = true;

  const flushCode = () => {
    if (waitingCode.length > 0) sections.push(codeBlock(waitingCode));
    waitingCode = [];
  };
  for (const cell of notebook.cells) {
    const tags = cell.metadata?.tags ?? [];
    if (!tags.includes("injected-parameters")) number++; // numbers as in the notebook before the run
    if (tags.includes("hide")) continue;
    if (tags.includes("summary")) {
      cards.push(...summaryCards(cell, number, shown));
      continue;
    }
    if (cell.cell_type === "code") {
      if (!hasHiddenCode(tags) && joinedText(cell.source).trim() !== "") {
        waitingCode.push(joinedText(cell.source));
      }
      const outputs = tags.includes("glossary")
        ? glossaryOf(cell, shown)
        : cellOutputs(cell, number, shown);
      if (outputs === "") continue;
      sections.push(
        tags.includes("caution")
          ? cautionBox(outputs)
          : tags.includes("fold") || tags.includes("glossary")
          ? hasMore(outputs) ? folded(outputs) : outputs
          : tags.includes("fold-small")
          ? hasMore(outputs) ? folded(outputs, { wideOpen: true }) : outputs
          : outputs,
      );
      flushCode();
    } else if (cell.cell_type === "markdown") {
      flushCode();
      const html = safeMarkdown(joinedText(cell.source), shown.numbering, {
        attachments: cell.attachments,
        dropFirstTitle: isFirstProse,
      });
      isFirstProse = false;
      if (html.trim() !== "") sections.push(tags.includes("caution") ? cautionBox(html) : html);
    }
  }
  flushCode();
  return document(options, { cards, sections, shown });
}

/** What the report says in words: the prose of its cells and what they put out as Markdown. */
function proseOf({ cells }: ExecutedNotebook): string {
  return plainProse(
    cells.filter(({ metadata }) =>
      !metadata?.tags?.some((tag) => tag === "hide" || tag === "summary")
    )
      .flatMap((cell) =>
        cell.cell_type === "markdown"
          ? [joinedText(cell.source)]
          : (cell.outputs ?? []).map(({ data }) => joinedText(data?.["text/markdown"]))
      ).join(" "),
  );
}

function cellOutputs(cell: ExecutedCell, number: number, shown: Shown): string {
  const parts: string[] = [];
  const outputs = cell.outputs ?? [];
  for (let index = 0; index < outputs.length; index++) {
    const output = outputs[index];
    if (output.output_type === "stream") {
      // neighbours of one stream are one note, however the kernel cut them
      let text = joinedText(output.text);
      while (
        outputs[index + 1]?.output_type === "stream" && outputs[index + 1].name === output.name
      ) {
        text += joinedText(outputs[++index].text);
      }
      parts.push(streamNote(output.name ?? "stdout", text));
    } else if (output.output_type === "error") parts.push(errorBox(output, number, shown));
    else parts.push(richOutput(output.data ?? {}, shown));
  }
  return parts.filter((part) => part !== "").join("\n");
}

/** Takes the terms in; they are linked to once the whole page stands. */
function glossaryOf(cell: ExecutedCell, { numbering, terms }: Shown): string {
  const markdown = (cell.outputs ?? []).map(({ data }) => joinedText(data?.["text/markdown"]));
  terms.push(...glossaryTerms(safeMarkdown(markdown.join("\n"), numbering)));
  return terms.length === 0 ? "" : glossaryList(terms);
}

/** The best form of an output that a page can show; a kernel sends several for one thing. */
function richOutput(
  data: Readonly<Record<string, unknown>>,
  { numbering, said }: Pick<Shown, "numbering" | "said">,
): string {
  const text = (mime: string) => joinedText(data[mime]);
  if (text("image/svg+xml") !== "") {
    const picture = svgPicture(text("image/svg+xml"), {
      narrow: text(narrowChartType),
      own: numbering.ownName(),
    });
    if (picture) return figureBlock(picture, numbering, said);
  }
  if (text("text/html") !== "") return safeHtml(text("text/html"), numbering);
  for (const mime of ["image/png", "image/jpeg", "image/gif", "image/webp"]) {
    const said = plainTerminalText(text("text/plain")).trim();
    const alt = /^(<|\[object|$)/.test(said) ? "Picture without a description" : said;
    const img = text(mime) === "" ? null : bitmapPicture(mime, text(mime), alt);
    if (img) return figureBlock({ img, title: null, text: null }, numbering);
  }
  if (text("text/markdown") !== "") return safeMarkdown(text("text/markdown"), numbering);
  const plain = plainTerminalText(text("text/plain")).trimEnd();
  if (plain !== "") return `<pre class="answer" tabindex="0">${escapeHtml(plain)}</pre>`;
  const other = Object.keys(data).filter((mime) => text(mime).trim() !== "");
  return other.length === 0
    ? ""
    : `<p class="missing">[an output of type ${escapeHtml(other.join(", "))}, not shown here]</p>`;
}

function streamNote(name: string, text: string): string {
  const plain = plainTerminalText(text).trimEnd();
  if (plain.trim() === "") return "";
  const kind = name === "stderr" ? "Notes while running" : "Printed while running";
  return `<div class="log"><span class="kind">${kind}</span><pre tabindex="0">${
    escapeHtml(plain)
  }</pre></div>`;
}

function errorBox(output: ExecutedOutput, cell: number, shown: Shown): string {
  const id = `error-${shown.numbering.nextError()}`;
  const words = plainTerminalText(
    [output.ename, output.evalue].filter((part) => part).join(": ") || "an error without a message",
  );
  shown.errors.push({ cell, words, id });
  const trace = plainTerminalText((output.traceback ?? []).join("\n")).trim();
  const more = trace === ""
    ? ""
    : `<details><summary>Where it happened</summary><pre tabindex="0">${
      escapeHtml(trace)
    }</pre></details>`;
  return `<div class="error" id="${id}" role="note" aria-label="Error in cell ${cell}">` +
    `<p class="kind">Cell ${cell} failed</p><p>${escapeHtml(words)}</p>${more}</div>`;
}

function cautionBox(html: string): string {
  return `<div class="caution" role="note" aria-label="Caution"><p class="kind">Caution</p>${html}</div>`;
}

/** The page of a run has no use for the lines that set where its files lie. */
function hasHiddenCode(tags: readonly string[]): boolean {
  return ["hide-code", "parameters", "injected-parameters"].some((tag) => tags.includes(tag));
}

/** A lone sentence, such as what stands in place of a table without rows, takes no more room than its fold. */
function hasMore(html: string): boolean {
  return /<(table|figure|ul|ol|pre)\b/.test(html);
}

/** Behind a line that says what there is to open; the page's script closes the open ones on a narrow screen. */
function folded(html: string, { wideOpen = false }: { readonly wideOpen?: boolean } = {}): string {
  const caption = /<(caption|figcaption)\b[^>]*>([\s\S]*?)<\/\1>/.exec(html)?.[2];
  const title = caption === undefined
    ? "What the words mean, with this bench's numbers"
    : (/<strong>([\s\S]*?)<\/strong>/.exec(caption)?.[1] ?? caption);
  const words = title.replace(/<[^>]*>/g, "").replace(/\s+/g, " ").trim().replace(/\.$/, "");
  const kind = caption === undefined ? "" : /<table/.test(html) ? "Table: " : "Picture: ";
  return `<details class="fold${wideOpen ? " wide-open" : ""}"${
    wideOpen ? " open" : ""
  }><summary>${kind}${words.replace(/^(?:Table|Figure) \d+\.?\s*/, "")}</summary>${html}</details>`;
}

function codeBlock(sources: readonly string[]): string {
  const code = sources.map((source) => source.trimEnd()).join("\n\n");
  return `<details class="code"><summary>Show the code</summary><pre tabindex="0"><code>${
    escapeHtml(code)
  }</code></pre></details>`;
}

function cardOfItems({ heading, items }: SummaryCard): SummaryPart {
  const list = items.map(({ text }) => `<li>${escapeHtml(text)}</li>`).join("");
  return { heading, html: `<ol>${list}</ol>` };
}

function summaryCards(cell: ExecutedCell, number: number, shown: Shown): readonly SummaryPart[] {
  if (cell.cell_type !== "code") return summaryParts(joinedText(cell.source), cell.attachments);
  return (cell.outputs ?? []).flatMap((output): readonly SummaryPart[] => {
    const markdown = joinedText(output.data?.["text/markdown"]);
    if (markdown !== "") return summaryParts(markdown);
    const html = cellOutputs({ ...cell, outputs: [output] }, number, shown);
    return html === "" ? [] : [{ heading: null, html }];
  });
}

function document(
  options: PageOptions,
  { cards, sections, shown }: {
    readonly cards: readonly SummaryPart[];
    readonly sections: readonly string[];
    readonly shown: Shown;
  },
): string {
  const { title, subtitle, provenance, invented, cautions = [], language = "en" } = options;
  const contents = contentsList(shown.numbering.contents());
  const short = provenance.filter(({ footOnly }) => !footOnly);
  const files = provenance.filter(({ footOnly }) => footOnly);
  const strip = short.map((entry) => `<div>${described([entry])}</div>`).join("");
  const cardList = withTermLinks(
    cards.map(({ heading, html }) =>
      `<div class="card">${heading === null ? "" : `<h3>${escapeHtml(heading)}</h3>`}${html}</div>`
    ).join("\n"),
    shown.terms,
  );
  // A term is linked where each section first uses it; the glossary itself needs none.
  const report = sections.join("\n").split(/(?=<h2[ >])/).map((section) =>
    section.includes('<ul class="terms">') ? section : withTermLinks(section, shown.terms)
  ).join("");

  return `<!doctype html>
<html lang="${escapeHtml(language)}">
${pageHead({ title, subtitle, invented, style: PAGE_STYLE, script: PAGE_SCRIPT })}
<body>
<a class="skip" href="#main">Skip to the report</a>
<header class="band"><div>
<div class="court" aria-hidden="true"></div>
${invented ? `<p class="invented">Invented data: no real shoe or maker</p>\n` : ""}<h1>${
    escapeHtml(title)
  }</h1>
${subtitle ? `<p class="subtitle">${escapeHtml(subtitle)}</p>\n` : ""}${
    strip === "" ? "" : `<dl class="strip">${strip}</dl>\n`
  }</div></header>
<div class="sheet${contents === "" ? "" : " with-contents"}">
${shownSummary(cardList, shown)}
${
    contents === ""
      ? ""
      : `<nav class="contents" id="contents" aria-labelledby="contents-name"><h2 id="contents-name">On this page</h2>${contents}</nav>`
  }
<main id="main" tabindex="-1">
${report}
</main>
</div>
${termPopovers(shown.terms, cardList + report)}
<footer class="foot"><div>
${
    cautions.length === 0
      ? ""
      : `<section aria-labelledby="cautions"><h2 id="cautions">Cautions</h2><ul>${
        cautions.map((text) => `<li>${escapeHtml(text)}</li>`).join("")
      }</ul></section>`
  }
<section aria-labelledby="about-this-page"><h2 id="about-this-page">How this page was made</h2><dl>${
    described(short)
  }</dl></section>
${
    files.length === 0
      ? ""
      : `<details class="files"><summary>Input files and their SHA-256</summary><dl>${
        described(files)
      }</dl></details>`
  }
<p class="plain">${
    invented ? "Every figure here comes from invented data and describes no real shoe. " : ""
  }This page loads nothing.</p>
</div></footer>
<p class="unseen" role="status" id="status"></p>
<script>${PAGE_SCRIPT}</script>
</body>
</html>
`;
}

function described(entries: readonly Provenance[]): string {
  return entries.map(({ label, value }) =>
    `<dt>${escapeHtml(label)}</dt><dd>${escapeHtml(value)}</dd>`
  ).join("");
}

function shownSummary(cardList: string, { errors }: Shown): string {
  const first = errors[0];
  const stopped = first === undefined
    ? ""
    : `<div class="stopped" role="note" aria-label="The run did not finish"><p class="kind">` +
      `The run did not finish</p><p><a href="#${first.id}">Cell ${first.cell}</a> failed: ` +
      `${escapeHtml(first.words)}. What stands below is what was done until then.</p></div>`;
  if (cardList === "") return stopped === "" ? "" : `<div class="in-short">${stopped}</div>`;
  return `<section class="in-short" aria-labelledby="in-short"><h2 id="in-short">In short</h2>` +
    `<div class="cards">${cardList}</div>${stopped}</section>`;
}

/** Sections and their parts as nested lists; one heading is no table of contents. */
function contentsList(entries: readonly ContentsEntry[]): string {
  const listed = entries.filter(({ level }) => level <= 3);
  if (listed.length < 2) return "";
  const link = ({ id, text }: ContentsEntry) => `<a href="#${id}">${escapeHtml(text)}</a>`;
  let out = "";
  for (let index = 0; index < listed.length; index++) {
    const parts: string[] = [];
    const section = listed[index];
    while (listed[index + 1]?.level === 3) parts.push(`<li>${link(listed[++index])}</li>`);
    out += `<li>${link(section)}${parts.length === 0 ? "" : `<ol>${parts.join("")}</ol>`}</li>`;
  }
  return `<ol>${out}</ol>`;
}
