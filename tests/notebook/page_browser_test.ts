import assert from "node:assert/strict";
import type { Browser } from "playwright-core";
import { type ExecutedNotebook, notebookPage, type PageOptions } from "../../lib/notebook/page.ts";
import { axeFaults, browserIsMissing, visit, withBrowser } from "./in_browser.ts";
import { ATTACK, code, display, prose, RICH_OPTIONS, richNotebook } from "./page_fixture.ts";

function browserTest(
  name: string,
  { notebook = richNotebook(), options = RICH_OPTIONS }: {
    readonly notebook?: ExecutedNotebook;
    readonly options?: PageOptions;
  },
  use: (browser: Browser, file: string) => Promise<void>,
) {
  Deno.test({
    name,
    ignore: browserIsMissing,
    sanitizeOps: false, // the browser's pipes outlive the call that closes it by a moment
    sanitizeResources: false,
    fn: () => withBrowser(use, notebookPage(notebook, options)),
  });
}

function attackedNotebook(): ExecutedNotebook {
  const strings = [
    ATTACK,
    `"><img src=x onerror=alert(1)>`,
    `<svg onload=alert(1)>`,
    `[x](javascript:alert(1))`,
    `![x](https://example.org/a.png)`,
    `<a href="javascript:alert(1)" class="attack">x</a>`,
    `</pre></details></main></style></script><script>alert(1)</script>`,
    `<iframe src="https://example.org"></iframe><link rel=stylesheet href="https://example.org/a.css">`,
    `<style>@import "https://example.org/b.css";</style><meta http-equiv=refresh content="0;url=https://example.org">`,
    `<form action="https://example.org"><button autofocus onfocus=alert(1)>x</button></form>`,
    `<math><mtext><table><mglyph><style><img src=x onerror=alert(1)>`,
    `<noscript><p title="</noscript><img src=x onerror=alert(1)>">`,
    `<a href="&amp;#106;avascript:alert(1)" class="attack">x</a>`,
    `<svg><a href="javascript:alert(1)"><text>x</text></a><script>alert(1)</script><foreignObject><body onload="alert(1)"/></foreignObject><image href="https://example.org/c.png"/></svg>`,
  ];
  return {
    cells: strings.flatMap((text, index) => [
      prose(`## ${text}\n\n${text}\n\n| a |\n| - |\n| ${text.replaceAll("|", "")} |`),
      prose(`### ${text}\n\n- ${text}`, [index % 2 ? "summary" : "caution"]),
      code(text, [
        { output_type: "stream", name: "stdout", text },
        { output_type: "stream", name: text, text },
        { output_type: "error", ename: text, evalue: text, traceback: [text] },
        display({ "text/plain": text }),
        display({ "text/html": text }),
        display({ "text/markdown": text }),
        display({ "image/svg+xml": text }),
        display({ "image/png": text, "text/plain": text }),
        display({ [text]: text }),
        display({
          "text/html": `<table><caption>${text}</caption><tr><td>${text}</td></tr></table>`,
        }),
        display({ "text/html": `<figure>${text}<figcaption>${text}</figcaption></figure>` }),
      ]),
    ]),
  };
}

browserTest("nothing that a notebook puts out runs, loads or breaks the page", {
  notebook: attackedNotebook(),
  options: {
    ...RICH_OPTIONS,
    title: ATTACK,
    subtitle: `"><img src=x onerror=alert(1)>`,
    cautions: [ATTACK],
  },
}, async (browser, file) => {
  const { page, noise } = await visit(browser, file);
  assert.equal(await page.locator("h1").textContent(), ATTACK);
  assert.equal(await page.locator("script").count(), 1);
  assert.equal(
    await page.locator("iframe, object, form, main svg, main style, main link").count(),
    0,
  );
  for (const link of await page.locator("main a:not(.self)").all()) {
    const address = await link.evaluate((a) => (a as unknown as { href: string }).href);
    assert.doesNotMatch(address, /^(javascript|data|vbscript):/i);
  }
  for (const details of await page.locator("details").all()) {
    await details.evaluate((element) => element.setAttribute("open", ""));
  }
  await page.waitForTimeout(200); // anything that hoped to run later has had its chance
  assert.deepEqual(noise, []);
});

browserTest("nothing runs or loads even in a browser that ignores the page's policy", {
  notebook: attackedNotebook(),
}, async (browser, file) => {
  const html = await Deno.readTextFile(file);
  const bare = html.replace(/<meta http-equiv="Content-Security-Policy"[^>]*>/, "");
  assert.ok(bare.length < html.length);
  await Deno.writeTextFile(file, bare);
  const { page, noise } = await visit(browser, file);
  await page.waitForTimeout(200);
  assert.deepEqual(noise, []);

  // the same ears do hear an attack that gets through
  await Deno.writeTextFile(
    file,
    bare.replace("</main>", `${ATTACK}<img src="https://127.0.0.1:9/x"></main>`),
  );
  const heard = (await visit(browser, file)).noise.join("\n");
  assert.match(heard, /dialog: 1/);
  assert.match(heard, /request: https:\/\/127\.0\.0\.1:9\/x/);
});

browserTest("a chart that carries a script stays a picture even when it is opened on its own", {
  notebook: {
    cells: [code("", [display({
      "image/svg+xml":
        `<svg xmlns="http://www.w3.org/2000/svg" width="9" height="9" onload="alert(1)"><script>alert(2)</script><rect width="9" height="9"/></svg>`,
    })])],
  },
}, async (browser, file) => {
  const { page, noise } = await visit(browser, file);
  const source = await page.locator("main img").getAttribute("src");
  const alone = await browser.newPage();
  alone.on("dialog", (dialog) => {
    noise.push(dialog.message());
    dialog.dismiss();
  });
  const svg = atob(source!.split(",")[1]);
  await alone.setContent(svg);
  await alone.waitForTimeout(100);
  assert.equal(await alone.locator("rect").count(), 1);
  assert.deepEqual(noise, []);
});

browserTest(
  "a table sorts by mouse: up, down and back, numbers as numbers, blanks last",
  {},
  async (browser, file) => {
    const { page, noise } = await visit(browser, file);
    const table = page.locator("#table-3");
    const column = (index: number) =>
      table.locator(`tbody tr > :nth-child(${index})`).allTextContents();
    const written = await column(2);
    const head = (name: string) => table.getByRole("columnheader", { name });

    await head("Index").getByRole("button").click();
    assert.equal(await head("Index").getAttribute("aria-sort"), "ascending");
    assert.equal((await column(3))[0], "9.2 [4.0, 15.5]"); // as text it would come last
    assert.equal((await column(3)).at(-1), "81.4 [76.9, 85.1]");

    await head("SEM").getByRole("button").click();
    assert.equal(await head("Index").getAttribute("aria-sort"), "none");
    assert.deepEqual([(await column(5))[0], (await column(5)).at(-1)], ["0.39", "—"]);
    await head("SEM").getByRole("button").click();
    assert.deepEqual([(await column(5))[0], (await column(5)).at(-1)], ["0.93", "—"]);
    assert.equal(await page.locator("#status").textContent(), "Sorted by SEM (cm), descending");

    await head("SEM").getByRole("button").click();
    assert.deepEqual(await column(2), written);
    assert.deepEqual(noise, []);
  },
);

browserTest("a table sorts by keyboard alone and keeps the focus", {}, async (browser, file) => {
  const { page, noise } = await visit(browser, file);
  const names = () => page.locator("#table-3 tbody th").allTextContents();
  const written = await names();
  await page.locator("#table-3 caption a").focus();
  await page.keyboard.press("Tab");
  await page.keyboard.press("Tab"); // past Rank to Shoe
  await page.keyboard.press("Enter");
  const ascending = await names();
  await page.keyboard.press("Space");
  const descending = await names();
  assert.notDeepEqual(ascending, written);
  assert.deepEqual(ascending.toReversed(), descending);
  assert.equal(
    await page.locator("#table-3 th[aria-sort=descending] button").evaluate((b) =>
      b === b.ownerDocument.activeElement
    ),
    true,
  );
  assert.deepEqual(noise, []);
});

browserTest("an interval sorts by its data-sort value, thousands by size", {
  notebook: {
    cells: [code("", [display({
      "text/html": `<table><thead><tr><th>Change</th><th>Trials</th></tr></thead><tbody>` +
        `<tr><td data-sort="0.5">−1 to 2</td><td>1,204</td></tr><tr><td data-sort="">can't tell</td><td>988</td></tr>` +
        `<tr><td data-sort="-3">−9 to 3</td><td>12,000</td></tr></tbody></table>`,
    })])],
  },
}, async (browser, file) => {
  const { page } = await visit(browser, file);
  const column = (index: number) => page.locator(`tbody td:nth-child(${index})`).allTextContents();
  await page.getByRole("button", { name: "Change" }).click();
  assert.deepEqual(await column(1), ["−9 to 3", "−1 to 2", "can't tell"]);
  await page.getByRole("button", { name: "Trials" }).click();
  assert.deepEqual(await column(2), ["988", "1,204", "12,000"]);
});

for (const width of [390, 1024, 1920]) {
  browserTest(
    `at ${width} px nothing overflows, pictures are there and the summary fits the first screen`,
    {},
    async (browser, file) => {
      const { page, noise } = await visit(browser, file, { width });
      const overflow = await page.evaluate(
        "document.documentElement.scrollWidth - document.documentElement.clientWidth",
      );
      assert.equal(overflow, 0);
      const sizes = await page.locator("figure img").evaluateAll((images) =>
        (images as unknown as { naturalWidth: number; clientWidth: number }[])
          .map(({ naturalWidth, clientWidth }) => [naturalWidth, clientWidth])
      );
      assert.equal(sizes.length, 2);
      for (const [natural, shown] of sizes) {
        assert.ok(natural >= 700 && shown >= 300 && shown < width);
      }
      const cards = (await page.locator(".cards").boundingBox())!;
      if (width >= 1024) assert.ok(cards.y + cards.height <= 800, `cards end at ${cards.y}`);
      else assert.ok(cards.y <= 400);
      assert.deepEqual(noise, []);
    },
  );
}

browserTest(
  "on a phone a figure can be shown larger, and wide tables scroll in a named region",
  {},
  async (browser, file) => {
    const { page } = await visit(browser, file, { width: 390 });
    const region = page.getByRole("region", { name: "Figure 2" });
    const before = (await region.locator("img").boundingBox())!.width;
    const button = page.locator("figure#figure-2").getByRole("button");
    await button.click();
    assert.ok((await region.locator("img").boundingBox())!.width >= 700);
    assert.ok(before < 390);
    assert.equal(await region.getAttribute("tabindex"), "0");
    const table = page.getByRole("region", { name: /Table 2 Every metric/ });
    assert.equal(await table.getAttribute("tabindex"), "0");
    assert.equal(
      await page.evaluate("document.documentElement.scrollWidth"),
      390,
    );
  },
);

for (const dark of [false, true]) {
  browserTest(`axe-core finds no fault in the ${dark ? "dark" : "light"} page`, {
    notebook: {
      cells: [...richNotebook().cells, ...failingCells()],
    },
  }, async (browser, file) => {
    const { page } = await visit(browser, file, { dark });
    assert.deepEqual(await axeFaults(page), []);
  });
}

function failingCells() {
  return [code("fail()", [
    { output_type: "error", ename: "RangeError", evalue: "no shoe", traceback: ["at fail"] },
  ])];
}

browserTest(
  "print makes an A4 PDF of several pages without code, contents or sort buttons",
  {},
  async (browser, file) => {
    const { page } = await visit(browser, file);
    const pdf = await page.pdf({ preferCSSPageSize: true, printBackground: true });
    const text = new TextDecoder("latin1").decode(pdf);
    assert.ok(text.startsWith("%PDF-"));
    const boxes = [...text.matchAll(/\/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]/g)];
    assert.ok(boxes.length >= 2 && boxes.length <= 8, `${boxes.length} pages`);
    for (const [, width, height] of boxes) {
      assert.ok(Math.abs(Number(width) - 595) < 2 && Math.abs(Number(height) - 842) < 2);
    }
    await page.emulateMedia({ media: "print" });
    for (const gone of [".contents", "details.code", "th button", ".skip", ".more"]) {
      assert.equal(await page.locator(gone).first().isVisible(), false, gone);
    }
    assert.equal(await page.locator("#table-3 thead th").first().innerText(), "Rank");
    const breaks = await page.locator("figure").first().evaluate((figure) =>
      (figure.ownerDocument.defaultView as unknown as {
        getComputedStyle: (of: unknown) => { breakInside: string };
      }).getComputedStyle(figure).breakInside
    );
    assert.equal(breaks, "avoid");
  },
);

browserTest(
  "the skip link comes first and leads to the report; code opens at one press",
  {},
  async (browser, file) => {
    const { page } = await visit(browser, file);
    await page.keyboard.press("Tab");
    assert.equal(await page.locator(":focus").textContent(), "Skip to the report");
    await page.keyboard.press("Enter");
    assert.equal(await page.locator(":focus").getAttribute("id"), "main");
    assert.equal(await page.locator("details.code:visible").count(), 0);
    await page.getByRole("button", { name: "Show the code" }).click();
    assert.equal(
      await page.locator("details.code[open]:visible").count(),
      await page.locator("details.code").count(),
    );
  },
);
