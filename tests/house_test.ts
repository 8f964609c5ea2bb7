import assert from "node:assert/strict";
import { dirname, join, relative } from "node:path";
import { lib, sources } from "./sources.ts";

// Which folders may a file of this folder import from, besides its own?
const mayImport: Readonly<Record<string, readonly string[]>> = {
  metrics: [],
  statistics: [],
  records: ["metrics", "statistics"],
  studies: ["metrics", "statistics", "records"],
  words: ["studies", "metrics", "statistics", "records"],
  charts: ["words", "studies", "metrics", "statistics", "records"],
  notebook: ["charts", "words", "studies", "metrics", "statistics", "records"],
  tasks: ["notebook", "charts", "words", "studies", "metrics", "statistics", "records"],
};

// What every room may import: they look at nothing of ours but each other.
const leaves = new Set(["options.ts", "similar_names.ts", "colour_sight.ts", "markup_text.ts"]);

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

type Edges = ReadonlyMap<string, readonly string[]>;

async function importsOf(files: readonly string[]): Promise<Edges> {
  const edges = new Map<string, string[]>();
  for (const file of files) {
    const text = await Deno.readTextFile(file);
    const targets = [...text.matchAll(/^(?:import|export)\b[^;]*?from "(\.[^"]+)"/gm)];
    edges.set(file, targets.map(([, target]) => join(dirname(file), target)));
  }
  return edges;
}

/** A way from a file back to itself, if there is one. */
function circleThrough(start: string, edges: Edges): readonly string[] | null {
  const seen = new Set<string>();
  const ways: (readonly string[])[] = [[start]];
  for (let way = ways.pop(); way !== undefined; way = ways.pop()) {
    for (const next of edges.get(way.at(-1)!) ?? []) {
      if (next === start) return way;
      if (!seen.has(next)) {
        seen.add(next);
        ways.push([...way, next]);
      }
    }
  }
  return null;
}

Deno.test("no file of lib imports itself by way of others, types included", async () => {
  const files = await sources(lib);
  const edges = await importsOf(files);
  const circles = files.flatMap((file) => {
    const way = circleThrough(file, edges);
    return way === null ? [] : [way.map((path) => relative(lib, path)).join(" → ")];
  });
  assert.deepEqual(circles, []);
  const loop = new Map([["a", ["b"]], ["b", ["c"]], ["c", ["a"]]]);
  assert.deepEqual(circleThrough("a", loop), ["a", "b", "c"]);
});

const mostLines = 100;
const mostBranches = 20;

type Sized = { readonly name: string; readonly lines: number; branches: number };

/** Every function of a file: its lines, inner functions included, and its own branches without those. */
function functionsIn(file: string, text: string): Sized[] {
  const found: Sized[] = [];
  const open: Sized[] = [];
  // deno-lint-ignore no-explicit-any
  const enter = (node: any) => {
    const [from, to] = node.range;
    const name = node.id?.name ?? node.parent?.id?.name ?? node.parent?.key?.name ?? "a function";
    open.push({ name, lines: text.slice(from, to).split("\n").length, branches: 0 });
  };
  const leave = () => void found.push(open.pop()!);
  const branch = () => void (open.length > 0 && open.at(-1)!.branches++);
  const plugin: Deno.lint.Plugin = {
    name: "sizes",
    rules: {
      sizes: {
        create: () => ({
          FunctionDeclaration: enter,
          "FunctionDeclaration:exit": leave,
          FunctionExpression: enter,
          "FunctionExpression:exit": leave,
          ArrowFunctionExpression: enter,
          "ArrowFunctionExpression:exit": leave,
          IfStatement: branch,
          ConditionalExpression: branch,
          ForStatement: branch,
          ForOfStatement: branch,
          ForInStatement: branch,
          WhileStatement: branch,
          DoWhileStatement: branch,
          CatchClause: branch,
          SwitchCase: ({ test }) => void (test !== null && branch()),
          LogicalExpression: ({ operator }) => void (operator !== "??" && branch()),
        }),
      },
    },
  };
  Deno.lint.runPlugin(plugin, file, text);
  return found;
}

Deno.test(`no function of lib has more than ${mostLines} lines or ${mostBranches} branches`, async () => {
  const beyond: string[] = [];
  let functions = 0;
  for (const file of await sources(lib)) {
    for (const { name, lines, branches } of functionsIn(file, await Deno.readTextFile(file))) {
      functions++;
      if (lines > mostLines || branches > mostBranches) {
        beyond.push(`${relative(lib, file)} ${name}`);
      }
    }
  }
  assert.ok(functions > 1000, `only ${functions} functions were looked at`);
  assert.deepEqual(beyond, []);
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
