/**
 * What a hostile bench writes into every field that takes words, on every page and in every table that the
 * kit makes of it, beside a canary that hears of anything that runs or is fetched.
 */
import assert from "node:assert/strict";
import { join } from "node:path";
import { parse } from "csv-parse/sync";
import { unzipSync } from "fflate";
import { chromium } from "playwright-core";
import { inspectBench } from "../../lib/records/inspect_bench.ts";
import { tableText } from "../../lib/records/write_table.ts";
import { browserIsMissing, chromiumOptions, visit } from "../notebook/in_browser.ts";
import { kitDir } from "../notebook/with_kernel.ts";
import { inventedWorkbook } from "../records/invented_workbook.ts";
import { copyBench, runTask } from "../tasks/run_task.ts";

const DEMO = join(kitDir, "data-demo");
const RAN = "globalThis.ran=1";

/** Fields that have to be among those tried, since pages show them. */
const NAMED = ["shoes.csv maker", "shoes.csv model", "metrics.json title", "bench.json name"];

const PAGES = [
  ...["bench-sheet", "catalogue", "proposal-weigh-what-players-feel", "rating-cards"],
  ...["recalibration-speed-index-2", "review-N", "suggested-mapping", "watch"],
].map((name) => `${name}.html`);

/** Many ways of running or fetching something, in a text that is short enough for any name. */
function payload(canary: string): string {
  return `=HYPERLINK("${canary}/h")'"></title></script></textarea>--><script>${RAN}</script>` +
    `<img src=${canary}/i onerror=${RAN}><svg onload=${RAN}><style>@import "${canary}/c"</style></svg>` +
    `<iframe srcdoc="<script>parent.${RAN}</script>"></iframe>[a](javascript:${RAN})![b](${canary}/m)` +
    `" onfocus="${RAN}" autofocus="\${${RAN}}\u001b]0;t\u0007\u202e `;
}

/** Which texts of a file get the words: by column, or by the keys that lead there, lists passed through. */
type Place = string;

function filledJson(
  value: unknown,
  words: ReadonlyMap<Place, string>,
  place: Place = "",
): unknown {
  if (typeof value === "string") return (words.get(place) ?? "") + value;
  if (Array.isArray(value)) return value.map((one) => filledJson(one, words, place));
  if (value === null || typeof value !== "object") return value;
  return Object.fromEntries(
    Object.entries(value).map(([key, one]) => [key, filledJson(one, words, `${place}.${key}`)]),
  );
}

function placesIn(value: unknown, place: Place = ""): readonly Place[] {
  if (typeof value === "string") return [place];
  if (value === null || typeof value !== "object") return [];
  const parts = Array.isArray(value)
    ? value.flatMap((one) => placesIn(one, place))
    : Object.entries(value).flatMap(([key, one]) => placesIn(one, `${place}.${key}`));
  return [...new Set(parts)];
}

/** Empty cells get the words in some rows, so that columns without any text are tried too. */
const EMPTY_FILLED = 20;

function filledFile(file: string, text: string, words: ReadonlyMap<Place, string>): string {
  if (file.endsWith(".json")) return JSON.stringify(filledJson(JSON.parse(text), words));
  const [header, ...rows] = parse(text) as string[][];
  const filled = rows.map((row, r) =>
    Object.fromEntries(row.map((cell, c) => {
      const given = cell === "" && r >= EMPTY_FILLED ? "" : words.get(header[c]) ?? "";
      return [header[c], given + cell];
    }))
  );
  return tableText(filled, header);
}

/** Fewer shoes and tests than the demo's, so that all pages are made in a short time. */
function cut(file: string, text: string): string {
  if (!file.endsWith(".csv")) return text;
  const rows = parse(text) as string[][];
  const column = rows[0].indexOf("shoe_id");
  const kept = new Set(
    [
      ...(parse(Deno.readTextFileSync(join(DEMO, "shoes.csv"))) as string[][]).slice(1, 16).map((
        [id],
      ) => id),
      "tolmeck-steddle-1",
      "quenbar-anvoril-1",
    ],
  );
  if (column < 0) return text;
  const some = rows.slice(1).filter((row) => kept.has(row[column]));
  return tableText(
    some.map((row) => Object.fromEntries(row.map((cell, c) => [rows[0][c], cell]))),
    rows[0],
  );
}

/** A copy of the demo bench with the words in front of every text that may have them; which texts these are. */
async function hostileBench(
  words: string,
): Promise<{ readonly dir: string; readonly fields: readonly string[] }> {
  const dir = await copyBench(DEMO);
  for (const stray of ["README.md", "truth.json", "invented.ts", "make_demo.ts", "pictures"]) {
    await Deno.remove(join(dir, stray), { recursive: true });
  }
  const fields: string[] = [];
  const files = ["", "rules", "proposals"].flatMap((folder) =>
    [...Deno.readDirSync(join(dir, folder))].filter(({ isFile }) => isFile)
      .map(({ name }) => join(folder, name))
  );
  for (const file of files) {
    await Deno.writeTextFile(join(dir, file), cut(file, await Deno.readTextFile(join(DEMO, file))));
  }
  for (const file of files.sort()) {
    const text = cut(file, await Deno.readTextFile(join(DEMO, file)));
    const write = (words: ReadonlyMap<Place, string>) =>
      Deno.writeTextFile(join(dir, file), filledFile(file, text, words));
    const places = file.endsWith(".csv")
      ? (parse(text) as string[][])[0]
      : placesIn(JSON.parse(text));
    const taken = new Map<Place, string>();
    // A place that takes no such words has an error of its own, and keeps its text.
    for (const place of places) {
      if (place === ".id" && file.startsWith("proposals")) continue; // which the test asks by
      await write(new Map([...taken, [place, words]]));
      const { problems } = await inspectBench(dir);
      const refused = problems.some(({ severity, fix = "" }) =>
        severity === "error" || fix.includes("no verdict on it")
      );
      if (refused) continue;
      taken.set(place, words);
      fields.push(`${file} ${place.replace(/^\./, "")}`);
    }
    await write(taken);
  }
  return { dir, fields };
}

/** Hears of whatever is asked of it. */
function canary() {
  const heard: string[] = [];
  const server = Deno.serve({ hostname: "127.0.0.1", port: 0, onListen: () => {} }, (request) => {
    heard.push(request.url);
    return new Response("");
  });
  return {
    heard,
    address: `http://127.0.0.1:${server.addr.port}`,
    [Symbol.asyncDispose]: () => server.shutdown(),
  };
}

/** Opens the pages, touches what can be touched, and lists what ran or was asked for. */
async function whatRan(pages: readonly string[], own: string): Promise<readonly string[]> {
  const ran: string[] = [];
  const browser = await chromium.launch(chromiumOptions);
  try {
    for (const file of pages) {
      const { page, noise } = await visit(browser, file);
      const result = await page.evaluate(`(async () => {
        for (const details of document.querySelectorAll("details")) details.open = true;
        for (const one of document.querySelectorAll("input, button, th, [tabindex]")) one.focus();
        for (const link of document.querySelectorAll("a, area")) {
          const address = link.getAttribute("href") ?? link.getAttribute("xlink:href") ?? "#";
          if (!/^(https?:|mailto:|#|data:(text|application)|[\\w.-]+$)/.test(address)) return address;
        }
        await new Promise((resolve) => setTimeout(resolve, 1_200));
        return [globalThis.ran ?? 0, document.querySelectorAll("iframe[srcdoc], object, embed, base").length];
      })()`);
      const name = file.slice(own.length + 1);
      if (JSON.stringify(result) !== "[0,0]") ran.push(`${name}: ${JSON.stringify(result)}`);
      ran.push(
        ...noise.filter((line) => !line.startsWith(`request: file://${own}/`)).map((line) =>
          `${name}: ${line}`
        ),
      );
      await page.close();
    }
  } finally {
    await browser.close();
  }
  return ran;
}

const pagesIn = (dir: string): readonly string[] =>
  [...Deno.readDirSync(dir)].filter(({ name }) => name.endsWith(".html"))
    .map(({ name }) => join(dir, name)).sort();

/** Cells of a table, those of columns of numbers aside, that a spreadsheet would take for a formula. */
const formulas = (cells: readonly string[]): readonly string[] =>
  cells.filter((cell) => /^[\t\r ]*[=+@-]/.test(cell) && !Number.isFinite(Number(cell)));

Deno.test({
  name:
    "with payloads in every field of a bench that takes words, nothing runs and nothing is fetched by any page, and no table holds a formula",
  ignore: browserIsMissing,
  fn: async () => {
    await using bird = canary();
    const words = payload(bird.address);
    const { dir, fields } = await hostileBench(words);
    const out = Deno.realPathSync(await Deno.makeTempDir({ prefix: "payloads-" }));
    assert.ok(fields.length > 40, fields.join("\n"));
    for (const field of NAMED) assert.ok(fields.includes(field), `${field}: ${fields.join(", ")}`);

    for (
      const call of [
        ["review", "--data", dir],
        ["proposal", "--data", dir, "--proposal", "weigh-what-players-feel"],
        ["recalibrate", "--data", dir],
        ["publish", "--data", dir],
        ["retest", "--data", dir, "--sheet", "--last", "--cards", "t1,t2"],
        [
          "answer",
          "--data",
          dir,
          "--shoes",
          "tolmeck-brindlet-1,quenbar-morrune-1",
          "--metrics",
          "mass",
        ]
          .concat("--size", "1080x3000"),
      ]
    ) {
      const { code, stderr } = await runTask(...call, "--out", out);
      assert.equal(code, 0, `${call[0]}: ${stderr.slice(0, 2_000)}`);
    }
    const crowded = ["answer", "--data", dir, "--shoes", "tolmeck-brindlet-1,quenbar-morrune-1"];
    const { code, stderr } = await runTask(...crowded, "--size", "480x480", "--out", out);
    assert.equal(code, 2);
    assert.match(stderr, /The words above and below the chart fill a picture of 480 by 480/);

    const sheet = join(out, "season.xlsx");
    await Deno.writeFile(
      sheet,
      inventedWorkbook({
        "Hard": [
          [words, `Shoe ${words}`, `Grip ${words}`, "Mass g", `Notes ${words}`],
          ...[1, 2, 3].map((n) => [words, `${words} ${n}`, 5 + n, 300 + n, words]),
        ],
      }),
    );
    assert.equal((await runTask("import", "--from", sheet, "--suggest", "--out", out)).code, 0);
    // A bench with an error whose sentence quotes the words.
    await Deno.writeTextFile(
      join(dir, "features.csv"),
      tableText([{ shoe_id: words, feature_id: words, present: words, checked_on: words }]),
    );
    await runTask("watch", "--data", dir, "--once", "--out", out);

    const pages = pagesIn(out);
    assert.deepEqual(
      pages.map((page) => page.slice(out.length + 1).replace(/\d{4}Q\d|-\d{4}-\d\d-\d\d/, "N")),
      PAGES,
    );
    for (const page of pages) {
      const html = await Deno.readTextFile(page);
      if (!/watch\.html$/.test(page)) {
        assert.ok(html.includes("HYPERLINK"), `${page} shows none of it`);
      }
    }
    assert.deepEqual(await whatRan(pages, out), []);
    assert.deepEqual(bird.heard, []);

    let cells = 0;
    for (const { name } of Deno.readDirSync(out)) {
      if (name.endsWith(".csv")) {
        const rows = parse(await Deno.readTextFile(join(out, name))) as string[][];
        assert.deepEqual(formulas(rows.flat()), [], name);
        cells += rows.flat().length;
      }
      if (name === "catalogue.xlsx") {
        const parts = unzipSync(await Deno.readFile(join(out, name)));
        const decoder = new TextDecoder();
        for (const [part, bytes] of Object.entries(parts)) {
          assert.ok(!/<f[ >]|<hyperlink|externalLink/.test(decoder.decode(bytes)), part);
        }
      }
    }
    assert.ok(cells > 1_000);
    for (const folder of [dir, out]) await Deno.remove(folder, { recursive: true });
  },
});
