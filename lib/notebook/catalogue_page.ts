import type {
  PublishedCatalogue,
  PublishedMetric,
  PublishedShoe,
  PublishedValue,
} from "../studies/catalogue/published_catalogue.ts";
import {
  catalogueDecimals,
  howToRead,
  partWords,
  placeWords,
  trustShort,
  trustWords,
} from "../words/catalogue/catalogue_words.ts";
import { inUnit, unitWords } from "../words/unit_words.ts";
import { CATALOGUE_SCRIPT, CATALOGUE_STYLE } from "./catalogue_assets.ts";
import { PAGE_STYLE } from "./page_assets.ts";
import { pageHead } from "./page_head.ts";
import { escapeHtml } from "./page_text.ts";

/** What the page says of itself besides the catalogue. */
export type CataloguePageOptions = {
  readonly title: string;
  /** The publisher's logo as a data URL; null for none. */
  readonly logo?: string | null;
  readonly invented: boolean;
  readonly cautions: readonly string[];
  /** What the bench can't say yet, to stand before everything else. */
  readonly notes?: readonly string[];
  /** Where it comes from: kit, rule, date, hash of the data. */
  readonly provenance: readonly { readonly label: string; readonly value: string }[];
};

/** Rows that the page opens with: laying out hundreds more would make its reader wait. */
const FIRST_ROWS = 60;

/**
 * The published catalogue as one HTML file that needs nothing else.
 *
 * The table is plain HTML, so that it reads and prints without a script; of a long one only the first rows are laid out
 * at once, the others as they are scrolled to, found or printed. The page's own script
 * (the only one its policy allows) sorts, searches, filters, sets ticked shoes side by side and opens a
 * shoe's own section from an address such as `#shoe-id`. Everything from the bench is escaped text.
 *
 * @returns the text of the file; the same catalogue gives the same bytes
 */
export function cataloguePage(
  catalogue: PublishedCatalogue,
  { title, logo = null, invented, cautions, notes = [], provenance }: CataloguePageOptions,
): string {
  const products = catalogue.shoes.filter(({ reference }) => !reference);
  const references = catalogue.shoes.filter(({ reference }) => reference);
  return `<!doctype html>
<html lang="en">
${pageHead({ title, invented, style: PAGE_STYLE + CATALOGUE_STYLE, script: CATALOGUE_SCRIPT })}
<body>
<a class="skip" href="#table">Skip to the table</a>
<header class="band"><div>
${invented ? `<p class="invented">Invented data: no real shoe or maker</p>\n` : ""}${
    logo === null ? "" : `<img class="logo" src="${escapeHtml(logo)}" alt="">`
  }<h1>${escapeHtml(title)}</h1>
<p class="subtitle">${products.length} shoes, benched up to ${escapeHtml(catalogue.until)}</p>
</div></header>
<main class="catalogue" id="main">
${
    notes.length === 0
      ? ""
      : `<section class="caution" aria-labelledby="not-yet"><h2 id="not-yet">What this bench can't say yet</h2><ul>${
        notes.map((text) => `<li>${escapeHtml(text)}</li>`).join("")
      }</ul></section>\n`
  }<details class="reading" open><summary>How to read it</summary><ol>${
    howToRead(catalogue).map((text) => `<li>${escapeHtml(text)}</li>`).join("")
  }</ol></details>
${controls(products)}
<section id="side" aria-labelledby="side-name" hidden><h2 id="side-name">Side by side</h2><div class="scroll" tabindex="0" role="region" aria-label="Ticked shoes, to scroll sideways"></div></section>
<section id="one" aria-live="polite" aria-label="The chosen shoe" hidden></section>
${tableOf(catalogue, products)}
${apart(catalogue, references)}
</main>
<footer class="foot"><div>
<section aria-labelledby="cautions"><h2 id="cautions">Cautions</h2><ul>${
    cautions.map((text) => `<li>${escapeHtml(text)}</li>`).join("")
  }</ul></section>
<section aria-labelledby="made"><h2 id="made">How this page was made</h2><dl>${
    provenance.map(({ label, value }) =>
      `<dt>${escapeHtml(label)}</dt><dd>${escapeHtml(value)}</dd>`
    ).join("")
  }</dl></section>
<p class="plain">${
    invented ? "Every figure here comes from invented data and describes no real shoe. " : ""
  }This page holds everything it shows and loads nothing.</p>
</div></footer>
<p id="detail" class="detail" role="status"></p>
<script type="application/json" id="data">${dataOf(catalogue)}</script>
<script>${CATALOGUE_SCRIPT}</script>
</body>
</html>
`;
}

function controls(shoes: readonly PublishedShoe[]): string {
  const choices = (of: (shoe: PublishedShoe) => string | null) =>
    [...new Set(shoes.map(of).filter((value) => value !== null))].sort();
  const select = (id: string, label: string, values: readonly string[]) =>
    values.length < 2
      ? ""
      : `<label for="${id}">${label} <select id="${id}"><option value="">any</option>${
        values.map((value) => `<option>${escapeHtml(value)}</option>`).join("")
      }</select></label>`;
  const priced = shoes.some(({ price }) => price !== null);
  return `<form id="controls" role="search" aria-label="Find shoes" hidden>
<label for="find">Search <input id="find" type="search" autocomplete="off"></label>
${select("court", "Court", choices(({ surface }) => surface))}
${select("width", "Width", choices(({ width }) => width))}
${select("maker", "Maker", choices(({ maker }) => maker))}
${
    priced
      ? `<label for="price">Price up to <input id="price" type="number" min="0" inputmode="decimal"></label>`
      : ""
  }
<button type="button" id="compare" disabled>Set ticked shoes side by side</button>
<button type="reset">Show all</button>
<output id="count" for="find"></output>
</form>`;
}

function tableOf(catalogue: PublishedCatalogue, shoes: readonly PublishedShoe[]): string {
  const { rule, attributes } = catalogue;
  const digits = catalogueDecimals(catalogue);
  const metrics = catalogue.metrics.filter(({ published_as }) => published_as !== "withheld");
  const any = (of: (shoe: PublishedShoe) => string | number | null) =>
    shoes.some((shoe) => of(shoe) !== null);
  const heads = [
    head("Shoe", "text"),
    ...(rule === null
      ? []
      : [head("Index", "number", rule.title), head("Place", "text", "as far as noise allows")]),
    ...metrics.map((metric) =>
      head(metric.title, "number", unitWords(metric.unit), trustShort(metric))
    ),
    ...attributes.map(({ title }) => head(title, "number", "on court")),
    ...(any(({ price }) => price) ? [head("Price", "number")] : []),
    ...(any(({ surface }) => surface) ? [head("Court", "text")] : []),
    ...(any(({ width }) => width) ? [head("Width", "text")] : []),
  ];
  const rows = shoes.map((shoe) =>
    // A line a row, which is how the script finds them again.
    `<tr id="row-${escapeHtml(shoe.shoe_id)}" data-id="${escapeHtml(shoe.shoe_id)}">${
      [
        `<th scope="row"><label class="tick"><input type="checkbox" aria-label="Tick ${
          escapeHtml(shoe.name)
        }"></label><a href="#${encodeURIComponent(shoe.shoe_id)}">${
          escapeHtml(shoe.name)
        }</a></th>`,
        ...(rule === null ? [] : [
          cell(
            shoe.score,
            shoe.score?.toFixed(digits.index) ?? "–",
            limitsOf(shoe.score_lower, shoe.score_upper, digits.index),
          ),
          `<td class="nowrap" data-sort="${shoe.rank_lower ?? shoe.rank ?? ""}">${
            escapeHtml(placeWords(shoe))
          }</td>`,
        ]),
        ...metrics.map((metric) => metricCell(metric, shoe, digits.metric(metric.metric))),
        ...attributes.map(({ attribute }) => {
          const found = shoe.ratings.find((rating) => rating.attribute === attribute);
          return cell(
            found?.value ?? null,
            found?.value.toFixed(1) ?? "–",
            limitsOf(found?.lower ?? null, found?.upper ?? null, 1),
          );
        }),
        ...(any(({ price }) => price)
          ? [
            cell(
              shoe.price,
              shoe.price === null ? "–" : `${shoe.price} ${shoe.currency ?? ""}`.trim(),
              "",
            ),
          ]
          : []),
        ...(any(({ surface }) => surface) ? [textCell(shoe.surface)] : []),
        ...(any(({ width }) => width) ? [textCell(shoe.width)] : []),
      ].join("")
    }</tr>`.replace(/\s*\n\s*/g, " ")
  );
  const rest = rows.slice(FIRST_ROWS);
  return `<section aria-labelledby="table-name"><h2 id="table-name">The table</h2>
<div class="scroll" role="region" tabindex="0" aria-label="All shoes, to scroll sideways"><table id="table" class="many">
<thead><tr>${heads.join("")}</tr></thead>
<tbody>
${rows.slice(0, FIRST_ROWS).join("\n")}
</tbody></table>${
    rest.length === 0 ? "" : `
<noscript id="rest"><table class="many"><caption>The other ${rest.length} shoes</caption>
<thead><tr>${heads.join("")}</tr></thead>
<tbody>
${rest.join("\n")}
</tbody></table></noscript>`
  }</div><p id="more" hidden></p></section>`;
}

function head(title: string, kind: "number" | "text", under = "", trust = ""): string {
  return `<th scope="col" class="${kind}"><span class="name">${escapeHtml(title)}</span>${
    under === "" ? "" : ` <span class="unit">${escapeHtml(under)}</span>`
  }${trust === "" ? "" : `<span class="trust">${escapeHtml(trust)}</span>`}</th>`;
}

function metricCell(metric: PublishedMetric, shoe: PublishedShoe, decimals: number): string {
  const found = shoe.values.find((value) => value.metric === metric.metric);
  if (found === undefined) return cell(null, "–", "");
  const about = ` data-metric="${escapeHtml(metric.metric)}"`;
  const words = `<span class="part">${escapeHtml(partWords(metric, found))}</span>`;
  if (found.value === null) {
    return `<td class="words-cell"${about} data-sort="${found.parts?.[0] ?? ""}">${words}</td>`;
  }
  return `<td class="number"${about} data-sort="${found.value}">${
    found.value.toFixed(decimals)
  } ${words}</td>`;
}

function cell(value: number | null, text: string, limits: string): string {
  return `<td class="number" data-sort="${value ?? ""}">${escapeHtml(text)}${
    limits === "" ? "" : ` <span class="limits">${escapeHtml(limits)}</span>`
  }</td>`;
}

function textCell(text: string | null): string {
  return `<td>${escapeHtml(text ?? "–")}</td>`;
}

function limitsOf(lower: number | null, upper: number | null, decimals: number): string {
  return lower === null || upper === null
    ? ""
    : `(${lower.toFixed(decimals)} to ${upper.toFixed(decimals)})`;
}

/** Reference shoes watch the bench; as products they would stand in the table for being old. */
function apart(catalogue: PublishedCatalogue, references: readonly PublishedShoe[]): string {
  if (references.length === 0) return "";
  const digits = catalogueDecimals(catalogue);
  const shown = catalogue.metrics.filter(({ published_as }) =>
    published_as === "single shoes" || published_as === "tiers"
  );
  return `<section aria-labelledby="watch"><h2 id="watch">Shoes that watch the bench</h2>
<p>Benched in every session to see whether the bench itself has changed; worn instruments, so they take no place.</p>
<ul>${
    references.map((shoe) =>
      `<li>${escapeHtml(shoe.name)}: ${
        shown.flatMap((metric) => {
          const found = shoe.values.find((value) => value.metric === metric.metric);
          return found?.value == null ? [] : [
            `${escapeHtml(metric.title)} ${
              escapeHtml(inUnit(found.value, {
                unit: metric.unit,
                decimals: digits.metric(metric.metric),
              }))
            }`,
          ];
        }).join(", ")
      }</li>`
    ).join("")
  }</ul></section>`;
}

/** Shoes named among those that can't be told apart from one. */
const ALIKE_NAMED = 5;

/** A number with two digits more than are shown: enough to draw it by. */
function short(value: number | null, decimals: number): number | null {
  return value === null ? null : Number(value.toFixed(decimals + 2));
}

/** What the script shows of a shoe, as inert JSON: `<` can't end the element that holds it. */
function dataOf({ shoes, metrics, attributes, rule }: PublishedCatalogue): string {
  const shown = metrics.filter(({ published_as }) => published_as !== "withheld");
  const digits = catalogueDecimals({ shoes, metrics });
  const valueOf = (metric: PublishedMetric, value: PublishedValue | undefined) =>
    value === undefined ? null : {
      value: short(value.value, digits.metric(metric.metric)),
      lower: short(value.lower, digits.metric(metric.metric)),
      upper: short(value.upper, digits.metric(metric.metric)),
      words: partWords(metric, value),
      trials: value.trials,
      on: value.last_benched,
    };
  const decimals = digits.index;
  const indexOf = ({ score, score_lower, score_upper }: PublishedShoe) => ({
    value: short(score, decimals),
    lower: short(score_lower, decimals),
    upper: short(score_upper, decimals),
  });
  const data = {
    rule: rule?.title ?? null,
    decimals,
    metrics: shown.map((metric) => ({
      id: metric.metric,
      title: metric.title,
      unit: unitWords(metric.unit),
      trust: trustWords(metric),
      decimals: digits.metric(metric.metric),
    })),
    attributes: attributes.map(({ attribute, title }) => ({ id: attribute, title })),
    shoes: shoes.filter(({ reference }) => !reference).map((shoe) => ({
      id: shoe.shoe_id,
      name: shoe.name,
      maker: shoe.maker,
      court: shoe.surface,
      width: shoe.width,
      price: shoe.price,
      currency: shoe.currency,
      released: shoe.released,
      size: shoe.size === null ? null : `${shoe.size} ${shoe.size_system ?? ""}`.trim(),
      index: shoe.score === null ? null : indexOf(shoe),
      place: placeWords(shoe),
      // Hundreds of names for each of hundreds of shoes would be most of the page.
      alike: { count: shoe.alike.length, first: shoe.alike.slice(0, ALIKE_NAMED) },
      values: shown.map((metric) =>
        valueOf(metric, shoe.values.find((value) => value.metric === metric.metric))
      ),
      ratings: attributes.map(({ attribute }) => {
        const found = shoe.ratings.find((row) => row.attribute === attribute);
        return found === undefined ? null : {
          value: short(found.value, 1),
          lower: short(found.lower, 1),
          upper: short(found.upper, 1),
        };
      }),
    })),
  };
  return JSON.stringify(data).replaceAll("<", "\\u003c").replaceAll("\u2028", "\\u2028");
}
