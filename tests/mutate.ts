/**
 * Would the tests notice a slip? Changes one token of the kit at a time, in a copy, runs the nearest tests
 * and lists the changes that none of them saw.
 *
 *     deno task mutate --folder lib/statistics --folder lib/studies --count 100 --seed 7
 *
 * A test that fails on the unchanged copy sees nothing, so it is left out and named. The same seed and
 * sources give the same changes; `--minutes` ends a run early, with as many as it tried. A survivor is
 * either a gap in the tests or a change that makes no difference; which of the two, a reader decides.
 */
import { dirname, join, relative } from "node:path";
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

/**
 * The tests that reach each file by imports, nearest first.
 *
 * Nearest is the test of the same name, then those that name something the file exports, then those that
 * name an export of what imports it, and so on; imports alone say little, as most tests take the door.
 */
export async function nearestTests(
  root: string,
  most: number,
): Promise<(file: string) => readonly string[]> {
  const texts = new Map<string, string>();
  const importersOf = new Map<string, string[]>();
  for (const folder of ["lib", "tests", "data-demo"]) {
    for await (const path of sources(join(root, folder))) {
      const text = await Deno.readTextFile(path);
      const file = relative(root, path);
      texts.set(file, text);
      for (const [, target] of text.matchAll(/^(?:import|export)\b[^;]*?from "(\.[^"]+)"/gm)) {
        const imported = relative(root, join(dirname(path), target));
        importersOf.set(imported, [...importersOf.get(imported) ?? [], file]);
      }
    }
  }
  // The house, the door and the pages are looked at whole: they run longest and say least.
  const isNear = (file: string) =>
    /_test\.ts$/.test(file) && !/^tests\/(tasks|notebook|[a-z_]+_test)/.test(file);
  const words = new Map(
    [...texts].filter(([file]) => isNear(file))
      .map(([file, text]) => [file, new Set(text.match(/[A-Za-z_$][\w$]*/g))]),
  );
  return (file) => {
    const steps = new Map([[file, 0]]);
    for (const at of steps.keys()) {
      for (const next of importersOf.get(at) ?? []) {
        if (!steps.has(next)) steps.set(next, steps.get(at)! + 1);
      }
    }
    const named = new Map<string, number>();
    for (const [at, away] of steps) {
      const names = exportsOf(texts.get(at) ?? "");
      for (const [test, text] of words) {
        if (!named.has(test) && names.some((name) => text.has(name))) named.set(test, away);
      }
    }
    const sameName = (test: string) =>
      test.endsWith(file.replace(/^lib\//, "").replace(/\.ts$/, "_test.ts")) ? 0 : 1;
    const away = (test: string) => named.get(test) ?? Infinity;
    return [...steps.keys()].filter(isNear)
      .sort((a, b) =>
        sameName(a) - sameName(b) || compare(away(a), away(b)) ||
        compare(steps.get(a)!, steps.get(b)!) || (a < b ? -1 : 1)
      )
      .slice(0, most);
  };
}

function compare(a: number, b: number): number {
  return a < b ? -1 : a > b ? 1 : 0;
}

function exportsOf(text: string): string[] {
  return [...text.matchAll(/^export (?:async )?(?:function\*?|const|class) (\w+)/gm)]
    .map(([, name]) => name);
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
async function fails(copy: string, tests: readonly string[], seconds: number): Promise<boolean> {
  const child = new Deno.Command(Deno.execPath(), {
    args: ["test", "-A", "--no-check", "--quiet", "--fail-fast", "--config", "tests/deno.json"]
      .concat(tests),
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
      tests: { type: "string", default: "6" },
      seconds: { type: "string", default: "180" },
      minutes: { type: "string", default: "Infinity" },
    },
  });
  const root = new URL("..", import.meta.url).pathname;
  const nearest = await nearestTests(root, Number(values.tests));
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
  const sound = new Map<string, boolean>();
  const isSound = async (test: string) => {
    if (!sound.has(test)) {
      // Half the time: a busy machine may not pass for a test that noticed.
      sound.set(test, !await fails(copy, [test], seconds / 2));
      if (!sound.get(test)) console.log(`left out, fails or is slow as it is: ${test}`);
    }
    return sound.get(test)!;
  };
  let tried = 0;
  const end = Date.now() + 60_000 * Number(values.minutes);
  try {
    for (const index of order) {
      if (tried === Number(values.count) || Date.now() > end) break;
      const mutant = all[index];
      const tests: string[] = [];
      for (const test of nearest(mutant.file)) if (await isSound(test)) tests.push(test);
      tried++;
      const path = join(copy, mutant.file);
      const source = await Deno.readTextFile(path);
      const { at, before, after } = mutant;
      await Deno.writeTextFile(
        path,
        source.slice(0, at) + after + source.slice(at + before.length),
      );
      const killed = tests.length > 0 && await fails(copy, tests, seconds);
      await Deno.writeTextFile(path, source);
      if (!killed) {
        survivors.push(mutant);
        const line = source.split("\n")[mutant.line - 1].trim();
        console.log(`survives: ${mutant.file}:${mutant.line} ${before} → ${after}   ${line}`);
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
