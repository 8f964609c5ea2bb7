/**
 * Would the tests notice a slip? Changes one token of the kit at a time, in a copy, runs the nearest of the
 * tests that run its line, and lists the changes that none of them saw.
 *
 *     deno task mutate --folder lib/statistics --folder lib/studies --count 100 --seed 7
 *
 * A test that fails on the unchanged copy sees nothing, so it is left out and named. The same seed and
 * sources give the same changes; `--minutes` ends a run early, with as many as it tried. A survivor is
 * either a gap in the tests or a change that makes no difference; which of the two, a reader decides.
 */
import { join, relative } from "node:path";
import { parseArgs } from "node:util";
import { randomStream } from "../lib/statistics/random_stream.ts";

export type Mutant = {
  readonly file: string;
  readonly line: number;
  readonly at: number;
  readonly before: string;
  readonly after: string;
};

const swaps: Readonly<Record<string, string>> = {
  "+": "-",
  "-": "+",
  "*": "/",
  "/": "*",
  "<": "<=",
  "<=": "<",
  ">": ">=",
  ">=": ">",
  "===": "!==",
  "!==": "===",
  "&&": "||",
  "||": "&&",
  "Math.max": "Math.min",
  "Math.min": "Math.max",
  "true": "false",
  "false": "true",
};

/**
 * Every token of a source that can be changed: numbers, operators, comparisons, truth values.
 *
 * Comments, texts, imports and types are left alone: an operator counts only between spaces, as the
 * formatter sets it, and a number only where no type stands.
 */
export function mutantsOf(file: string, source: string): Mutant[] {
  const code = withoutWords(source);
  const found: Mutant[] = [];
  const token =
    /(?<=\s)(?:===|!==|<=|>=|&&|\|\||[-+*/<>])(?=\s)|\bMath\.(?:max|min)\b|\b(?:true|false)\b|(?<![\w.$#])\d+(?:\.\d+)?(?:e-?\d+)?(?![\w.]|\s*:)/g;
  for (const { 0: before, index: at } of code.matchAll(token)) {
    const line = code.slice(0, at).split("\n").length;
    const text = code.split("\n")[line - 1];
    if (/^\s*(import|export \*|export \{|readonly |type |export type )/.test(text)) continue;
    const after = swaps[before] ?? otherNumber(before);
    found.push({ file, line, at, before, after });
  }
  return found;
}

function otherNumber(text: string): string {
  const value = Number(text);
  return value === 0 ? "1" : Number.isInteger(value) ? String(value + 1) : String(value * 1.1);
}

/** The source with comments and texts blanked out, every place where it was. */
export function withoutWords(source: string): string {
  const blank = (text: string) => text.replace(/[^\n]/g, " ");
  // Of a template only the text goes; what stands in its ${…} is code, one level deep.
  return source.replace(
    /\/\*[\s\S]*?\*\/|\/\/[^\n]*|"(?:\\.|[^"\\\n])*"|'(?:\\.|[^'\\\n])*'|`(?:\\.|[^`\\])*`|(?<=[(,=:]\s*)\/(?![*/ ])(?:\\.|\[[^\]\n]*\]|[^/\\\n])+\/[a-z]*/g,
    blank,
  );
}

const FIGURES = "tests/figures/figures_test.ts";

/** What one test runs of the kit, and how long it takes unchanged. */
export type Reach = {
  readonly test: string;
  readonly seconds: number;
  /** For each file of the kit, the lines that the test runs, counted from 1. */
  readonly lines: ReadonlyMap<string, ReadonlySet<number>>;
};

/**
 * The tests that run a line, nearest first.
 *
 * Nearest is the test of the same name, then that of all figures, which nearly every change moves, then those
 * of whose run the file makes up the largest share: a test of the whole bench runs nearly every line and looks
 * at few of them.
 *
 * @param most How many tests at most.
 * @param seconds How long they may take together, unchanged; the first, and that of all figures, in any case.
 */
export function nearestTests(
  reaches: readonly Reach[],
  file: string,
  line: number,
  most: number,
  seconds: number,
): readonly Reach[] {
  const name = file.replace(/^lib\//, "").replace(/\.ts$/, "_test.ts");
  const share = ({ test, lines }: Reach) => {
    if (test.endsWith(name)) return 3;
    if (test === FIGURES) return 2;
    let all = 0;
    for (const run of lines.values()) all += run.size;
    return lines.get(file)!.size / all;
  };
  const found: Reach[] = [];
  let spent = 0;
  for (
    const { reach } of reaches.filter(({ lines }) => lines.get(file)?.has(line))
      .map((reach) => ({ reach, share: share(reach) }))
      .sort((a, b) => b.share - a.share || (a.reach.test < b.reach.test ? -1 : 1))
  ) {
    if (reach.test !== FIGURES) spent += reach.seconds;
    if (found.length === most || (found.length > 0 && spent > seconds)) break;
    found.push(reach);
  }
  return found;
}

/**
 * The lines of the kit that were run, from a coverage report in the LCOV form.
 *
 * The report takes `permutation_test.ts` for a test and leaves it out, so that no test seems to run it.
 */
export function linesRun(report: string, root: string): Map<string, Set<number>> {
  const lines = new Map<string, Set<number>>();
  let run = new Set<number>();
  let before = 0;
  for (const text of report.split("\n")) {
    const [, file] = /^SF:(.*)$/.exec(text) ?? [];
    const [, line, times] = /^DA:(\d+),(\d+)/.exec(text) ?? [];
    if (file !== undefined) {
      run = new Set();
      before = 0;
      if (file.startsWith(join(root, "lib/"))) lines.set(relative(root, file), run);
    } else if (line !== undefined) {
      // A line such as "if (…) return" counts as run where its condition holds only: whoever ran the line
      // before came to it.
      if (Number(times) > 0 || before > 0) run.add(Number(line));
      before = Number(times);
    }
  }
  return lines;
}

/** Runs one test as it is; null where it fails, or takes longer than it may. */
async function reachOf(copy: string, test: string, seconds: number): Promise<Reach | null> {
  const report = await Deno.makeTempDir({ prefix: "mutate-reach-" });
  try {
    const begun = performance.now();
    if (await fails(copy, [test], seconds, [`--coverage=${report}`])) return null;
    const took = (performance.now() - begun) / 1000;
    const { stdout } = await new Deno.Command(Deno.execPath(), {
      args: ["coverage", "--quiet", "--lcov", report],
      cwd: copy,
      stderr: "null",
    }).output();
    return { test, seconds: took, lines: linesRun(new TextDecoder().decode(stdout), copy) };
  } finally {
    await Deno.remove(report, { recursive: true });
  }
}

/** All tests but those of tasks, notebooks, attacks, the house and the door: those run longest and say least. */
async function reachesOf(copy: string, seconds: number): Promise<Reach[]> {
  const reaches: Reach[] = [];
  for await (const path of sources(join(copy, "tests"))) {
    const test = relative(copy, path);
    if (
      !/^tests\/(?!tasks\/|notebook\/|attacks\/|house|readme|public_api|mutate).*_test\.ts$/.test(
        test,
      )
    ) continue;
    const reach = await reachOf(copy, test, seconds);
    if (reach !== null) reaches.push(reach);
    else console.log(`left out, fails or takes more than ${seconds} s as it is: ${test}`);
  }
  return reaches;
}

async function* sources(dir: string): AsyncGenerator<string> {
  for await (const { name, isDirectory } of Deno.readDir(dir)) {
    const path = join(dir, name);
    if (isDirectory) yield* sources(path);
    else if (name.endsWith(".ts")) yield path;
  }
}

async function copyOf(root: string): Promise<string> {
  const copy = await Deno.makeTempDir({ prefix: "mutate-" });
  for (
    const name of [
      "lib",
      "tests",
      "data-demo",
      "notebooks",
      "README.md",
      "deno.json",
      "deno.lock",
      "package.json",
    ]
  ) {
    const { success } = await new Deno.Command("cp", { args: ["-r", join(root, name), copy] })
      .output();
    if (!success) throw new Error(`${name} could not be copied to ${copy}`);
  }
  return copy;
}

/** Whether tests notice: they fail, or take longer than they may. */
async function fails(
  copy: string,
  tests: readonly string[],
  seconds: number,
  options: readonly string[] = [],
): Promise<boolean> {
  const child = new Deno.Command(Deno.execPath(), {
    args: ["test", "-A", "--no-check", "--quiet", "--fail-fast", "--config", "tests/deno.json"]
      .concat(options, tests),
    cwd: copy,
    stdout: "null",
    stderr: "null",
    signal: AbortSignal.timeout(1000 * seconds),
  });
  return !(await child.output()).success;
}

if (import.meta.main) {
  const { values } = parseArgs({
    args: Deno.args,
    options: {
      folder: {
        type: "string",
        multiple: true,
        default: ["lib/statistics", "lib/studies", "lib/metrics", "lib/records"],
      },
      count: { type: "string", default: "50" },
      seed: { type: "string", default: "1" },
      tests: { type: "string", default: "10" },
      seconds: { type: "string", default: "60" },
      minutes: { type: "string", default: "Infinity" },
    },
  });
  const root = new URL("..", import.meta.url).pathname;
  const all: Mutant[] = [];
  for (const folder of values.folder) {
    const files: string[] = [];
    for await (const file of sources(join(root, folder))) files.push(relative(root, file));
    for (const file of files.sort()) {
      all.push(...mutantsOf(file, await Deno.readTextFile(join(root, file))));
    }
  }
  const order = randomStream(Number(values.seed)).shuffle(
    Int32Array.from(all, (_, index) => index),
  );
  const copy = await copyOf(root);
  const survivors: Mutant[] = [];
  const seconds = Number(values.seconds);
  let tried = 0;
  const end = Date.now() + 60_000 * Number(values.minutes);
  try {
    const reaches = await reachesOf(copy, seconds);
    for (const index of order) {
      if (tried === Number(values.count) || Date.now() > end) break;
      const mutant = all[index];
      const { file, line, at, before, after } = mutant;
      const near = nearestTests(reaches, file, line, Number(values.tests), seconds);
      tried++;
      const path = join(copy, file);
      const source = await Deno.readTextFile(path);
      await Deno.writeTextFile(
        path,
        source.slice(0, at) + after + source.slice(at + before.length),
      );
      // Twice their time and a start: a busy machine may not pass for a test that noticed.
      const may = 30 + 2 * near.reduce((sum, reach) => sum + reach.seconds, 0);
      const killed = near.length > 0 && await fails(copy, near.map(({ test }) => test), may);
      await Deno.writeTextFile(path, source);
      if (!killed) {
        survivors.push(mutant);
        const text = source.split("\n")[line - 1].trim();
        console.log(
          `survives${near.length > 0 ? "" : ", run by no test"}: ` +
            `${file}:${line} ${before} → ${after}   ${text}`,
        );
      }
    }
  } finally {
    await Deno.remove(copy, { recursive: true });
  }
  const killed = tried - survivors.length;
  console.log(
    `${killed} of ${tried} changes were seen (${
      (100 * killed / tried).toFixed(1)
    }%), of ${all.length} that can be made`,
  );
}
