import assert from "node:assert/strict";
import { frontEndContent } from "../../lib/notebook/front_end_outputs.ts";
import { withRegisteredKernel } from "../notebook/front_end.ts";
import { browserIsMissing, visit, withBrowser } from "../notebook/in_browser.ts";

/** Whatever runs calls this. */
const RUN = "globalThis.ran=(globalThis.ran??0)+1";

/** Ways by which markup runs something on the page that shows it. */
const MARKUP = [
  `<script>${RUN}</script>`,
  `<img src=x onerror="${RUN}">`,
  `<svg onload="${RUN}"><script>${RUN}</script><a href="javascript:${RUN}"><text>a</text></a></svg>`,
  `<svg><foreignObject><img src=x onerror="${RUN}"></foreignObject></svg>`,
  `<svg><animate onbegin="${RUN}" attributeName="x" dur="1s"/></svg>`,
  `<iframe srcdoc="&lt;script&gt;parent.${RUN}&lt;/script&gt;"></iframe>`,
  `<iframe src="javascript:parent.${RUN}"></iframe>`,
  `<object data="javascript:${RUN}"></object><embed src="javascript:${RUN}">`,
  `<details open ontoggle="${RUN}">x</details>`,
  `<video><source onerror="${RUN}"></video>`,
  `<form action="javascript:${RUN}"><button id=b>x</button></form>`,
  `<a href="javascript:${RUN}">x</a><a href=" jAva&#10;script:${RUN}">x</a>`,
  `<a href="/api/contents">own server</a><a href="files/out/x.html">own file</a>`,
  `<math><mtext><table><mglyph><style><img src=x onerror="${RUN}">`,
  `<noscript><p title="</noscript><img src=x onerror=${RUN}>">`,
  `<style>@import "http://127.0.0.1:1/x.css"; body { background: url(http://127.0.0.1:1/y) }</style>`,
  `<link rel=stylesheet href="http://127.0.0.1:1/z.css"><meta http-equiv=refresh content="0;url=http://127.0.0.1:1/">`,
  `<base href="http://127.0.0.1:1/"><img src="http://127.0.0.1:1/p.png">`,
  `<div style="position:fixed;inset:0;background:url(http://127.0.0.1:1/q)">x</div>`,
  `\ue0000\ue001<script>${RUN}</script>`,
];

/** Types that a front end takes for code, for a module to load or for a whole document. */
const ACTIVE_TYPES = [
  "application/javascript",
  "text/javascript",
  "application/x-javascript",
  "application/vnd.jupyter.widget-view+json",
  "application/vnd.bokehjs_exec.v0+json",
  "application/vnd.vega.v5+json",
  "application/pdf",
  "text/latex",
  "application/geo+json",
  "text/x-something",
  "image/svg+xml;charset=utf-8",
  "image/x-icon",
];

Deno.test("of a cell's displays only pictures, plain text and inert HTML, SVG and Markdown reach a front end", () => {
  for (const type of ACTIVE_TYPES) {
    const { data } = frontEndContent("display_data", { data: { [type]: RUN } });
    assert.deepEqual(Object.keys(data as object), ["text/plain"], type);
    assert.ok((data as Record<string, string>)["text/plain"].startsWith("Not shown here: "), type);
    const beside = frontEndContent("update_display_data", {
      data: { [type]: RUN, "text/plain": "words" },
      metadata: { [type]: { isolated: true } },
      transient: { display_id: "a", other: { html: "<b>" } },
    });
    assert.deepEqual(beside, {
      data: { "text/plain": "words" },
      metadata: {},
      transient: { display_id: "a" },
    });
  }
  assert.deepEqual(
    frontEndContent("display_data", { data: { "image/png": `x" onerror="${RUN}` } }).data,
    { "text/plain": "Not shown here: image/png" },
  );
  const kept = frontEndContent("execute_result", {
    execution_count: 3,
    data: {
      "text/html": `<table><tr><th scope="col" style="text-align:right">a</th></tr></table>`,
      "text/markdown": "**a** <b>b</b>",
      "image/png": "aGk=",
    },
  });
  assert.deepEqual(kept.execution_count, 3);
  const data = kept.data as Record<string, string>;
  assert.deepEqual(Object.keys(data), ["text/html", "image/png"]);
  assert.equal(data["text/html"].trim(), "<p><strong>a</strong> &lt;b&gt;b&lt;/b&gt;</p>");
  const inspected = frontEndContent("inspect_reply", {
    status: "ok",
    data: { "text/html": MARKUP[0] },
  });
  assert.deepEqual(inspected.data, { "text/html": "" });
});

Deno.test("texts and errors keep their colours and lose every other control code", () => {
  const hostile = "a\u001b[31mred\u001b[0m\u001b]0;title\u0007\u001b[2J\u009b1mb\u202ec\r";
  const shown = "a\u001b[31mred\u001b[0m\ufffd]0;title\ufffd\ufffd[2J\ufffd1mb\ufffdc\r";
  assert.equal(frontEndContent("stream", { name: "x", text: hostile }).text, shown);
  assert.deepEqual(
    frontEndContent("error", { ename: hostile, evalue: hostile, traceback: [hostile] }),
    { ename: shown, evalue: shown, traceback: [shown] },
  );
});

Deno.test({
  name:
    "twenty ways to run something run nothing where their HTML, SVG and Markdown are laid into a page",
  ignore: browserIsMissing,
  fn: async () => {
    const shown = MARKUP.flatMap((text) => [
      { "text/html": text },
      { "text/markdown": text },
      { "text/markdown": `[x](javascript:${RUN}) ![x](http://127.0.0.1:1/i.png "${text}")` },
      { "image/svg+xml": `<svg xmlns="http://www.w3.org/2000/svg">${text}</svg>` },
      { "image/svg+xml": text },
    ]).map((data) => frontEndContent("display_data", { data }).data as Record<string, string>);
    const forms = shown.flatMap((data) =>
      Object.entries(data).map(([type, text]) => type === "text/plain" ? "" : text)
    );
    await withBrowser(async (browser, file) => {
      const { page, noise } = await visit(browser, file);
      const ranOf = (forms: readonly string[]) =>
        page.evaluate(`(async () => {
        for (const html of ${JSON.stringify(forms)}) {
          const place = document.createElement("div");
          document.body.append(place);
          // As notebook pages do it: scripts in a fragment made so do run.
          place.append(document.createRange().createContextualFragment(html));
        }
        for (const link of document.querySelectorAll("a")) {
          if (!/^https?:|^mailto:|^#/.test(link.getAttribute("href") ?? "#")) globalThis.ran = link.href;
          if ((link.getAttribute("href") ?? "").startsWith("#")) link.click();
        }
        for (const button of document.querySelectorAll("button")) button.click();
        await new Promise((resolve) => setTimeout(resolve, 500));
        return globalThis.ran ?? 0;
      })()`);
      assert.equal(await ranOf(forms), 0);
      assert.deepEqual(noise, []);
      assert.equal(await ranOf(MARKUP.slice(0, 2)), 2, "the page itself runs what is laid into it");
    }, "<!doctype html><title>t</title><body></body>");
  },
});

Deno.test({
  name:
    "no style of a cell's HTML, SVG or Markdown reaches the page around it, nor fetches by an address",
  ignore: browserIsMissing,
  fn: async () => {
    const style =
      `<style>#toolbar { display: none !important } .cell { background: url(http://127.0.0.1:1/s) }
      @font-face { font-family: x; src: url(http://127.0.0.1:1/f) } * { font-family: x; cursor: url(http://127.0.0.1:1/c), auto }</style>`;
    const svg = `<svg xmlns="http://www.w3.org/2000/svg" class="cell" id="toolbar">${style}` +
      `<rect class="cell" style="position:fixed;inset:0;fill:url(http://127.0.0.1:1/r)" width="9" height="9"/>` +
      `<image href="http://127.0.0.1:1/i.png"/><use href="http://127.0.0.1:1/u.svg#a"/></svg>`;
    const laid = [
      { "image/svg+xml": svg },
      { "text/html": svg },
      { "text/html": style + `<div class="cell" id="toolbar">x</div>` },
      { "text/markdown": style },
      { "image/svg+xml": svg, "text/html": "<b>words</b>" },
    ].map((data) => frontEndContent("display_data", { data }).data as Record<string, string>);
    assert.ok(laid.every((data) => !("image/svg+xml" in data)));
    assert.equal(laid[4]["text/html"], "<b>words</b>");
    await withBrowser(
      async (browser, file) => {
        const { page, noise } = await visit(browser, file);
        const looksOf = (forms: readonly string[]) =>
          page.evaluate(`(async () => {
        const place = document.createElement("div");
        document.body.append(place);
        place.innerHTML = ${JSON.stringify(forms.join(""))};
        await new Promise((resolve) => setTimeout(resolve, 300));
        const { display, cursor } = getComputedStyle(document.getElementById("toolbar"));
        return display + " " + cursor + " " + document.querySelectorAll("[id=toolbar], .cell").length;
      })()`);
        assert.equal(await looksOf(laid.map((data) => data["text/html"] ?? "")), "block auto 2");
        assert.deepEqual(noise, []);
        assert.match(String(await looksOf([svg])), /^none/, "laid in as it came, it does");
      },
      `<!doctype html><title>t</title><body><div id="toolbar">Save</div><div class="cell">1</div></body>`,
    );
  },
});

Deno.test("a cell sends nothing to a front end but what may be shown, however it broadcasts", async () => {
  await withRegisteredKernel(async (front) => {
    const { shown, status } = await front.run(`
      const active = { "application/javascript": "alert(1)", "text/html": "<script>alert(1)</script><b>b</b>" };
      await Deno.jupyter.broadcast("display_data", { data: active, metadata: { a: 1 }, transient: {} });
      await Deno.jupyter.broadcast("update_display_data", { data: active, metadata: {}, transient: { display_id: "x" } });
      await Deno.jupyter.broadcast("execute_result", { data: active, metadata: {}, execution_count: 1 });
      await Deno.jupyter.broadcast("comm_open", { comm_id: "1", target_name: "t", target_module: "http://127.0.0.1:1/x.js", data: {} });
      await Deno.jupyter.broadcast("comm_msg", { comm_id: "1", data: {} });
      await Deno.jupyter.broadcast("execute_reply", { payload: [{ source: "set_next_input", text: "x" }] });
      await Deno.jupyter.broadcast("status", { execution_state: "dead" });
      await Deno.jupyter.broadcast("stream", { name: "stdout", text: "\\u001b]0;t\\u0007" });
      ({ [Symbol.for("Jupyter.display")]: () => active })`);
    assert.equal(status, "ok");
    assert.deepEqual(
      shown.map(({ header }) => header.msg_type),
      ["display_data", "update_display_data", "execute_result", "stream", "execute_result"],
    );
    for (const { header, content, buffers } of shown) {
      assert.equal(buffers.length, 0);
      if (header.msg_type === "stream") assert.equal(content.text, "\ufffd]0;t\ufffd");
      else assert.deepEqual(content.data, { "text/html": "<b>b</b>" });
    }
  });
});
