import { dirname } from "node:path";
import { checkNotebooks, notebookProblemText } from "./check_notebooks.ts";
import { clearNotebook } from "./clear_notebook.ts";
import { withFormattedCells } from "./format_cells.ts";
import {
  type Notebook,
  NotebookFormatError,
  notebookText,
  parseNotebook,
} from "./notebook_format.ts";

const HELP =
  `Checks notebooks before they are committed: shape, types, lint, layout. Or tidies them first.

  deno run -A lib/notebook/check_notebooks_main.ts [--clear] [FILE or FOLDER …]

  --clear   first takes outputs, counts and stray metadata out of each notebook,
            and lays its cells out as the formatter does
  --help    shows this

Without files it takes the folder notebooks. Exit 0 if all is well, 1 if not, 2 for a wrong call.
Example: deno run -A lib/notebook/check_notebooks_main.ts --clear notebooks/start-here.ipynb`;

/** Runs the command with these arguments; gives the exit code. */
export async function checkNotebooksMain(args: readonly string[]): Promise<number> {
  if (args.includes("--help")) {
    console.log(HELP);
    return 0;
  }
  const unknown = args.find((arg) => arg.startsWith("-") && arg !== "--clear");
  if (unknown !== undefined) {
    console.error(`Found the option ${unknown}, expected --clear or --help.`);
    return 2;
  }
  const places = args.filter((arg) => !arg.startsWith("-"));
  let paths: readonly string[];
  try {
    paths = await notebookPaths(places.length === 0 ? ["notebooks"] : places);
  } catch (error) {
    if (!(error instanceof Deno.errors.NotFound)) throw error;
    console.error(`Found no such file or folder. ${error.message}`);
    return 2;
  }
  if (paths.length === 0) {
    console.error(`Found no notebook in ${places.join(", ") || "notebooks"}.`);
    return 2;
  }
  if (args.includes("--clear")) {
    for (const path of paths) await clearFile(path);
  }
  const problems = await checkNotebooks(paths);
  for (const problem of problems) console.error(notebookProblemText(problem));
  const notebooks = `${paths.length} notebook${paths.length === 1 ? "" : "s"}`;
  console.log(
    problems.length === 0
      ? `Checked ${notebooks}: no problem.`
      : `Checked ${notebooks}: ${problems.length} problem${problems.length === 1 ? "" : "s"}.`,
  );
  return problems.length === 0 ? 0 : 1;
}

async function notebookPaths(places: readonly string[]): Promise<readonly string[]> {
  const paths: string[] = [];
  for (const place of places) {
    if (!(await Deno.stat(place)).isDirectory) paths.push(place);
    else {
      for await (const { name, isFile } of Deno.readDir(place)) {
        if (isFile && name.endsWith(".ipynb")) paths.push(`${place.replace(/\/$/, "")}/${name}`);
      }
    }
  }
  return paths.toSorted();
}

/** Rewrites a notebook only if clearing changes it; one that cannot be read is left for the check. */
async function clearFile(path: string): Promise<void> {
  const before = await Deno.readTextFile(path);
  let cleared: Notebook;
  try {
    cleared = clearNotebook(parseNotebook(before, { name: path }));
  } catch (error) {
    if (error instanceof NotebookFormatError) return;
    throw error;
  }
  const after = notebookText(await withFormattedCells(cleared, dirname(path)));
  if (after === before) return;
  const whole = `${path}.cleared`;
  await Deno.writeTextFile(whole, after);
  await Deno.rename(whole, path);
  console.log(`Cleared ${path}.`);
}

if (import.meta.main) Deno.exit(await checkNotebooksMain(Deno.args));
