import assert from "node:assert/strict";
import { startNumbering } from "../../lib/notebook/page_numbering.ts";
import { withNumberedTables } from "../../lib/notebook/page_tables.ts";
import { type ExecutedCell, notebookPage } from "../../lib/notebook/page.ts";
import { safeSvg } from "../../lib/notebook/page_svg.ts";
import { ATTACK, code, display, prose, RICH_OPTIONS, richNotebook } from "./page_fixture.ts";

const OPTIONS = { title: "A page", provenance: [], invented: false };

/** The report part of a page, without head, contents, footer and script. */
function report(cells: readonly ExecutedCell[], options = {}): string {
  const page = notebookPage({ cells }, { ...OPTIONS, ...options });
  return /<main[^>]*>([\s\S]*)<\/main>/.exec(page)![1];
}

function pictures(html: string): readonly string[] {
  return [...html.matchAll(/src="data:image\/svg\+xml;base64,([^"]*)"/g)].map(([, bytes]) =>
    new TextDecoder().decode(Uint8Array.from(atob(bytes), (char) => char.charCodeAt(0)))
  );
}

Deno.test("notebookPage() gives the same bytes for the same notebook", () => {
  assert.equal(
    notebookPage(richNotebook(), RICH_OPTIONS),
    notebookPage(richNotebook(), RICH_OPTIONS),
  );
});

Deno.test("notebookPage() takes no address from outside: every src and css url is a data address", () => {
  const page = notebookPage(richNotebook(), RICH_OPTIONS);
  const addresses = [...page.matchAll(/\s(?:src|srcset|poster|data)="([^"]*)"|url\("?([^)"]*)/g)]
    .map(([, source, css]) => source ?? css);
  assert.ok(addresses.length >= 3);
  assert.deepEqual(addresses.filter((address) => !address.startsWith("data:")), []);
  assert.doesNotMatch(page, /<link (?!rel="icon" href="data:)/);
});

Deno.test("the page's policy allows exactly the one script that the page holds", async () => {
  const page = notebookPage(richNotebook(), RICH_OPTIONS);
  const scripts = [...page.matchAll(/<script>([\s\S]*?)<\/script>/g)].map(([, text]) => text);
  assert.equal(scripts.length, 1);
  const bytes = await crypto.subtle.digest("SHA-256", new TextEncoder().encode(scripts[0]));
  const hash = btoa(String.fromCharCode(...new Uint8Array(bytes)));
  assert.match(
    page,
    /default-src 'none'; img-src data:; font-src data:; style-src 'unsafe-inline'/,
  );
  assert.ok(page.includes(`script-src 'sha256-${hash}'`));
});

Deno.test("a shoe called like a script shows as that text wherever it can stand", () => {
  const shown = "&lt;script&gt;alert(1)&lt;/script&gt;";
  const places: Record<string, readonly ExecutedCell[]> = {
    prose: [prose(`Shoe ${ATTACK} here`)],
    heading: [prose(`## Shoe ${ATTACK}`)],
    code: [code(ATTACK, [])],
    stream: [code("", [{ output_type: "stream", name: "stdout", text: ATTACK }])],
    plain: [code("", [display({ "text/plain": ATTACK })])],
    markdown: [code("", [display({ "text/markdown": ATTACK })])],
    html: [code("", [display({ "text/html": `<p>${ATTACK.replaceAll("<", "&lt;")}</p>` })])],
    error: [code("", [{ output_type: "error", ename: ATTACK, evalue: "x", traceback: [ATTACK] }])],
  };
  for (const [place, cells] of Object.entries(places)) {
    const html = report(cells);
    assert.doesNotMatch(html, /<script/i, place);
    assert.ok(html.includes(shown), `${place}: ${html}`);
  }
  const around = notebookPage({ cells: [prose("# x\n## a\n## b", ["summary"])] }, {
    title: ATTACK,
    subtitle: ATTACK,
    invented: true,
    language: `en"><script>`,
    provenance: [{ label: ATTACK, value: ATTACK }],
    cautions: [ATTACK],
    summary: [{ heading: ATTACK, items: [{ text: ATTACK }] }],
  });
  assert.equal(around.match(/<script/gi)?.length, 1); // the page's own
});

Deno.test("links that would run something lose their address, ordinary ones keep it", () => {
  const html = report([
    prose(
      "[a](javascript:alert(1)) [b](https://example.org/x) [c](data:text/html,<b>) [d](#table-1)",
    ),
    code("", [display({
      "text/html": `<a href="javascript:alert(1)">x</a><a href=" jAva&#10;script:alert(1)">y</a>` +
        `<a href="&amp;#106;avascript:alert(1)">z</a><a href="//example.org">w</a><a href="https://example.org/y">v</a>`,
    })]),
  ]);
  const links = [...html.matchAll(/href="([^"]*)"/g)].map(([, address]) => address);
  assert.deepEqual(
    links.filter((address) => !/^(https:|#)/.test(address)),
    ["&amp;#106;avascript:alert(1)"], // a relative address once read, still escaped twice
  );
  assert.ok(links.includes("https://example.org/x") && links.includes("https://example.org/y"));
});

Deno.test("text/html keeps tables and emphasis and loses scripts, handlers, styles and frames", () => {
  const html = report([code("", [display({
    "text/html":
      `<style>p{color:red}</style><p onclick="alert(1)" style="position:fixed" id="main">` +
      `<b>kept</b></p><iframe src="https://example.org"></iframe><img src="https://example.org/a.png">` +
      `<img src="data:image/svg+xml,<svg onload=alert(1)>"><form><input></form><object></object>` +
      `<table background="https://example.org/b.png"><tr><td colspan="2">a</td></tr></table><svg onload=alert(1)>`,
  })])]);
  assert.match(html, /<b>kept<\/b>/);
  assert.match(html, /<td colspan="2">a<\/td>/);
  assert.doesNotMatch(
    html,
    /onclick|onload|<style|iframe|<img|<form|<input|<object|example\.org|position|id="main"/,
  );
});

Deno.test("a chart is embedded without script, handler, foreign content, animation or outside address", () => {
  const html = report([code("", [display({
    "image/svg+xml":
      `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 10 10" onload="alert(1)" aria-label="Finding &quot;one&quot;">` +
      `<title>Named ${ATTACK.replaceAll("<", "&lt;")}</title><script>alert(2)</script>` +
      `<style>@import url(https://example.org/a.css);.a{fill:url(#g);background:u\\72l(https://example.org/b)}</style>` +
      `<foreignObject><iframe src="https://example.org"/></foreignObject>` +
      `<a href="javascript:alert(3)"><text onclick="alert(4)">kept &lt;b&gt;</text></a>` +
      `<image href="https://example.org/c.png"/><image href="data:image/png;base64,AAAA"/>` +
      `<use href="https://example.org/d.svg#x"/><use xlink:href="#g"/><set attributeName="href" to="javascript:alert(5)"/>` +
      `<rect fill="url(https://example.org/e)" width="4" height="4"/><linearGradient id="g"/></svg>`,
  })])]);
  const [svg] = pictures(html);
  assert.doesNotMatch(
    svg,
    /onload|onclick|alert\([2345]\)|foreignObject|iframe|example\.org|<set|<a[ >]/,
  );
  assert.match(svg, /kept &lt;b&gt;/);
  assert.match(svg, /fill:url\(#g\)/);
  assert.match(svg, /<use href="#g"\/>/);
  assert.match(svg, /data:image\/png;base64,AAAA/);
  assert.match(html, /<img alt="Finding &quot;one&quot;"/);
  assert.match(html, /<strong>Named &lt;script&gt;/);
  assert.equal(safeSvg("<html><body>no chart</body></html>"), null);
  assert.equal(safeSvg("no chart at all"), null);
});

Deno.test("figures and tables are numbered in reading order, each with an address and a caption", () => {
  const html = report(richNotebook().cells);
  const ids = [...html.matchAll(/id="((?:figure|table)-\d+)"/g)].map(([, id]) => id);
  assert.deepEqual(ids, ["figure-1", "table-1", "table-2", "figure-2", "table-3"]);
  assert.match(html, /<a class="self" href="#figure-2">Figure 2<\/a> <strong>The first three/);
  assert.match(html, /<a class="self" href="#table-3">Table 3<\/a> Index under rule 2026-2/);
});

Deno.test("a chart inside an HTML figure keeps the figure's own caption", () => {
  const html = report([code("", [display({
    "text/html":
      `<figure><svg viewBox="0 0 4 2" aria-label="two"><g><svg/></g></svg><figcaption>Own <i>words</i></figcaption></figure>`,
  })])]);
  assert.equal(html.match(/<figure /g)?.length, 1);
  assert.match(html, /<img alt="two" width="4" height="2"/);
  assert.match(html, /Figure 1<\/a> Own <i>words<\/i><\/figcaption>/);
});

Deno.test("columns of numbers are marked, columns of dates, names and sizes are not", () => {
  const row = (cells: readonly string[]) =>
    `<tr>${cells.map((c) => `<td>${c}</td>`).join("")}</tr>`;
  const html = report([code("", [display({
    "text/html": `<table><thead><tr>${
      ["score", "interval", "date", "name", "share", "minus", "empty"].map((c) => `<th>${c}</th>`)
        .join("")
    }</tr></thead><tbody>${
      row(["1,204", "3.1 [2.0, 4.2]", "2026-07-14", "3 Courts Low", "12 %", "−0.4", ""]) +
      row(["—", "can't tell", "2026-08-01", "Merrow", "7.5 %", "0.3", "—"]) +
      row(["88", "2.2 [1, 3]", "2026-08-02", "Ostrava 11", "&lt; 1 %", "1e-4", "n/a"])
    }</tbody></table>`,
  })])]);
  const heads = [...html.matchAll(/<th ([^>]*)>(\w+)<\/th>/g)];
  const numeric = heads.filter(([, given]) => given.includes('class="number"')).map(([, , n]) => n);
  assert.deepEqual(numeric, ["score", "interval", "share", "minus"]);
  assert.ok(heads.every(([, given]) => given.includes('scope="col"')));
  assert.match(html, /<table id="table-1" data-sortable>/);
});

Deno.test("a table whose foot says how many more rows there are is still offered for sorting", () => {
  const html = report([code("", [display({
    "text/html":
      "<table><thead><tr><th>a</th><th>b</th></tr></thead><tbody><tr><td>1</td><td>2</td>" +
      '</tr><tr><td>2</td><td>1</td></tr></tbody><tfoot><tr><td colspan="2">and 3 more</td></tr>' +
      "</tfoot></table>",
  })])]);
  assert.match(html, /<table[^>]* data-sortable>/);
  assert.match(html, /<td class="number">2<\/td>/);
});

Deno.test("tables with merged cells or no head are shown but not offered for sorting", () => {
  const html = report([
    code("", [display({ "text/html": "<table><tr><td>1</td></tr><tr><td>2</td></tr></table>" })]),
    code("", [display({
      "text/html":
        `<table><thead><tr><th>a</th></tr></thead><tbody><tr><td rowspan="2">1</td></tr><tr></tr></tbody></table>`,
    })]),
  ]);
  assert.equal(html.match(/<table/g)?.length, 2);
  assert.doesNotMatch(html, /data-sortable/);
});

Deno.test("what a cell tagged fold shows waits behind a line with its caption, closed, or open where wide", () => {
  const table = "<table><caption>All shoes</caption><tr><td>1</td></tr></table>";
  const cell = (tag: string) => ({
    ...code("1", [display({ "text/html": table })]),
    metadata: { tags: [tag] },
  });
  const page = notebookPage({ cells: [cell("fold"), cell("fold-small")] }, RICH_OPTIONS);
  assert.match(
    page,
    /<details class="fold"><summary>Table: All shoes<\/summary><div class="scroll"/,
  );
  assert.match(page, /<details class="fold wide-open" open><summary>Table: All shoes<\/summary>/);
});

Deno.test("tags steer the page: summary to the top, caution in a box, hidden cells and code left out", () => {
  const cells = [
    prose("# Title repeated\n\nopening"),
    prose("## Know\n\n1. one\n2. two\n\n## Do\n\n1. act", ["summary"]),
    prose("mind the dust", ["caution"]),
    code("const secret = 1;", [display({ "text/plain": "visible" })], ["hide-code"]),
    code("const gone = 1;", [display({ "text/plain": "invisible" })], ["hide"]),
    code("const first = 1;", []),
    code("const second = 2;", [display({ "text/plain": "2" })]),
  ];
  const page = notebookPage({ cells }, OPTIONS);
  const top = page.slice(0, page.indexOf("<main"));
  assert.equal(top.match(/<div class="card">/g)?.length, 2);
  assert.match(top, /<h3>Know<\/h3><ol>\s*<li>one/);
  const html = report(cells);
  assert.doesNotMatch(html, /Title repeated|secret|gone|invisible|<li>one/);
  assert.match(html, /<div class="caution" role="note"[^>]*>.*<p>mind the dust/);
  assert.equal(html.match(/<details class="code">/g)?.length, 1); // both sources in one
  assert.match(html, /const first = 1;\n\nconst second = 2;/);
});

Deno.test("headings never skip a level and never share an address", () => {
  const html = report([
    prose("#### Deep\n\n# Broad\n\n### Next\n\n## Deep\n\n## Figure 1\n\n## ☂"),
  ]);
  assert.deepEqual(
    [...html.matchAll(/<(h\d) id="([^"]*)">/g)].map(([, tag, id]) => `${tag} ${id}`),
    [
      "h2 deep",
      "h2 broad",
      "h3 next",
      "h2 deep-2",
      "h2 section-figure-1",
      "h2 section-",
    ],
  );
});

Deno.test("an error is shown where it happened and announced at the top, numbered as before the run", () => {
  const cells = [
    code("let a = 1;", [], ["parameters"]),
    code("a = 2;", [], ["injected-parameters"]),
    code("fail()", [{
      output_type: "error",
      ename: "RangeError",
      evalue: "no shoe was read twice",
      traceback: ["\u001b[31mRangeError\u001b[0m", "    at fail"],
    }]),
  ];
  const page = notebookPage({ cells }, OPTIONS);
  assert.match(page, /<a href="#error-1">Cell 2<\/a> failed: RangeError: no shoe was read twice/);
  assert.match(report(cells), /id="error-1"[^>]*><p class="kind">Cell 2 failed/);
  assert.ok(!page.includes("\u001b"));
});

Deno.test("a picture in prose shows if the notebook carries it, else its description does", () => {
  const cell = {
    ...prose("![rig](attachment:rig%20a.png) ![far](https://example.org/a.png)"),
    attachments: { "rig a.png": { "image/png": "iVBORw0KGgo=" } },
  };
  const html = report([cell]);
  assert.match(html, /<img alt="rig" src="data:image\/png;base64,iVBORw0KGgo="/);
  assert.match(html, /\[picture not in the notebook: far\]/);
});

Deno.test("made-up data are named in the title, before the heading and in the footer", () => {
  const cells = [prose("x")];
  const page = notebookPage({ cells }, { ...OPTIONS, invented: true });
  assert.match(page, /<title>A page \(invented data\)<\/title>/);
  assert.ok(page.indexOf("Invented data:") < page.indexOf("<h1>"));
  assert.match(page, /<footer[\s\S]*invented data and describes no real shoe/);
  assert.doesNotMatch(notebookPage({ cells }, OPTIONS), /invented data/i);
});

Deno.test("notebookPage() says what it was given when that is no notebook", () => {
  assert.throws(() => notebookPage({} as never, OPTIONS), /expected a notebook with "cells"/);
});

Deno.test("a caption leaves out what the prose says already, and keeps what it does not", () => {
  const chart = `<svg viewBox="0 0 4 2" aria-label="x"><title>Scores</title>` +
    `<desc>A_b leads. Two shoes wait.</desc></svg>`;
  const html = report([
    code("", [display({ "text/markdown": "A\\_b\nleads. More follows." })]),
    code("", [display({ "image/svg+xml": chart })]),
  ]);
  assert.match(html, /<strong>Scores\.<\/strong> Two shoes wait\.<\/figcaption>/);
});

Deno.test("files that went in stand in the footer alone, under a heading that says what the hash is", () => {
  const page = notebookPage(richNotebook(), RICH_OPTIONS);
  const files = RICH_OPTIONS.provenance.filter(({ footOnly }) => footOnly);
  const [, list] = page.split("Input files and their SHA-256</summary>");
  for (const { label, value } of files) {
    assert.ok(list.includes(`<dt>${label}</dt><dd>${value}</dd>`));
    assert.equal(page.split(value).length, 2);
  }
});

Deno.test("a folded cell that shows a lone sentence, or nothing, has no fold around it", () => {
  const html = report([
    code(
      "a",
      [display({ "text/html": "<p>No claim came or went.</p>", "text/plain": "No claim" })],
      ["fold"],
    ),
    code("b", [display({ "text/html": "", "text/plain": "" })], ["fold"]),
    code("c", [
      display({ "text/html": "<table><caption>All</caption><tr><td>1</td></tr></table>" }),
    ], ["fold"]),
  ]);
  assert.equal(html.match(/<details class="fold"/g)?.length, 1);
  assert.match(html, /<p>No claim came or went\.<\/p>/);
  assert.doesNotMatch(html, /not shown here/);
});

Deno.test("a reason in place of limits may wrap, as prose does, and limits never do", () => {
  const reason = "(one shoe holds 78% of the scatter of readings, so limits would be its own)";
  const html = withNumberedTables(
    `<table><thead><tr><th>a</th><th>b</th></tr></thead><tbody>` +
      `<tr><td>0.81 ${reason}</td><td>can't tell: the interval reaches past what matters to a player</td></tr>` +
      `<tr><td>1.2 (0.8 to 1.5)</td><td>yes</td></tr></tbody></table>`,
    startNumbering(),
  );
  assert.ok(html.includes(`<span class="limits prose">${reason}</span>`));
  assert.ok(html.includes(`<span class="limits">(0.8 to 1.5)</span>`));
  assert.ok(/<td class="long prose">can't tell/.test(html), html);
});
