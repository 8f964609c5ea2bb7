import { dirname, join } from "node:path";
import type { NotebookProblem } from "./check_notebook_shape.ts";
import type { Notebook } from "./notebook_format.ts";
import { parameterNames } from "./parameter_statements.ts";

/** Where a line of the joined code comes from. */
type Origin = { readonly cell: number; readonly line: number };

/** The code cells of a notebook as one module; `origins[n]` is where its line n + 1 comes from. */
export type JoinedCode = { readonly text: string; readonly origins: readonly Origin[] };

/**
 * Joins the code cells in order into one module that can be checked as the kernel would run it.
 *
 * An import that an earlier cell holds word for word is commented out: repeating it is fine in a
 * notebook, and an error in a module. Parameters are assigned once, as a run does it, so that their
 * starting values narrow no type.
 */
export function joinedCode(notebook: Notebook): JoinedCode {
  const lines: string[] = [];
  const origins: Origin[] = [];
  const imported = new Set<string>();
  const add = (text: string, origin: Origin) => {
    lines.push(text);
    origins.push(origin);
  };
  notebook.cells.forEach((cell, index) => {
    if (cell.cell_type !== "code") return;
    const source = withoutRepeatedImports(cell.source, imported).split("\n");
    const last = { cell: index + 1, line: source.length };
    // a cell ends its statement; a module would read on into the next bracket or template
    if (lines.length > 0 && /^\s*[([`/+\-*]/.test(firstCode(source))) add(";", origins.at(-1)!);
    source.forEach((text, line) => add(text, { cell: index + 1, line: line + 1 }));
    if (cell.metadata.tags?.includes("parameters")) {
      for (const name of parameterNames(cell.source)) add(`${name} = JSON.parse("null");`, last);
    }
  });
  return { text: lines.join("\n") + "\n", origins };
}

function firstCode(source: readonly string[]): string {
  return source.find((line) => line.trim() !== "" && !/^\s*(\/\/|import\b)/.test(line)) ?? "";
}

function withoutRepeatedImports(source: string, imported: Set<string>): string {
  const statement =
    /^import\b(?:[^"'`;(]*?\bfrom\s*)?\s*(["'])[^"'\n]+\1(?:\s*with\s*\{[^}]*\})?;?/gm;
  return source.replace(statement, (found) => {
    const key = found.replace(/\s+/g, " ").replace(/;$/, "");
    if (imported.has(key)) return found.replace(/^/gm, "// ");
    imported.add(key);
    return found;
  });
}

/** A notebook on disk: its path, and what to call it in problems. */
export type NotebookFile = {
  readonly path: string;
  readonly name: string;
  readonly notebook: Notebook;
};

/**
 * Type checks and lints the code of notebooks that lie in one folder, in the words of `deno check`
 * and `deno lint`, with every place given as a cell and a line.
 *
 * Writes each notebook's code to a file beside it, where its imports mean the same, and takes that
 * file away again whatever happens.
 */
export async function notebookCodeProblems(
  files: readonly NotebookFile[],
): Promise<readonly NotebookProblem[]> {
  if (files.length === 0) return [];
  const folder = dirname(files[0].path);
  const siblings = files.map(({ path, name, notebook }) => {
    const mark = crypto.randomUUID().slice(0, 8);
    const stem = path.slice(folder.length).replace(/^[/\\]|\.ipynb$/g, "");
    return { path: join(folder, `${stem}-${mark}.nb.ts`), name, ...joinedCode(notebook) };
  });
  try {
    for (const { path, text } of siblings) {
      await Deno.writeTextFile(path, text, { createNew: true });
    }
    const lint = await lintProblems(siblings, folder);
    const readable = siblings.filter(({ path }) => !lint.unreadable.has(path));
    const types = await typeProblems(readable, folder);
    // an unused or repeated name is found by both; once is enough
    const at = ({ notebook, cell, line }: NotebookProblem) => `${notebook}:${cell}:${line}`;
    const typed = new Set(types.map(at));
    const lintOnly = lint.problems.filter((problem) =>
      !(/\((no-unused-vars|no-redeclare)\)$/.test(problem.message) && typed.has(at(problem)))
    );
    return [...types, ...lintOnly];
  } finally {
    for (const { path } of siblings) await Deno.remove(path).catch(ignoreMissing);
  }
}

type Sibling = JoinedCode & { readonly path: string; readonly name: string };

function ignoreMissing(error: unknown): void {
  if (!(error instanceof Deno.errors.NotFound)) throw error;
}

function placed(
  siblings: readonly Sibling[],
  address: string,
  line: number,
  message: string,
): NotebookProblem {
  const path = address.startsWith("file:")
    ? decodeURIComponent(new URL(address).pathname)
    : address;
  const sibling = siblings.find((one) =>
    one.path === path || Deno.build.os === "windows" &&
      path.endsWith(one.path.replaceAll("\\", "/"))
  );
  if (!sibling) return { notebook: path.replace(/^.*[/\\]/, ""), cell: null, line, message };
  const origin = sibling.origins[Math.min(line, sibling.origins.length) - 1];
  return {
    notebook: sibling.name,
    cell: origin?.cell ?? null,
    line: origin?.line ?? null,
    message,
  };
}

async function deno(args: readonly string[], folder: string) {
  const { code, stdout, stderr } = await new Deno.Command(Deno.execPath(), {
    args: [...args],
    cwd: folder,
    env: { NO_COLOR: "1" },
    stdin: "null",
    stdout: "piped",
    stderr: "piped",
  }).output();
  const text = (bytes: Uint8Array) => new TextDecoder().decode(bytes);
  return { failed: code !== 0, stdout: text(stdout), stderr: text(stderr) };
}

async function typeProblems(
  siblings: readonly Sibling[],
  folder: string,
): Promise<readonly NotebookProblem[]> {
  if (siblings.length === 0) return [];
  const { failed, stderr } = await deno(["check", ...siblings.map(({ path }) => path)], folder);
  if (!failed) return [];
  const found: NotebookProblem[] = [];
  // "TS2322 [ERROR]: message", the code, then "at file:///…:line:column"
  const block = /^(TS\d+) \[ERROR\]: ([\s\S]*?)^\s+at (file:\/\/\S+?):(\d+):\d+$/gm;
  for (const [, code, message, address, line] of stderr.matchAll(block)) {
    found.push(placed(siblings, address, Number(line), `${firstLine(message)} (${code})`));
  }
  // a check that failed for a reason this cannot read is still a check that failed
  if (found.length > 0) return found;
  const place = /at (file:\/\/\S+?):(\d+):\d+/.exec(stderr);
  const message = stderr.replace(/^Check .*$/gm, "").replace(/\n*Stack backtrace:[\s\S]*$/, "")
    .trim();
  return [
    place
      ? placed(siblings, place[1], Number(place[2]), firstLine(message))
      : { notebook: siblings.map(({ name }) => name).join(", "), cell: null, line: null, message },
  ];
}

type LintReport = {
  readonly diagnostics: readonly {
    readonly filename: string;
    readonly range: { readonly start: { readonly line: number } };
    readonly message: string;
    readonly code: string;
    readonly hint: string | null;
  }[];
  readonly errors: readonly { readonly file_path: string; readonly message: string }[];
};

async function lintProblems(siblings: readonly Sibling[], folder: string): Promise<{
  readonly problems: readonly NotebookProblem[];
  readonly unreadable: ReadonlySet<string>;
}> {
  const paths = siblings.map(({ path }) => path);
  const { stdout, stderr } = await deno(["lint", "--json", ...paths], folder);
  let report: LintReport;
  try {
    report = JSON.parse(stdout);
  } catch {
    const notebook = siblings.map(({ name }) => name).join(", ");
    const message = `the linter gave no report: ${stderr.trim()}`;
    return { problems: [{ notebook, cell: null, line: null, message }], unreadable: new Set() };
  }
  const found = report.diagnostics.map(({ filename, range, message, code, hint }) =>
    placed(siblings, filename, range.start.line, `${message}${hint ? `. ${hint}` : ""} (${code})`)
  );
  const broken = report.errors.map(({ file_path, message }) => {
    const line = Number(/:(\d+):\d+\s*$/.exec(message)?.[1] ?? 1);
    return placed(siblings, file_path, line, firstLine(message));
  });
  return {
    problems: [...broken, ...found],
    unreadable: new Set(report.errors.map(({ file_path }) => file_path)),
  };
}

function firstLine(message: string): string {
  return message.trim().split("\n")[0].replace(/^error:\s*/, "");
}
