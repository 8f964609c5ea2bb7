import assert from "node:assert/strict";
import { join } from "node:path";
import { parse } from "csv-parse/sync";
import type { Page } from "playwright-core";
import { readSheet } from "read-excel-file/node";
import { cataloguePage } from "../../lib/notebook/catalogue_page.ts";
import { loadBench } from "../../lib/records/load_bench.ts";
import { publishedCatalogue } from "../../lib/studies/catalogue/published_catalogue.ts";
import { trialReliability } from "../../lib/studies/repeatability/trial_reliability.ts";
import { tableText } from "../../lib/records/write_table.ts";
import { writeWorkbook } from "../../lib/tasks/write_workbook.ts";
import {
  axeFaults,
  browserIsMissing,
  smallPrint,
  visit,
  withBrowser,
} from "../notebook/in_browser.ts";
import { howToRead, trustWords } from "../../lib/words/catalogue/catalogue_words.ts";
import { catalogueRows } from "../../lib/words/catalogue/catalogue_rows.ts";
import { copyBench, kit, runTask } from "./run_task.ts";

const bench = await loadBench(join(kit, "data-demo"));
const reliability = trialReliability(bench, { seed: 1, resamples: 100 });
const catalogue = publishedCatalogue(bench, { reliability, seed: 1 });
const page = (given = catalogue) =>
  cataloguePage(given, {
    title: "The table",
    invented: true,
    cautions: ["A bench figure is no safety rating."],
    provenance: [{ label: "Rule", value: "2" }],
  });

Deno.test("publish writes a page, a CSV table and a workbook whose cells are the same", async () => {
  const { code, stderr, out } = await runTask("publish");
  assert.equal(code, 0, stderr);
  const [head, ...rows] = parse(await Deno.readTextFile(join(out, "catalogue.csv"))) as string[][];
  const sheet = await readSheet(join(out, "catalogue.xlsx"));
  assert.deepEqual(sheet[0], head);
  assert.equal(sheet.length, rows.length + 1);
  for (const [index, row] of rows.entries()) {
    assert.deepEqual(sheet[index + 1].map((value) => value === null ? "" : String(value)), row);
  }
  const json = JSON.parse(await Deno.readTextFile(join(out, "catalogue.json")));
  assert.equal(json.shoes.length, rows.length);
  const withheld = json.metrics.filter((m: { published_as: string }) =>
    m.published_as === "withheld"
  );
  assert.ok(withheld.length > 0);
  for (const { title, metric } of withheld) {
    assert.ok(!head.some((name) => name.startsWith(title)), `${title} is withheld`);
    for (const shoe of json.shoes) {
      assert.ok(!shoe.values.some((value: { metric: string }) => value.metric === metric));
    }
  }
  // Which way a metric is better is no reader's concern, and the result keeps it.
  assert.ok(json.warnings.some((text: string) => /better/.test(text)));
  assert.doesNotMatch(await Deno.readTextFile(join(out, "catalogue.html")), /metrics\.json/);
  const again = await runTask("publish");
  for (const name of ["catalogue.html", "catalogue.csv", "catalogue.xlsx", "catalogue.json"]) {
    assert.deepEqual(
      await Deno.readFile(join(again.out, name)),
      await Deno.readFile(join(out, name)),
      `${name} has the same bytes a second time`,
    );
  }
  for (const dir of [out, again.out]) await Deno.remove(dir, { recursive: true });
});

Deno.test("what a young bench can't say stands on the published page before how to read it, as text", () => {
  const html = cataloguePage(catalogue, {
    title: "The table",
    invented: true,
    cautions: [],
    notes: ["Every metric was read once: <b>no</b> noise is known."],
    provenance: [],
  });
  const at = html.indexOf("Every metric was read once: &lt;b&gt;no&lt;/b&gt; noise is known.");
  assert.ok(at > 0 && at < html.indexOf("How to read it"));
  assert.doesNotMatch(page(), /can't say yet/);
});

Deno.test("an old table comes back from its day and the version of its rule; an unknown version is named", async () => {
  const old = await runTask("publish", "--until", "2026-03-31", "--rule", "1");
  assert.equal(old.code, 0, old.stderr);
  const json = JSON.parse(await Deno.readTextFile(join(old.out, "catalogue.json")));
  assert.equal(json.rule.version, "1");
  assert.ok(json.until <= "2026-03-31");
  await Deno.remove(old.out, { recursive: true });
  const none = await runTask("publish", "--rule", "77");
  assert.equal(none.code, 2);
  assert.match(none.stderr, /no rule version "77"; there are 1, 2/);
});

Deno.test("a shoe can't be told apart exactly from those that are not shown to be better or worse", () => {
  const ranked = catalogue.shoes.filter(({ rank }) => rank !== null);
  assert.ok(ranked.length > 40);
  for (const shoe of ranked) {
    for (const other of shoe.alike) {
      const back = ranked.find(({ shoe_id }) => shoe_id === other)!;
      assert.ok(back.alike.includes(shoe.shoe_id), `${shoe.name} and ${back.name}`);
    }
    // places lost upward and downward, and those alike, make up the table
    const apart = ranked.length - 1 - shoe.alike.length;
    assert.equal(shoe.rank_lower! - 1 + (ranked.length - shoe.rank_upper!), apart, shoe.name);
  }
});

Deno.test("a metric fit for groups only is published without a value, and words follow the whole interval", () => {
  const groups = catalogue.metrics.filter(({ published_as }) => published_as === "groups");
  assert.ok(groups.length > 0);
  for (const { values } of catalogue.shoes) {
    for (const value of values) {
      const metric = catalogue.metrics.find(({ metric }) => metric === value.metric)!;
      if (metric.published_as === "groups") assert.equal(value.value, null);
      if (value.value === null || value.parts === null || metric.better !== "higher") continue;
      const [best] = metric.cuts.toReversed();
      assert.equal(value.parts[1] === 0, value.lower! > best, `${value.metric} ${value.lower}`);
    }
  }
});

Deno.test("a name that begins with an equals sign stays text in the workbook and inert in the CSV table", async () => {
  const dir = await Deno.makeTempDir();
  const rows = [{ shoe: "=1+1", index: 2.5 }];
  const file = await writeWorkbook(dir, "t", { sheet: "T", columns: ["shoe", "index"], rows });
  assert.deepEqual((await readSheet(file))[1], ["=1+1", 2.5]);
  assert.equal(tableText(rows).split("\r\n")[1], "'=1+1,2.5");
  await Deno.remove(dir, { recursive: true });
});

Deno.test("a metric that metrics.json says is withdrawn is left out of the table, with its reason", () => {
  const first = catalogue.metrics.find(({ published_as }) => published_as !== "withheld")!.metric;
  const metrics = bench.metrics.map((metric) =>
    metric.id === first ? { ...metric, withdrawn: "the plate was worn" } : metric
  );
  const without = publishedCatalogue({ ...bench, metrics }, { reliability, seed: 1 });
  const column = without.metrics.find(({ metric }) => metric === first)!;
  assert.equal(column.published_as, "withheld");
  assert.match(trustWords(column), /withdrawn by the tester \(the plate was worn\)/);
  assert.ok(howToRead(without).some((text) => text.includes("withdrawn by the tester: ")));
  for (const { values } of without.shoes) {
    assert.ok(!values.some(({ metric }) => metric === first));
  }
});

Deno.test("two metrics that viewers call alike keep a column each", () => {
  const named = {
    ...catalogue,
    metrics: catalogue.metrics.map((metric) => ({ ...metric, title: "Bounce", unit: "cm" })),
  };
  const { columns } = catalogueRows(named);
  const shown = named.metrics.filter(({ published_as }) => published_as !== "withheld");
  for (const { metric } of shown) assert.ok(columns.includes(`Bounce [${metric}] (cm)`), metric);
});

Deno.test("the published page carries the words, the name and the logo of the bench's look", async () => {
  const dir = await copyBench(bench.dir);
  await Deno.writeTextFile(
    join(dir, "mark.svg"),
    `<svg xmlns="http://www.w3.org/2000/svg" width="40" height="20"><rect width="40" height="20"/></svg>`,
  );
  const settings = JSON.parse(await Deno.readTextFile(join(dir, "bench.json")));
  await Deno.writeTextFile(
    join(dir, "bench.json"),
    JSON.stringify({
      ...settings,
      look: {
        name: "Court Table",
        logo: "mark.svg",
        words: { "tilt-slip-dry": "grip on the rig" },
      },
    }),
  );
  const { code, stderr, out } = await runTask("publish", "--data", dir);
  assert.equal(code, 0, stderr);
  const html = await Deno.readTextFile(join(out, "catalogue.html"));
  assert.match(html, /<h1>Court Table: the table<\/h1>/);
  assert.match(html, /<img class="logo" src="data:image\/png;base64,/);
  assert.match(html, /Grip on the rig/);
  assert.match(
    (await Deno.readTextFile(join(out, "catalogue.csv"))).split("\n")[0],
    /Grip on the rig/,
  );
  for (const each of [dir, out]) await Deno.remove(each, { recursive: true });
});

function browserTest(name: string, html: () => string, use: Parameters<typeof withBrowser>[0]) {
  Deno.test({
    name: `the published page: ${name}`,
    ignore: browserIsMissing,
    sanitizeOps: false, // the browser's pipes outlive the call that closes it by a moment
    sanitizeResources: false,
    fn: () => withBrowser(use, html()),
  });
}

browserTest(
  "on A4 across no text is smaller than 7 pt, and no column is cut off",
  page,
  async (browser, file) => {
    const { page } = await visit(browser, file);
    const heads = page.locator("#table thead .name");
    const names = (await heads.allTextContents()).map((name) => name.trim());
    assert.ok(names.length > 10 && names.every((name) => name !== ""));
    const { texts, small, over } = await smallPrint(page, { points: 7, width_mm: 267 });
    // What a column holds stays above it, though the buttons that sort it mean nothing on paper.
    assert.deepEqual((await heads.allInnerTexts()).map((name) => name.trim()), names);
    assert.ok(texts > 1000, `${texts} texts`);
    assert.deepEqual(small, []);
    assert.ok(over <= 0, `${over} px wider than the sheet`);
  },
);

browserTest(
  "axe-core finds no fault, light, dark and on a phone; nothing is loaded",
  page,
  async (browser, file) => {
    for (const options of [{}, { dark: true }, { width: 390 }]) {
      const { page, noise } = await visit(browser, file, options);
      assert.deepEqual(await axeFaults(page), [], JSON.stringify(options));
      assert.deepEqual(noise, []);
      const wide = await page.evaluate("document.documentElement.scrollWidth - innerWidth");
      assert.ok(Number(wide) <= 0, `${JSON.stringify(options)}: ${wide} px wider than the window`);
      await page.close();
    }
  },
);

browserTest(
  "search and filters narrow the table, a head sorts it by keyboard",
  page,
  async (browser, file) => {
    const { page } = await visit(browser, file, { width: 1400 });
    const shown = () => page.locator("#table tbody tr:visible").count();
    const all = await shown();
    const [first] = catalogue.shoes;
    await page.locator("#find").fill(first.name.toUpperCase());
    assert.equal(await shown(), 1);
    assert.equal(await page.locator("#count").textContent(), `1 of ${all} shoes`);
    await page.locator("#find").fill("");
    await page.locator("#price").fill("100");
    const cheap = catalogue.shoes.filter(({ price, reference }) =>
      !reference && price !== null && price <= 100
    );
    assert.equal(await shown(), cheap.length);
    await page.locator("button[type=reset]").click();
    await page.waitForFunction(`document.querySelectorAll("#table tbody tr").length > 40`);
    await page.locator("#table thead th", { hasText: "Price" }).locator("button").focus();
    await page.keyboard.press("Enter");
    const prices = await page.evaluate(`(() => {
      const at = [...document.querySelectorAll("#table thead th")]
        .findIndex((th) => th.textContent.startsWith("Price"));
      return [...document.querySelectorAll("#table tbody tr")].map((row) => Number(row.cells[at].dataset.sort));
    })()`) as number[];
    assert.ok(prices.length === all && prices[0] > 0);
    assert.deepEqual(prices, prices.toSorted((a, b) => b - a));
  },
);

/** A table of 300 shoes: those of the demo again and again, each with a name and price of its own. */
const many = () => {
  const shoes = catalogue.shoes.filter(({ reference }) => !reference);
  return Array.from({ length: 300 }, (_, index) => ({
    ...shoes[index % shoes.length],
    shoe_id: `many-${index}`,
    name: `Many\n${String(index).padStart(3, "0")} <i>`,
    price: 1000 - index,
  }));
};

browserTest(
  "a long table opens with its first rows; search, sorting, scrolling and print reach every other",
  () => page({ ...catalogue, shoes: many() }),
  async (browser, file) => {
    const { page, noise } = await visit(browser, file, { width: 1400 });
    const shown = () => page.locator("#table tbody tr").count();
    assert.ok(await shown() < 150, `${await shown()} rows at once`);
    await page.locator("#find").fill("299");
    assert.equal(await shown(), 1);
    assert.match((await page.locator("#table tbody th").textContent())!, /^Many 299 <i>$/);
    await page.locator("#find").fill("");
    const price = page.locator("#table thead th", { hasText: "Price" }).locator("button");
    await price.click();
    await price.click();
    assert.match(
      (await page.locator("#table tbody tr").first().locator("th").textContent())!,
      /Many 299/,
    );
    const before = await shown();
    await page.locator("#more").scrollIntoViewIfNeeded();
    await page.locator("#table tbody tr").nth(before).waitFor({ state: "attached" });
    await page.evaluate(`dispatchEvent(new Event("beforeprint"))`);
    assert.equal(await shown(), 300);
    assert.ok(await page.locator("#more").isHidden());
    assert.deepEqual(noise, []);
  },
);

browserTest(
  "a long table is whole without a script, and axe-core finds no fault in it",
  () => page({ ...catalogue, shoes: many() }),
  async (browser, file) => {
    const context = await browser.newContext({ javaScriptEnabled: false });
    const plain = await context.newPage();
    await plain.goto(`file://${file}`);
    assert.equal(await plain.locator("tbody tr[id]").count(), 300);
    assert.ok((await plain.locator("noscript").textContent())!.includes("Many 299"));
    await context.close();
    const { page: open } = await visit(browser, file, { width: 1400 });
    assert.deepEqual(await axeFaults(open), []);
  },
);

/** Whether it comes to stand in the window, below the controls that stay on top. */
async function inSight(page: Page, selector: string): Promise<boolean> {
  return await page.waitForFunction(
    `(() => {
      const box = document.querySelector("${selector}").getBoundingClientRect();
      return box.top >= document.getElementById("controls").getBoundingClientRect().bottom && box.bottom <= innerHeight;
    })()`,
    undefined,
    { timeout: 5000 },
  ).then(() => true, () => false);
}

browserTest(
  "two ticked shoes stand side by side, a shoe's address opens its own section, a tap tells the interval",
  page,
  async (browser, file) => {
    const { page, noise } = await visit(browser, file, { width: 1400 });
    const two = catalogue.shoes.slice(0, 2);
    for (const { shoe_id } of two) await page.locator(`[id="row-${shoe_id}"] input`).check();
    await page.locator("#compare").click();
    assert.ok(await inSight(page, "#side h2"));
    assert.deepEqual(
      await page.locator("#side thead th").allTextContents(),
      ["What", ...two.map(({ name }) => name), "Where in the table"],
    );
    const place = await page.locator("#side tbody tr", { hasText: "Place" }).first().locator("td")
      .first().textContent();
    assert.equal(place, `${two[0].rank_lower} to ${two[0].rank_upper}`);
    await page.locator(`[id="row-${two[1].shoe_id}"] a`).click();
    assert.equal(await page.locator("#one h2").textContent(), two[1].name);
    assert.ok(await inSight(page, "#one h2"));
    const told = two[1].values.find(({ value }) => value !== null)!;
    await page.locator(`[id="row-${two[1].shoe_id}"] td[data-metric="${told.metric}"]`).click();
    const { decimals } = catalogue.metrics.find(({ metric }) => metric === told.metric)!;
    assert.ok(
      (await page.locator("#detail").textContent())!.includes(
        `(${told.lower!.toFixed(decimals)} to ${told.upper!.toFixed(decimals)})`,
      ),
    );
    assert.deepEqual(noise, []);
  },
);

browserTest(
  "a shoe called like a script shows as that text, in the table and in its section",
  () => {
    const bad = `</script><img src=x onerror=alert(1)>`;
    const [first, ...rest] = catalogue.shoes;
    return page({
      ...catalogue,
      shoes: [{ ...first, shoe_id: "bad", name: bad, maker: bad }, ...rest],
    });
  },
  async (browser, file) => {
    const { page, noise } = await visit(browser, file, { width: 1400 });
    await page.locator(`[id="row-bad"] a`).click();
    assert.equal(
      await page.locator("#one h2").textContent(),
      "</script><img src=x onerror=alert(1)>",
    );
    assert.deepEqual(noise, []);
  },
);
