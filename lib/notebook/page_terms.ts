import { escapeHtml } from "./page_text.ts";

/** A term that the page explains once: its name, other words for it, and the explanation as safe HTML. */
export type PageTerm = {
  readonly id: string;
  readonly names: readonly string[];
  readonly html: string;
};

/**
 * The terms of a glossary: a list whose items begin with the emphasised term, other words for it in brackets
 * after it, parted by semicolons, then a colon and the meaning.
 *
 * @param html the list as `safeMarkdown` gives it
 */
export function glossaryTerms(html: string): PageTerm[] {
  const item = /<li><em>([^<]+)<\/em>(?: \(([^<]*?)\))?:\s*([\s\S]*?)<\/li>/g;
  return [...html.matchAll(item)].map(([, term, others = "", meaning], index) => ({
    id: `word-${index + 1}`,
    names: [term, ...others.split(";").map((name) => name.trim()).filter((name) => name !== "")],
    html: `<p><strong>${term}</strong>: ${meaning}</p>`,
  }));
}

/** The glossary as the page lists it: without the other words, which only serve to find it. */
export function glossaryList(terms: readonly PageTerm[]): string {
  return `<ul class="terms">${terms.map(({ html }) => `<li>${html}</li>`).join("")}</ul>`;
}

/**
 * What opens when a term is pressed: the browser's own popover, by key, tap or click, with or without script.
 * Only those that the page links to.
 */
export function termPopovers(terms: readonly PageTerm[], page: string): string {
  return terms.filter(({ id }) => page.includes(`popovertarget="${id}"`)).map((
    { id, names, html },
  ) => `<div popover id="${id}" class="word" role="note" aria-label="${names[0]}">${html}</div>`)
    .join("\n");
}

/** Elements in which a word stays as it is. */
const LEFT_ALONE =
  /^(?:a|button|summary|code|pre|h[1-6]|thead|tbody|tfoot|svg|script|style|details class="code)/;

/**
 * Links each term, where a section first uses it, to its explanation.
 *
 * In prose, captions and lists; the words in a table's head are named below its caption, since a head that
 * sorts can hold no second button.
 *
 * @param html a section as safe HTML, `<` and `>` in tags only
 */
export function withTermLinks(html: string, terms: readonly PageTerm[]): string {
  if (terms.length === 0) return html;
  const found = new Set<string>();
  const byName = new Map(
    // Names as the page writes them, where an apostrophe is an entity.
    terms.flatMap((term) =>
      term.names.map((name) => [escapeHtml(name).toLowerCase(), term] as const)
    ),
  );
  const names = [...byName.keys()].sort((a, b) => b.length - a.length);
  const pattern = new RegExp(
    `(?<![\\p{L}\\d-])(?:${names.map(escapePattern).join("|")})(?![\\p{L}\\d-])`,
    "giu",
  );
  const linked = (text: string) =>
    text.replace(pattern, (word) => {
      const term = byName.get(word.toLowerCase())!;
      if (found.has(term.id)) return word;
      found.add(term.id);
      return button(term, word);
    });
  let out = "";
  let closing: string | null = null; // of the outermost element that is left alone
  let depth = 0;
  for (const [token, slash, tag] of html.matchAll(/<(\/?)([^>]*)>|[^<]+/g)) {
    if (tag === undefined) {
      out += closing === null ? linked(token) : token;
      continue;
    }
    const name = /^[^\s/]+/.exec(tag)?.[0] ?? "";
    if (closing === null && slash === "" && LEFT_ALONE.test(tag) && /^[a-z0-9]+$/.test(name)) {
      closing = name;
      depth = 1;
    } else if (closing === name) {
      depth += slash === "/" ? -1 : 1;
      if (depth === 0) closing = null;
    }
    out += token;
  }
  return withHeadWords(out, byName, pattern);
}

/** Below a table's caption, the words of its head that the glossary has. */
function withHeadWords(
  html: string,
  byName: ReadonlyMap<string, PageTerm>,
  pattern: RegExp,
): string {
  return html.replace(
    /(<span class="words">[\s\S]*?)(<\/span><\/caption>)([\s\S]*?<\/thead>)/g,
    (_whole, caption: string, end: string, head: string) => {
      const words = head.replace(/<[^>]*>/g, " ").match(pattern) ?? [];
      const used = new Map(words.map((word) => [byName.get(word.toLowerCase())!, word]));
      const fresh = [...used].filter(([{ id }]) => !caption.includes(`popovertarget="${id}"`));
      return fresh.length === 0
        ? `${caption}${end}${head}`
        : `${caption} <small>Explained: ${
          fresh.map(([term, word]) => button(term, word)).join(", ")
        }</small>${end}${head}`;
    },
  );
}

function button({ id }: PageTerm, word: string): string {
  return `<button type="button" class="term" popovertarget="${id}">${word}</button>`;
}

function escapePattern(name: string): string {
  return name.replace(/[.*+?^${}()|[\]\\]/g, "\\$&");
}
