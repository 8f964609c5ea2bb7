import assert from "node:assert/strict";
import { fileURLToPath } from "node:url";

const kit = fileURLToPath(new URL("..", import.meta.url));

// The door hands these out as namespaces, which the linter doesn't look into.
const rooms = [
  "lib/records_door.ts",
  ..."metrics statistics studies words charts".split(" ").map((room) => `lib/${room}/mod.ts`),
  ...Array.from(Deno.readDirSync(`${kit}lib/words`)).filter(({ isDirectory }) => isDirectory)
    .map(({ name }) => `lib/words/${name}/mod.ts`),
  "lib/notebook/show.ts",
  "lib/notebook/ask.ts",
];

async function denoDoc(...words: readonly string[]): Promise<{ out: string; notes: string }> {
  const { stdout, stderr } = await new Deno.Command(Deno.execPath(), {
    args: ["doc", ...words, ...rooms],
    cwd: kit,
    env: { NO_COLOR: "1" },
  }).output();
  return { out: new TextDecoder().decode(stdout), notes: new TextDecoder().decode(stderr) };
}

Deno.test("every name that the kit exports, and every type in it, has a doc comment and is public itself", async () => {
  const { notes } = await denoDoc("--lint");
  // Types of packages are documented by their packages.
  const ofPackages = /references private type '(DataFrame|PlotOptions|ZodType)'/;
  const faults = notes.split(/^(?=error\[)/m).filter((fault) => fault.startsWith("error["))
    .filter((fault) => !ofPackages.test(fault));
  assert.deepEqual(faults.map((fault) => fault.split("\n").slice(0, 2).join(" ")), []);
});

Deno.test("the first sentence of every exported function says something of its own", async () => {
  const { out } = await denoDoc("--json");
  type Entry = { name: string; declarations: { kind: string; jsDoc?: { doc?: string } }[] };
  const { nodes } = JSON.parse(out) as { nodes: Record<string, { symbols: Entry[] }> };
  const functions = Object.values(nodes).flatMap(({ symbols }) => symbols)
    .flatMap(({ name, declarations }) =>
      declarations.filter(({ kind }) => kind === "function")
        .map(({ jsDoc }) => ({ name, first: jsDoc?.doc?.split(/\n\n/)[0].trim() ?? "" }))
    );
  assert.ok(functions.length > 100, `only ${functions.length} functions were found`);
  const thin = functions.filter(({ first }) => first.split(/\s+/).length < 4);
  assert.deepEqual(thin.map(({ name }) => name), []);
  const repeated = [...Map.groupBy(functions, ({ first }) => first).values()]
    .filter((group) => new Set(group.map(({ name }) => name)).size > 1);
  assert.deepEqual(repeated.map((group) => group.map(({ name }) => name)), []);
});
