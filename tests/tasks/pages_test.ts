import assert from "node:assert/strict";
import { join } from "node:path";
import type { Browser, Page } from "playwright-core";
import {
  axeFaults,
  browserIsMissing,
  smallPrint,
  visit,
  withBrowser,
} from "../notebook/in_browser.ts";
import { kit, runTask } from "./run_task.ts";

/** Tasks that make a page of the invented bench; each runs once for all its tests. */
const pages = [
  { task: "review", words: [] },
  { task: "recalibrate", words: [] },
  { task: "proposal", words: ["--proposal", "weigh-what-players-feel"] },
].filter(({ task }) => {
  try {
    return Deno.statSync(join(kit, "lib", "tasks", `${task}.ts`)).isFile;
  } catch {
    return false;
  }
});

const made = new Map<string, Promise<string>>();

function pageOf(task: string, words: readonly string[]): Promise<string> {
  const known = made.get(task) ?? makePage(task, words);
  made.set(task, known);
  return known;
}

async function makePage(task: string, words: readonly string[]): Promise<string> {
  const { code, stderr, out } = await runTask(task, ...words);
  assert.equal(code, 0, stderr);
  const file = [...Deno.readDirSync(out)].find(({ name }) => name.endsWith(".html"));
  const html = await Deno.readTextFile(join(out, file!.name));
  await Deno.remove(out, { recursive: true });
  return html;
}

/** Words of statistics that nobody outside it knows; a page may hold them where it explains them. */
const JARGON =
  /disattenuat|family-?wise|one standard error|hetero|\bREML\b|degrees of freedom|\bHolm\b|covariance|bootstrap|permutation|nnls|\bridge\b|p-value|Bonferroni/i;

Deno.test("no notebook's prose has a word of statistics that it doesn't explain", async () => {
  for await (const { name } of Deno.readDir(join(kit, "notebooks"))) {
    if (!name.endsWith(".ipynb")) continue;
    const { cells } = JSON.parse(await Deno.readTextFile(join(kit, "notebooks", name)));
    for (const { cell_type, source } of cells) {
      if (cell_type === "markdown") assert.doesNotMatch([source].flat().join(""), JARGON, name);
    }
  }
});

for (const { task, words } of pages) {
  Deno.test(`the page of deno task ${task} explains its terms, and has no other word of statistics`, async () => {
    const page = await pageOf(task, words);
    const main = /<section class="in-short"[\s\S]*<\/main>/.exec(page)![0];
    const plain = main.replace(/<ul class="terms">[\s\S]*?<\/ul>/g, "")
      .replace(/<details class="code">[\s\S]*?<\/details>/g, "").replace(/<[^>]*>/g, "");
    assert.doesNotMatch(plain, JARGON);
    assert.ok([...main.matchAll(/<button type="button" class="term"/g)].length >= 4);
  });

  const browserTest = (name: string, use: (browser: Browser, file: string) => Promise<void>) =>
    Deno.test({
      name: `the page of deno task ${task}: ${name}`,
      ignore: browserIsMissing,
      sanitizeOps: false, // the browser's pipes outlive the call that closes it by a moment
      sanitizeResources: false,
      fn: async () => await withBrowser(use, await pageOf(task, words)),
    });

  for (const width of [390, 1024, 1920]) {
    browserTest(
      `at ${width} px nothing overflows, is asked for or complained of`,
      async (browser, file) => {
        const { page, noise } = await visit(browser, file, { width });
        assert.equal(await page.evaluate("document.documentElement.scrollWidth"), width);
        assert.deepEqual(await cutOff(page), []);
        await page.locator("details.fold").evaluateAll((all) => {
          for (const fold of all) fold.setAttribute("open", "");
        });
        const pictures = await shownPictures(page);
        assert.ok(pictures.length >= 1);
        for (const { natural, shown, alt } of pictures) {
          assert.ok(natural > 300 && shown > 300 && shown <= width, `${alt}: ${natural}, ${shown}`);
          // a phone gets a drawing of its own, whose text is not shrunk out of reading
          assert.ok(shown / natural > 0.9, `${alt}: shown at ${shown} of ${natural} px`);
          assert.ok(alt.length > 40, `a picture without a finding: "${alt}"`);
        }
        assert.deepEqual(noise, []);
      },
    );
  }

  for (const dark of [false, true]) {
    browserTest(`axe-core finds no fault, ${dark ? "dark" : "light"}`, async (browser, file) => {
      const { page } = await visit(browser, file, { dark });
      assert.deepEqual(await axeFaults(page), []);
    });
  }

  browserTest(
    "on A4 no text is smaller than 7 pt, and nothing is cut off",
    async (browser, file) => {
      const { page } = await visit(browser, file);
      const { texts, small, over } = await smallPrint(page, { points: 7, width_mm: 180 });
      assert.ok(texts > 300, `${texts} texts`);
      assert.deepEqual(small, []);
      assert.ok(over <= 0, `${over} px wider than the sheet`);
    },
  );

  if (task === "review") {
    browserTest(
      "folded, it is read on a phone in 1,200 words and 12 screens",
      async (browser, file) => {
        const { page } = await visit(browser, file, { width: 390 });
        await page.setViewportSize({ width: 390, height: 844 });
        const [words, screens] = await page.evaluate<[number, number]>(
          `[document.body.innerText.split(/\\s+/).filter((word) => /[\\p{L}\\d]/u.test(word)).length,` +
            `document.documentElement.scrollHeight / innerHeight]`,
        );
        assert.ok(words > 500 && words <= 1200, `${words} words`);
        assert.ok(screens <= 12, `${screens} screens`);
      },
    );

    browserTest(
      "a chart tells its values by pointer, tap and arrow key, and which table has the row",
      async (browser, file) => {
        const { page, noise } = await visit(browser, file, { width: 1024 });
        const figure = page.locator("figure:has(.chart [data-about])").first();
        const chart = figure.locator(".chart").first();
        const reading = figure.locator(".reading");
        await chart.focus();
        await page.keyboard.press("ArrowDown");
        const first = await reading.innerText();
        assert.match(first, /^\S.*: −?\d+\.\d+ \(.* to .*\) points, rank .* · Table \d+/);
        await page.keyboard.press("End");
        assert.notEqual(await reading.innerText(), first);
        await chart.locator("[data-about]").nth(2).hover();
        const third = await chart.locator("[data-about]").nth(2).getAttribute("data-about");
        assert.ok((await reading.innerText()).startsWith(`${third}: `));
        await chart.locator("[data-about]").nth(1).click();
        const second = await chart.locator("[data-about]").nth(1).getAttribute("data-about");
        assert.ok((await reading.innerText()).startsWith(`${second}: `));
        assert.equal(await page.locator("tr.read").count() >= 1, true);
        await reading.getByRole("link").first().click();
        assert.ok(await page.locator("tr.read", { hasText: second! }).first().isVisible());
        assert.deepEqual(noise, []);
      },
    );

    browserTest(
      "a long table shows twenty rows, in whatever order, and all when asked",
      async (browser, file) => {
        const { page } = await visit(browser, file);
        await page.locator("details.fold").evaluateAll((all) => {
          for (const fold of all) fold.setAttribute("open", "");
        });
        const block = page.locator("table:has-text('ranks it could have')").first();
        const rows = () => block.locator("tbody tr:visible").count();
        const whole = await block.locator("tbody tr").count();
        assert.ok(whole > 25);
        assert.equal(await rows(), 20);
        const names = () => block.locator("tbody tr:visible th").allTextContents();
        const before = await names();
        await block.getByRole("button", { name: "score" }).click();
        assert.equal(await rows(), 20);
        assert.ok((await names()).some((name) => !before.includes(name)));
        await page.getByRole("button", { name: `Show all ${whole} rows` }).first().click();
        assert.equal(await rows(), whole);
      },
    );

    browserTest(
      "a word of statistics opens its explanation by key and tap, without script too",
      async (browser, file) => {
        for (const javaScriptEnabled of [true, false]) {
          const context = await browser.newContext({ javaScriptEnabled, hasTouch: true });
          const page = await context.newPage();
          await page.goto(`file://${file}`);
          const term = page.getByRole("button", { name: "ICC", exact: true }).first();
          await term.focus();
          await page.keyboard.press("Enter");
          const words = page.locator(".word:popover-open");
          assert.match(await words.innerText(), /^ICC: the share .* Here from [01]\.\d\d \(/);
          await page.keyboard.press("Escape");
          assert.equal(await words.count(), 0);
          await term.tap();
          assert.equal(await words.count(), 1);
          await context.close();
        }
      },
    );
  }

  browserTest("the three to know and the three to do fit one screen", async (browser, file) => {
    const { page } = await visit(browser, file, { width: 1024 });
    await page.setViewportSize({ width: 1024, height: 768 });
    // A third card, of what has changed, stands beside them on a wider screen and below them here.
    for (const place of [0, 1]) {
      const card = (await page.locator(".card").nth(place).boundingBox())!;
      assert.ok(card.y + card.height <= 768, `card ${place} ends at ${card.y + card.height} px`);
    }
    assert.ok(await page.locator(".cards li").count() >= 2);
  });

  browserTest("a table sorts by its estimates, up and down", async (browser, file) => {
    const { page } = await visit(browser, file);
    await page.locator("details.fold").evaluateAll((all) => {
      for (const fold of all) fold.setAttribute("open", "");
    });
    const head = page.locator("table[data-sortable] thead th.number:has(button)").first();
    const column = 1 +
      await head.evaluate((th) => (th as unknown as { cellIndex: number }).cellIndex);
    const table = page.locator("table[data-sortable]", { has: page.locator("th.number") }).first();
    const numbers = async () =>
      (await table.locator(`tbody tr > :nth-child(${column})`).allTextContents())
        .map((text) => parseFloat(text.replace("−", "-"))).filter(Number.isFinite);
    await head.getByRole("button").click();
    const up = await numbers();
    assert.ok(up.length >= 2);
    assert.deepEqual(up, up.toSorted((a, b) => a - b));
    await head.getByRole("button").click();
    const down = await numbers();
    assert.deepEqual(down, up.toSorted((a, b) => b - a));
  });

  browserTest(
    "print cuts no figure and drops what only a screen can use",
    async (browser, file) => {
      const { page } = await visit(browser, file);
      const pdf = new TextDecoder("latin1").decode(await page.pdf({ preferCSSPageSize: true }));
      assert.ok(pdf.startsWith("%PDF-"));
      await page.emulateMedia({ media: "print" });
      await page.setViewportSize({ width: 680, height: 1000 }); // A4 between its margins, in CSS px
      for (const gone of [".contents", "details.code", "th button"]) {
        assert.equal(await page.locator(gone).first().isVisible(), false, gone);
      }
      // What the reader left folded is not printed.
      const figures = await page.locator("figure:visible").all();
      assert.ok(figures.length >= 1);
      for (const figure of figures) {
        // A chart taller than a sheet is printed in parts, between whose rows a sheet may end.
        const parts = await figure.locator(".slices svg").all();
        for (const part of parts.length > 0 ? parts : [figure]) {
          const { height, width } = (await part.boundingBox())!;
          assert.ok(height < 990 && width <= 681, `a figure of ${width} by ${height} px`);
        }
      }
    },
  );

  browserTest(
    "every entry of the contents and every number leads somewhere",
    async (browser, file) => {
      const { page } = await visit(browser, file);
      const dead = await page.evaluate(
        `[...document.querySelectorAll("a[href^='#']")].map((a) => a.getAttribute("href"))` +
          `.filter((href) => !document.getElementById(decodeURIComponent(href.slice(1))))`,
      );
      assert.deepEqual(dead, []);
      const count = (selector: string) => page.locator(selector).count();
      assert.equal(await count("figure"), await count("figure[id] figcaption"));
      assert.equal(await count("table"), await count("table[id] > caption"));
      assert.ok(await count(".contents a") >= 3);
      assert.match(await page.locator("footer").innerText(), /Cautions[\s\S]*Seed/);
    },
  );
}

type Picture = { readonly natural: number; readonly shown: number; readonly alt: string };

async function shownPictures(page: Page): Promise<Picture[]> {
  return await page.evaluate(
    `[...document.querySelectorAll("figure .chart svg, figure img")]` +
      `.filter((picture) => picture.getClientRects().length > 0).map((picture) => ({` +
      ` natural: Number(picture.getAttribute("width")), shown: picture.getBoundingClientRect().width,` +
      ` alt: picture.alt ?? picture.querySelector("desc").textContent }))`,
  );
}

/** Elements that stick out of the window without a region of their own to scroll in. */
async function cutOff(page: Page): Promise<string[]> {
  return await page.evaluate(
    `[...document.querySelectorAll("main *, header *, footer *")]` +
      `.filter((e) => !e.closest(".scroll, pre, .unseen") && e.getClientRects().length > 0 &&` +
      ` (e.getBoundingClientRect().right > innerWidth + 1 || e.getBoundingClientRect().left < -1))` +
      `.map((e) => e.outerHTML.slice(0, 80))`,
  );
}
