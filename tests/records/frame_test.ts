import assert from "node:assert/strict";
import { frame } from "../../lib/records/frame.ts";

type Shown = { readonly "text/html": string; readonly "text/plain": string };

function show(made: unknown): Shown {
  return (made as Record<symbol, () => Shown>)[Symbol.for("Jupyter.display")]();
}

Deno.test("frame() keeps columns apart when rows bring their keys in another order", async () => {
  const made = await frame([{ a: 1, b: 2 }, { b: 4, a: 3 }]);
  assert.deepEqual(made.columns, ["a", "b"]);
  assert.deepEqual(made.values, [[1, 2], [3, 4]]);
});

Deno.test("frame() shows an escaped table with units, caption and a count of what is left out", async () => {
  const rows = Array.from(
    { length: 40 },
    (_, i) => ({ shoe: `<b>${i}`, rebound: i === 1 ? null : i / 3 }),
  );
  const shown = show(
    await frame(rows, {
      units: { rebound: "cm" },
      decimals: { rebound: 1 },
      caption: "A & B",
      most: 3,
    }),
  );
  assert.ok(!shown["text/html"].includes("<b>"));
  assert.ok(shown["text/html"].startsWith("<table><caption>A &amp; B</caption>"));
  assert.ok(
    shown["text/html"].includes('<th scope="col" style="text-align:right">rebound (cm)</th>'),
  );
  assert.ok(shown["text/html"].includes("and 37 more"));
  assert.equal(
    shown["text/plain"],
    "A & B\nshoe  rebound (cm)\n<b>0           0.0\n<b>1             –\n<b>2           0.7\nand 37 more",
  );
});

Deno.test("frame() of no rows has its columns, and a wrong column is named", async () => {
  assert.deepEqual((await frame([], { columns: ["a", "b"] })).columns, ["a", "b"]);
  await assert.rejects(
    frame([{ a: 1 }], { columns: ["c"] }),
    /Cannot show column "c": rows have a/,
  );
});

Deno.test("Nothing but frame() loads the data-frame library", async () => {
  for await (const file of Deno.readDir(new URL("../../lib/records", import.meta.url))) {
    const text = await Deno.readTextFile(
      new URL(`../../lib/records/${file.name}`, import.meta.url),
    );
    const imports = /(from|import\()\s*"danfojs"/.test(text.replace(/^import type .*$/gm, ""));
    assert.equal(imports, file.name === "frame.ts", file.name);
  }
});
