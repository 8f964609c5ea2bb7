import assert from "node:assert/strict";
import { dirname, join, relative } from "node:path";

const lib = new URL("../lib/", import.meta.url).pathname;

// Which folders may a file of this folder import from, besides its own?
const mayImport: Readonly<Record<string, readonly string[]>> = {
  metrics: [],
  statistics: [],
  records: ["metrics"],
  studies: ["metrics", "statistics", "records"],
  words: ["studies", "metrics", "statistics", "records"],
  charts: ["words", "studies", "metrics", "statistics", "records"],
  notebook: ["charts", "words", "studies", "metrics", "statistics", "records"],
  tasks: ["notebook", "charts", "words", "studies", "metrics", "statistics", "records"],
};

// What every room may import: they look at nothing of ours but each other.
const leaves = new Set(["options.ts", "similar_names.ts", "colour_sight.ts"]);

async function sources(dir: string): Promise<string[]> {
  const files: string[] = [];
  for await (const entry of Deno.readDir(dir)) {
    const path = join(dir, entry.name);
    if (entry.isDirectory) files.push(...await sources(path));
    else if (entry.name.endsWith(".ts")) files.push(path);
  }
  return files;
}

Deno.test("imports in lib point one way: tasks, notebook, charts, words, studies, then the rest", async () => {
  const files = await sources(lib);
  assert.ok(files.length > 50, `only ${files.length} files were looked at`);
  const against: string[] = [];
  let imports = 0;
  for (const file of files) {
    const folder = relative(lib, file).split("/")[0];
    const text = await Deno.readTextFile(file);
    for (const [, target] of text.matchAll(/^(?:import|export)\b[^;]*?from "(\.[^"]+)"/gm)) {
      const place = relative(lib, join(dirname(file), target));
      if (place.startsWith("..")) continue;
      imports++;
      const other = place.split("/")[0];
      if (folder === other || folder === "mod.ts" || folder === "records_door.ts") continue;
      if (leaves.has(other)) continue;
      if (!mayImport[folder]?.includes(other)) against.push(`${relative(lib, file)} → ${place}`);
    }
  }
  assert.ok(imports > 100, `only ${imports} imports were found`);
  assert.deepEqual(against, []);
});

Deno.test("only frame.ts loads the data-frame library, and only when a frame is shown", async () => {
  for (const file of await sources(lib)) {
    const text = await Deno.readTextFile(file);
    const loads = /^(?:import|export) (?!type\b)[^;]*?from "danfojs"/m.test(text);
    assert.ok(!loads, `${relative(lib, file)} imports danfojs when it is loaded itself`);
    if (/import\("danfojs"\)/.test(text)) assert.ok(file.endsWith("/frame.ts"), file);
  }
});

async function json(path: string) {
  return JSON.parse(await Deno.readTextFile(new URL(`../${path}`, import.meta.url)));
}

Deno.test("package.json holds dependency overrides and nothing else, the same for the tests", async () => {
  assert.deepEqual(Object.keys(await json("package.json")), ["overrides"]);
  assert.deepEqual(await json("tests/package.json"), await json("package.json"));
});

Deno.test("nothing stands at the top level that the layout does not name", async () => {
  const named = new Set(
    "README.md CHANGELOG.md DEVELOPERS.md LICENSE deno.json deno.lock package.json notebooks lib tests data-demo"
      .split(" "),
  );
  const git = new Deno.Command("git", {
    args: ["ls-files"],
    cwd: new URL("..", import.meta.url).pathname,
  });
  const { stdout, success } = await git.output();
  if (!success) return; // a copy without its history has no list of committed files
  const tops = new Set(
    new TextDecoder().decode(stdout).trim().split("\n").map((path) => path.split("/")[0]),
  );
  assert.deepEqual([...tops].filter((top) => !named.has(top) && !top.startsWith(".")), []);
});

Deno.test("packages that only tests use stand in the tests' own configuration, all others alike in both", async () => {
  const { imports } = await json("deno.json");
  const ofTests = await json("tests/deno.json");
  const more = "ajv axe-core fast-check playwright-core".split(" ");
  const expected = { ...imports, "bench-to-court": "../lib/mod.ts" };
  const shared = Object.fromEntries(
    Object.entries(ofTests.imports).filter(([name]) => !more.includes(name)),
  );
  assert.deepEqual(shared, expected);
  assert.deepEqual(more.filter((name) => !ofTests.imports[name]), []);
  const [lock, testsLock] = [await json("deno.lock"), await json("tests/deno.lock")];
  for (const [name, found] of Object.entries(lock.npm)) {
    assert.deepEqual(testsLock.npm[name], found);
  }
  for (const name of more.slice(1)) {
    assert.ok(!Object.keys(lock.npm).some((one) => one.startsWith(`${name}@`)), name);
  }
});
