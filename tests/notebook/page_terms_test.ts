import assert from "node:assert/strict";
import {
  glossaryList,
  glossaryTerms,
  termPopovers,
  withTermLinks,
} from "../../lib/notebook/page_terms.ts";
import { notebookPage } from "../../lib/notebook/page.ts";
import { ATTACK, code, display, prose } from "./page_fixture.ts";
import { RICH_OPTIONS } from "./page_fixture.ts";

const list = `<ul>
<li><em>ICC</em> (ICC of the mean): a share &lt; 1. Here 0.9.</li>
<li><em>Rank correlation</em>: an order.</li>
<li>no term at all</li>
</ul>`;

Deno.test("glossaryTerms() reads terms, their other words and meanings, and passes over other items", () => {
  const terms = glossaryTerms(list);
  assert.deepEqual(terms.map(({ names }) => names), [
    ["ICC", "ICC of the mean"],
    ["Rank correlation"],
  ]);
  assert.equal(terms[0].html, "<p><strong>ICC</strong>: a share &lt; 1. Here 0.9.</p>");
  assert.doesNotMatch(glossaryList(terms), /ICC of the mean/);
});

Deno.test("withTermLinks() links a term with an apostrophe, which the page writes as an entity", () => {
  const terms = glossaryTerms("<ul><li><em>Verdict</em> (can't tell): a word.</li></ul>");
  const linked = withTermLinks("<p>These data can&#39;t tell.</p>", terms);
  assert.match(linked, /<button[^>]*popovertarget="word-1">can&#39;t tell<\/button>/);
});

Deno.test("withTermLinks() links the longest name, once a section, and none inside a longer word, link or code", () => {
  const terms = glossaryTerms(list);
  const linked = withTermLinks(
    `<h2>ICC</h2><p>The ICCs, <a href="#x">ICC</a>, <code>ICC</code>, an ICC of the mean, the ICC; a rank correlation &lt; 1</p>`,
    terms,
  );
  assert.equal(
    linked,
    `<h2>ICC</h2><p>The ICCs, <a href="#x">ICC</a>, <code>ICC</code>, an <button type="button" class="term" popovertarget="word-1">ICC of the mean</button>, the ICC; a <button type="button" class="term" popovertarget="word-2">rank correlation</button> &lt; 1</p>`,
  );
  assert.match(termPopovers(terms, linked), /id="word-1"[\s\S]*id="word-2"/);
  assert.equal(termPopovers(terms, "no button"), "");
});

Deno.test("words of a table's head are explained below its caption, the head keeps its text", () => {
  const table =
    `<table><caption>Repeats</caption><thead><tr><th>metric</th><th>ICC of the mean</th></tr></thead>` +
    `<tbody><tr><td>a</td><td>0.9</td></tr><tr><td>b</td><td>0.8</td></tr></tbody></table>`;
  const page = notebookPage({
    cells: [
      prose("## Repeats"),
      code("1", [display({ "text/html": table })]),
      prose("## Words"),
      code("2", [display({ "text/markdown": `- _ICC_ (ICC of the mean): ${ATTACK} a share.` })], [
        "glossary",
      ]),
    ],
  }, RICH_OPTIONS);
  assert.match(
    page,
    /Repeats <small>Explained: <button type="button" class="term" popovertarget="word-1">ICC of the mean<\/button><\/small><\/span><\/caption>/,
  );
  assert.match(page, /<th[^>]*>ICC of the mean<\/th>/);
  assert.match(page, /<div popover id="word-1"[^>]*><p><strong>ICC<\/strong>: &lt;script&gt;/);
  assert.match(page, /<details class="fold"><summary>What the words mean/);
});
