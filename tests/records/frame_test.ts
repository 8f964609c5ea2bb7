import assert from "node:assert/strict";
import { frame, frameRows } from "../../lib/records/frame.ts";
import { showTable } from "../../lib/records/show_table.ts";

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
    shown["text/html"].includes(
      '<th scope="col" style="text-align:right">rebound (cm)</th>',
    ),
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

Deno.test("frame() sets estimates with their limits to the right and breaks neither them nor dates", async () => {
  const rows = [
    { date: "2025-07-01", icc: "0.97 (0.95 to 0.98)", shoe: "a 1" },
    { date: "2025-07-02", icc: "−0.10 (−0.30 to 0.10)", shoe: "2" },
    { date: "2025-07-03", icc: "no shoe was read twice, so nothing can be said of it", shoe: "b" },
  ];
  const html = show(await frame(rows))["text/html"];
  assert.match(html, /<td style="text-align:left;white-space:nowrap">2025-07-01/);
  assert.match(html, /<td style="text-align:right;white-space:nowrap">0\.97/);
  assert.match(html, /<td style="text-align:right">no shoe/);
  assert.match(html, /<th scope="row" style="text-align:left;font-weight:normal">a 1/); // what the row is about
});

Deno.test("frame() of no rows says in words that there is nothing to list", async () => {
  const empty = await frame([], { columns: ["shoe"], caption: "To be re-benched" });
  const shown = (empty as unknown as Record<symbol, () => Record<string, string>>)
    [Symbol.for("Jupyter.display")]();
  assert.equal(shown["text/html"], "<p>To be re-benched: nothing to list.</p>");
  assert.equal(shown["text/plain"], "To be re-benched: nothing to list.");
  const said = await frame([], { caption: "To be re-benched", none: "Every shoe has every term." });
  assert.equal(show(said)["text/html"], "<p>Every shoe has every term.</p>");
});

Deno.test("frame() gives a column's numbers equal decimals, signs to the right, and leaves long tails alone", async () => {
  const rows = [
    { score: 2, moved: "+5", share: 1 / 3, count: 3 },
    { score: -2.25, moved: "−3", share: 0.5, count: 12 },
  ];
  const html = show(await frame(rows))["text/html"];
  const cells = [...html.matchAll(/<td style="([^"]*)">([^<]*)/g)];
  assert.deepEqual(cells.map(([, , text]) => text), [
    "2.00",
    "+5",
    "0.333333",
    "3",
    "−2.25",
    "−3",
    "0.5",
    "12",
  ]);
  for (const [, style] of cells) assert.match(style, /text-align:right/);
});

Deno.test("showTable() shows what frame() shows, without a frame behind it", async () => {
  const rows = [{ shoe: "<b>", rebound: 1.25 }, { shoe: "b", rebound: null }];
  const options = { units: { rebound: "cm" }, caption: "A & B", most: 1 };
  assert.deepEqual(show(showTable(rows, options)), show(await frame(rows, options)));
  assert.throws(() => showTable(rows, { columns: ["c"] }), /Cannot show column "c"/);
});

Deno.test("showTable() says where the rest is, and sets figures with units and limits to the right", () => {
  const rows = [
    {
      shoe: "A 1",
      difference: "−2.4°",
      interval: "−4.2° to −0.6°",
      rank: "2.00 (5)",
      word: "differ",
    },
    {
      shoe: "B 2",
      difference: "0.8 cm",
      interval: "−2.0 cm to 3.6 cm",
      rank: "1.9 (7)",
      word: "alike",
    },
  ];
  const shown = showTable([...rows, ...rows], { most: 2, rest: "in all.json <b>" })[
    Symbol.for("Jupyter.display")
  ]();
  assert.ok(shown["text/html"].includes("and 2 more in all.json &lt;b&gt;"));
  assert.ok(shown["text/plain"].endsWith("and 2 more in all.json <b>"));
  for (const right of ["−2.4°", "−4.2° to −0.6°", "2.00 (5)"]) {
    assert.match(
      shown["text/html"],
      new RegExp(`text-align:right[^>]*>${right.replace(/[()]/g, "\\$&")}<`),
    );
  }
  assert.match(shown["text/html"], /text-align:left">differ</);
  assert.match(
    shown["text/html"],
    /<th scope="row" style="text-align:left;font-weight:normal">A 1</,
  );
});

type Kit = Awaited<ReturnType<typeof frame>>;
const mixed = [
  { maker: "a-b", court: "c", mass: 310.25 },
  { maker: "a", court: "b-c", mass: null },
  { maker: "a-b", court: "c", mass: 290 },
  { maker: "a", court: "c", mass: 300 },
];
const mixedFrame = () =>
  frame(mixed, { units: { mass: "g" }, decimals: { mass: 1 }, caption: "All" });

Deno.test("What frame() gives still shows itself as a table after every operation", async () => {
  const made = await mixedFrame();
  const column = (name: string) => made.column(name);
  const after: Readonly<Record<string, unknown>> = {
    head: made.head(2),
    tail: made.tail(1),
    sortValues: made.sortValues("mass"),
    query: made.query(column("mass").gt(295)),
    loc: made.loc({ columns: ["maker", "mass"] }),
    iloc: made.iloc({ rows: [0, 2] }),
    drop: made.drop({ columns: ["court"] }),
    rename: made.rename({ court: "surface" }),
    describe: made.describe(),
    transpose: made.T,
    dropNa: made.dropNa({ axis: 1 }),
    addColumn: made.addColumn("n", [1, 2, 3, 4]),
    groups: made.groupby(["maker"]),
    groupMean: made.groupby(["maker"]).col(["mass"]).mean(),
    getGroup: made.groupby(["maker"]).getGroup(["a"]),
    column: column("mass"),
    valueCounts: column("maker").valueCounts(),
  };
  for (const [name, value] of Object.entries(after)) {
    const shown = show(value);
    assert.match(shown["text/html"], /^<table>/, name);
    assert.doesNotMatch(shown["text/plain"], /NaN|undefined|\$|\[object/, name);
  }
  assert.equal(
    show(made.head(2))["text/plain"],
    "maker  court  mass (g)\na-b    c         310.3\na      b-c           –",
  );
  assert.equal(
    show(made.groupby(["maker", "court"]))["text/plain"],
    "Grouped by maker, court\nmaker  court  rows\na-b    c         3\na      c         1",
    "danfojs takes a-b, c and a, b-c for one group",
  );
  assert.match(show(column("maker").valueCounts())["text/plain"], /^a-b +2$/m);
  assert.match(show(column("mass").describe())["text/plain"], /^mean +300\.0833$/m);
});

Deno.test("frame().sortValues() puts what is missing last, in either direction", async () => {
  const made = await mixedFrame();
  const masses = (sorted: Kit) => frameRows(sorted).map(({ mass }) => mass);
  assert.deepEqual(masses(made.sortValues("mass")), [290, 300, 310.25, null]);
  assert.deepEqual(masses(made.sortValues("mass", { ascending: false })), [310.25, 300, 290, null]);
  assert.throws(() => made.sortValues("mass", { inplace: true }), /Cannot sort by mass in place/);
  assert.deepEqual(
    frameRows(made.sortValues("maker")).map(({ maker }) => maker),
    ["a", "a", "a-b", "a-b"],
  );
  const tied = await frame([2, 1, null, 1, 2].map((mass, row) => ({ row, mass })));
  const rowsBy = (ascending: boolean) =>
    frameRows(tied.sortValues("mass", { ascending })).map(({ row }) => row);
  assert.deepEqual([rowsBy(true), rowsBy(false)], [[1, 3, 0, 4, 2], [0, 4, 1, 3, 2]]);
});

Deno.test("frame() shows what it holds now, not what it held when it was made", async () => {
  const made = await mixedFrame();
  made.addColumn("n", [1, 2, 3, 4], { inplace: true });
  assert.match(show(made)["text/plain"], /^All\nmaker +court +mass \(g\) +n\n/);
  assert.deepEqual(frameRows(made)[1], { maker: "a", court: "b-c", mass: null, n: 2 });
});

Deno.test("frame() shows no minus before a 0 that rounding made", async () => {
  const rows = [{ change: -0.04 }, { change: -0.06 }, { change: 0 }];
  assert.equal(
    show(await frame(rows, { decimals: { change: 1 } }))["text/plain"].replace(/ +/g, ""),
    "change\n0.0\n−0.1\n0.0",
  );
});
