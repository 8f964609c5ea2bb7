import assert from "node:assert/strict";
import axe from "axe-core";
import { type Browser, chromium, type Page } from "playwright-core";

const CHROMIUM = Deno.env.get("CHROMIUM") ?? "/usr/bin/chromium";
const FLAGS =
  "--headless --no-sandbox --disable-gpu --no-first-run --disable-background-networking --disable-component-update --disable-sync";

function isThere(): boolean {
  try {
    return Deno.statSync(CHROMIUM).isFile;
  } catch {
    return false;
  }
}

/** How the browser is started. */
export const chromiumOptions = { executablePath: CHROMIUM, args: FLAGS.split(" ") };

/** True on a machine where the page tests must be skipped. */
export const browserIsMissing = !isThere();
if (browserIsMissing) {
  console.log(`Skipped: the page tests need Chromium, and there is none at ${CHROMIUM}.`);
}

/** A page that was opened, and what was heard of it. */
export type Visit = {
  readonly page: Page;
  /** Everything that would tell of an attack or a fault: console lines, errors, dialogs, requests. */
  readonly noise: string[];
};

/** Puts the HTML into a file and opens a browser for it. */
export async function withBrowser(
  use: (browser: Browser, file: string) => Promise<void>,
  html: string,
) {
  const file = await Deno.makeTempFile({ suffix: ".html" });
  await Deno.writeTextFile(file, html);
  const browser = await chromium.launch(chromiumOptions);
  try {
    await use(browser, file);
  } finally {
    await browser.close();
    await Deno.remove(file);
  }
}

/** Opens the file in a window of this width and listens to everything it does. */
export async function visit(
  browser: Browser,
  file: string,
  { width = 1024, dark = false }: { readonly width?: number; readonly dark?: boolean } = {},
): Promise<Visit> {
  const page = await browser.newPage({
    viewport: { width, height: 800 },
    colorScheme: dark ? "dark" : "light",
    reducedMotion: "reduce", // else a page may still scroll under the pointer that has just clicked
  });
  const noise: string[] = [];
  page.on("console", (line) => noise.push(`console ${line.type()}: ${line.text()}`));
  page.on("pageerror", (error) => noise.push(`error: ${error.message}`));
  page.on("dialog", (dialog) => {
    noise.push(`dialog: ${dialog.message()}`);
    dialog.dismiss();
  });
  page.on("request", (request) => {
    const address = request.url();
    if (!address.startsWith("data:") && !address.endsWith(file)) noise.push(`request: ${address}`);
  });
  await page.goto(`file://${file}`);
  return { page, noise };
}

/** What axe-core finds wrong with a page, with all its folded parts opened; a line a rule. */
export async function axeFaults(page: Page): Promise<string[]> {
  await page.locator("details").evaluateAll((all) => {
    for (const details of all) details.setAttribute("open", "");
  });
  // through the protocol, which the page's policy does not bind
  await page.evaluate(axe.source);
  const found = await page.evaluate(`axe.run(document, {resultTypes: ["violations"]})`) as {
    passes: unknown[];
    violations: { id: string; nodes: { html: string; failureSummary: string }[] }[];
  };
  assert.ok(found.passes.length > 20);
  return found.violations.map(({ id, nodes }) =>
    `${id}: ${nodes.map((node) => `${node.html} ${node.failureSummary}`).join("; ")}`
  );
}

/**
 * Text that a page prints smaller than this, with all its folded parts opened, on a sheet that leaves `width_mm`
 * for it; and how far the page is wider than the sheet, in CSS pixels (a browser would shrink it all by that).
 */
export async function smallPrint(
  page: Page,
  { points, width_mm }: { readonly points: number; readonly width_mm: number },
): Promise<{ readonly texts: number; readonly small: readonly string[]; readonly over: number }> {
  const width = Math.floor(width_mm / 25.4 * 96);
  await page.setViewportSize({ width, height: 1000 });
  await page.emulateMedia({ media: "print", colorScheme: "light" });
  await page.locator("details").evaluateAll((all) => {
    for (const details of all) details.setAttribute("open", "");
  });
  return await page.evaluate(`(() => {
    const small = new Set();
    let texts = 0;
    const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    for (let node; (node = walk.nextNode());) {
      const around = node.parentElement;
      if (!node.data.trim() || around.closest("script, style, title, desc, [popover], .chart.tall, .unseen")) continue;
      const range = document.createRange();
      range.selectNodeContents(node);
      const [box] = range.getClientRects();
      if (!box || box.width < 1) continue;
      texts++;
      // a chart is scaled as a whole; its slices are as wide as the sheet lets them
      const scale = around.closest("svg") ? around.getScreenCTM().a : 1;
      const points = parseFloat(getComputedStyle(around).fontSize) * Math.abs(scale) * 0.75;
      if (points < ${points}) small.add(points.toFixed(1) + " " + node.data.trim().slice(0, 40));
    }
    for (const slice of document.querySelectorAll(".slices svg")) {
      const scale = slice.getScreenCTM().a;
      const whole = document.querySelector(slice.querySelector("use").getAttribute("href"));
      for (const text of whole.querySelectorAll("text")) {
        texts++;
        const points = parseFloat(getComputedStyle(text).fontSize) * scale * 0.75;
        if (points < ${points}) small.add(points.toFixed(1) + " " + text.textContent.slice(0, 40));
      }
    }
    return { texts, small: [...small], over: document.documentElement.scrollWidth - ${width} };
  })()`) as { texts: number; small: string[]; over: number };
}
