import assert from "node:assert/strict";
import { checkNotebooks, notebookProblemText } from "../../lib/notebook/check_notebooks.ts";
import { joinedCode } from "../../lib/notebook/check_notebook_code.ts";
import { notebookShapeProblems } from "../../lib/notebook/check_notebook_shape.ts";
import { checkNotebooksMain } from "../../lib/notebook/check_notebooks_main.ts";
import { clearNotebook, NOTEBOOK_METADATA } from "../../lib/notebook/clear_notebook.ts";
import { type Notebook, notebookText, parseNotebook } from "../../lib/notebook/notebook_format.ts";
import { parameterNames, parametersProblem } from "../../lib/notebook/parameter_statements.ts";

type Draft = { source: string; tags?: string[]; prose?: boolean; id?: string };

function notebook(cells: readonly Draft[]): Notebook {
  return {
    cells: cells.map(({ source, tags, prose, id }, index) => ({
      ...(prose
        ? { cell_type: "markdown" as const }
        : { cell_type: "code" as const, execution_count: null, outputs: [] }),
      id: id ?? `c${index + 1}`,
      metadata: tags ? { tags } : {},
      source,
    })),
    metadata: NOTEBOOK_METADATA,
    nbformat: 4,
    nbformat_minor: 5,
  };
}

const PARAMETERS = { source: `let quarter = "2026Q3";`, tags: ["parameters"] };
const GOOD = [{ source: "# Title", prose: true }, PARAMETERS, { source: "quarter.length;" }];

function shape(file: unknown): readonly string[] {
  const text = typeof file === "string" ? file : JSON.stringify(file);
  return notebookShapeProblems(text, "a.ipynb").map(notebookProblemText);
}

async function inFolder<T>(
  files: Readonly<Record<string, string>>,
  use: (folder: string) => Promise<T>,
): Promise<T> {
  const folder = await Deno.makeTempDir();
  try {
    for (const [name, text] of Object.entries(files)) {
      await Deno.writeTextFile(`${folder}/${name}`, text);
    }
    return await use(folder);
  } finally {
    await Deno.remove(folder, { recursive: true });
  }
}

/** What the command prints and returns, without printing it. */
async function command(args: readonly string[]) {
  const { log, error } = console;
  const lines: string[] = [];
  console.log = console.error = (line: string) => void lines.push(line);
  try {
    return { code: await checkNotebooksMain(args), text: lines.join("\n") };
  } finally {
    console.log = log;
    console.error = error;
  }
}

Deno.test("a cleared notebook with parameters first has no problem of shape", () => {
  assert.deepEqual(shape(notebookText(notebook(GOOD))), []);
});

Deno.test("notebookShapeProblems() names outputs, counts, metadata, ids and versions, with the cell", () => {
  const cells = JSON.parse(notebookText(notebook(GOOD))).cells;
  cells[1].execution_count = 3;
  cells[1].outputs = [{ output_type: "stream", name: "stdout", text: "x" }];
  cells[2].metadata = { collapsed: true, tags: ["sumary"] };
  cells[2].id = "c1";
  cells[0].id = "no spaces";
  const found = shape({
    cells,
    metadata: {
      kernelspec: { ...NOTEBOOK_METADATA.kernelspec, name: "other" },
      language_info: { ...NOTEBOOK_METADATA.language_info, version: "6.0.3" },
      title: "x",
    },
    nbformat: 4,
    nbformat_minor: 4,
  });
  const expected = [
    /^a\.ipynb, cell 1: id: expected 1 to 64 letters/,
    /^a\.ipynb, cell 2: execution_count: expected null/,
    /^a\.ipynb, cell 2: outputs: expected no outputs/,
    /^a\.ipynb, cell 3: metadata\.tags\.0: .*"parameters"/,
    /^a\.ipynb, cell 3: metadata: .*"collapsed"/,
    /^a\.ipynb: metadata\.kernelspec\.name: .*"bench-to-court"/,
    /^a\.ipynb: metadata\.language_info: .*"version"/,
    /^a\.ipynb: metadata: .*"title"/,
    /^a\.ipynb: nbformat_minor: .*5/,
  ];
  for (const pattern of expected) {
    assert.ok(found.some((line) => pattern.test(line)), `${pattern} in\n${found.join("\n")}`);
  }
  assert.equal(found.length, expected.length, found.join("\n"));
});

Deno.test("two cells with one id are a problem of the second", () => {
  const twice = notebook([PARAMETERS, { source: "1;", id: "c1" }]);
  assert.deepEqual(shape(JSON.stringify(twice)), ['a.ipynb, cell 2: id: "c1" is taken by cell 1']);
});

Deno.test("what is no notebook at all is said, not thrown", () => {
  assert.match(shape("{")[0], /^a\.ipynb: not JSON/);
  assert.match(shape("null")[0], /^a\.ipynb: /);
  assert.match(shape({ cells: [null, 3, { cell_type: "code" }] })[0], /cell 1/);
});

Deno.test("parameters must be tagged once, on the first code cell, with let only", () => {
  const problems = (cells: Draft[]) => shape(JSON.stringify(notebook(cells)));
  assert.match(problems([{ source: "1;" }])[0], /no cell is tagged "parameters"/);
  assert.match(
    problems([{ source: "1;" }, PARAMETERS])[0],
    /cell 2: tagged "parameters" but the first code cell is cell 1/,
  );
  assert.match(problems([PARAMETERS, PARAMETERS])[0], /cell 2: a second cell tagged "parameters"/);
  assert.match(
    problems([{ source: "let a = 1;\n\nconst b = 2;", tags: ["parameters"] }])[0],
    /cell 1 line 3: found "const b = 2", expected only "let name = value;"/,
  );
  assert.match(
    problems([{ source: "// none", tags: ["parameters"] }])[0],
    /without a parameter/,
  );
});

Deno.test("parametersProblem() reads past comments, strings, brackets and lines that go on", () => {
  const source =
    `// which quarter; const x\nlet quarter = "a; const b";\n/* const c */ let shoes: string[] = [\n` +
    `  "d;",\nconst1,\n];\nlet note =\n  \`e\nconst f\`\nlet last = 'g'`;
  assert.equal(parametersProblem(source), null);
  assert.deepEqual(parameterNames(source), ["quarter", "shoes", "note", "last"]);
  assert.equal(parametersProblem("let a = 1\nconsole.log(a)")?.line, 2);
  assert.equal(
    parametersProblem(`let a = 1; "use strict"`)?.message,
    `found ""use strict"", expected only "let name = value;" here`,
  );
});

Deno.test("joinedCode() knows where every line comes from and comments repeated imports out", () => {
  const { text, origins } = joinedCode(notebook([
    { source: "prose", prose: true },
    PARAMETERS,
    { source: `import { join } from "node:path";\njoin("a")` },
    { source: `import {\n  basename,\n} from "node:path";\n(1 + 1).toFixed()` },
    { source: `import { join } from "node:path";\nbasename("b")` },
  ]));
  const lines = text.split("\n");
  assert.equal(lines.filter((line) => line.startsWith("import")).length, 2);
  assert.ok(lines.includes(`// import { join } from "node:path";`));
  assert.equal(origins.length, lines.length - 1);
  assert.deepEqual(origins[lines.indexOf(`join("a")`)], { cell: 3, line: 2 });
  assert.deepEqual(origins[lines.indexOf("(1 + 1).toFixed()")], { cell: 4, line: 4 });
  assert.deepEqual(origins[lines.indexOf(`basename("b")`)], { cell: 5, line: 2 });
});

Deno.test("checkNotebooks() gives type and lint errors by notebook, cell and line, and leaves no file", async () => {
  const bad = notebook([
    { source: "# Bad", prose: true },
    PARAMETERS,
    { source: `const shoes = 3;\n\nconst rubber: number = quarter;\nrubber + shoes;` },
    { source: `debugger;\nconst shoes = 4;` },
  ]);
  const good = notebook([
    {
      source: `let size: "eu" | "us" = "eu";\nlet rule: string | null = null;`,
      tags: ["parameters"],
    },
    {
      source: `import { join } from "node:path";\nconst a = await Promise.resolve(join("x", size))`,
    },
    {
      source: `import { join } from "node:path";\n[a].map((one) => join(one, rule?.trim() ?? ""))`,
    },
    { source: `size === "us";` },
  ]);
  const files = { "bad.ipynb": notebookText(bad), "good.ipynb": notebookText(good) };
  await inFolder(files, async (folder) => {
    const problems = await checkNotebooks([`${folder}/bad.ipynb`, `${folder}/good.ipynb`]);
    const lines = problems.map(notebookProblemText);
    const find = (pattern: RegExp) =>
      assert.ok(lines.some((line) => pattern.test(line)), `${pattern} in\n${lines.join("\n")}`);
    find(
      /^bad\.ipynb, cell 3 line 3: Type 'string' is not assignable to type 'number'\. \(TS2322\)/,
    );
    find(/^bad\.ipynb, cell 3 line 1: Cannot redeclare .*'shoes'.*\(TS2451\)/);
    find(/^bad\.ipynb, cell 4 line 2: Cannot redeclare .*'shoes'.*\(TS2451\)/);
    find(/^bad\.ipynb, cell 4 line 1: .*\(no-debugger\)/);
    // good.ipynb: types hold across cells, though two of its cells end without a semicolon
    assert.deepEqual(
      lines.filter((line) => line.startsWith("good")).map((line) => line.split(",")[1]),
      [" cell 2 line 2: laid out differently", " cell 3 line 2: laid out differently"],
    );
    assert.equal(lines.length, 6, lines.join("\n"));
    assert.deepEqual(
      [...Deno.readDirSync(folder)].map(({ name }) => name).toSorted(),
      ["bad.ipynb", "good.ipynb"],
    );
  });
});

Deno.test("a syntax error names its cell, and the other notebooks are still type checked", async () => {
  const broken = notebook([PARAMETERS, { source: "quarter.trim();\nconst = ;" }]);
  const wrong = notebook([PARAMETERS, { source: "quarter.nothing;" }]);
  const files = { "broken.ipynb": notebookText(broken), "wrong.ipynb": notebookText(wrong) };
  await inFolder(files, async (folder) => {
    const problems = await checkNotebooks([`${folder}/broken.ipynb`, `${folder}/wrong.ipynb`]);
    const lines = problems.map(notebookProblemText);
    assert.equal(lines.length, 2, lines.join("\n"));
    assert.match(lines[0], /^broken\.ipynb, cell 2 line 2: SyntaxError/);
    assert.match(lines[1], /^wrong\.ipynb, cell 2 line 1: Property 'nothing' does not exist/);
    assert.equal([...Deno.readDirSync(folder)].length, 2);
  });
});

Deno.test("an import that cannot be found is a problem, not a silent pass", async () => {
  const lost = notebook([PARAMETERS, {
    source: `import { gone } from "./gone.ts";\ngone(quarter);`,
  }]);
  await inFolder({ "lost.ipynb": notebookText(lost) }, async (folder) => {
    const lines = (await checkNotebooks([`${folder}/lost.ipynb`])).map(notebookProblemText);
    assert.equal(lines.length, 1);
    assert.match(lines[0], /^lost\.ipynb, cell 2 line 1: .*gone\.ts/);
  });
});

Deno.test("clearNotebook() takes outputs, counts, injected cells and stray metadata, and nothing else", () => {
  const run: Notebook = {
    ...notebook([...GOOD, { source: "quarter = 1", tags: ["injected-parameters"] }]),
    metadata: { ...NOTEBOOK_METADATA, title: "x" },
    nbformat_minor: 4,
  };
  const dirty: Notebook = {
    ...run,
    cells: run.cells.map((cell) =>
      cell.cell_type === "code"
        ? {
          ...cell,
          execution_count: 7,
          outputs: [{ output_type: "stream", name: "stdout", text: "x" }],
          metadata: { ...cell.metadata, collapsed: true },
        }
        : { ...cell, attachments: { "a.png": { "image/png": "AAAA" } } }
    ),
  };
  const text = notebookText(clearNotebook(dirty));
  assert.deepEqual(shape(text), []);
  const cleared = parseNotebook(text);
  assert.deepEqual(cleared.cells.map(({ source }) => source), GOOD.map(({ source }) => source));
  assert.deepEqual(cleared.cells[1].metadata, { tags: ["parameters"] });
  assert.ok("attachments" in cleared.cells[0]);
  assert.equal(notebookText(clearNotebook(cleared)), text); // clearing twice changes nothing
});

Deno.test("the command lists all problems and exits 1; with --clear it clears first and exits 0", async () => {
  const untidy = [...GOOD.slice(0, 2), { source: "quarter . length" }];
  const cells = JSON.parse(notebookText(notebook(untidy))).cells;
  cells[1].execution_count = 1;
  cells[2].execution_count = 2;
  const dirty = { cells, metadata: NOTEBOOK_METADATA, nbformat: 4, nbformat_minor: 5 };
  await inFolder({ "a.ipynb": JSON.stringify(dirty) }, async (folder) => {
    const before = await command([folder]);
    assert.equal(before.code, 1);
    assert.equal(before.text.match(/execution_count: expected null/g)?.length, 2);
    assert.match(before.text, /cell 3 line 1: laid out differently, expected "quarter\.length;"/);
    assert.match(before.text, /Checked 1 notebook: 3 problems\.$/);
    const after = await command(["--clear", folder]);
    assert.equal(after.code, 0, after.text);
    assert.equal(
      await Deno.readTextFile(`${folder}/a.ipynb`),
      notebookText(clearNotebook(notebook(GOOD))),
    );
    assert.equal([...Deno.readDirSync(folder)].length, 1);
  });
});

Deno.test("the command refuses an unknown option, a missing file and a folder without notebooks", async () => {
  assert.equal((await command(["--clean"])).code, 2);
  assert.equal((await command(["no-such-folder"])).code, 2);
  await inFolder({ "a.txt": "" }, async (folder) => {
    assert.equal((await command([folder])).code, 2);
  });
  assert.equal((await command(["--help"])).code, 0);
});
