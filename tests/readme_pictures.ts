/**
 * Remakes the pictures of README.md from the demo: the tasks are run as a person runs them, and their
 * pages opened in Chromium. Run by hand when a page's look has changed:
 *
 *   deno run --allow-all tests/readme_pictures.ts
 */
import { join } from "node:path";
import { chromium } from "playwright-core";
import { kit, runTask } from "./tasks/run_task.ts";

const pictures = join(kit, "data-demo", "pictures");
await Deno.mkdir(pictures, { recursive: true });
const out = await Deno.makeTempDir();

async function made(...words: readonly string[]): Promise<string[]> {
  const { code, stderr } = await runTask(...words, "--out", out);
  if (code !== 0) throw new Error(stderr);
  return [...Deno.readDirSync(out)].map(({ name }) => name);
}

const answered = await made(
  "answer",
  "--shoes=pavrico-orbinel-3,ellvarn-talvec-3",
  "--metrics=tilt-slip-dry",
  "--attributes=grip",
  "--size=1200x675",
);
const answer = answered.find((name) => name.startsWith("answer-") && name.endsWith(".png"))!;
await Deno.copyFile(join(out, answer), join(pictures, "answer.png"));

await made("review");
await made("proposal", "--proposal=weigh-what-players-feel");
const browser = await chromium.launch({
  executablePath: Deno.env.get("CHROMIUM") ?? "/usr/bin/chromium",
  args: ["--no-sandbox", "--disable-gpu"],
});
try {
  const shots = [["review-2026Q3", "review"], ["proposal-weigh-what-players-feel", "proposal"]];
  for (const [page, picture] of shots) {
    const tab = await browser.newPage({ viewport: { width: 1200, height: 800 } });
    await tab.goto(`file://${join(out, `${page}.html`)}`);
    await tab.screenshot({ path: join(pictures, `${picture}.png`) });
    await tab.close();
  }
} finally {
  await browser.close();
}
await Deno.remove(out, { recursive: true });
console.log(`Remade the pictures in ${pictures}.`);
