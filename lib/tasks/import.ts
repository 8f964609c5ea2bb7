import { createHash } from "node:crypto";
import { basename, join } from "node:path";
import { withoutControl } from "../records/control_characters.ts";
import { importBench } from "../records/import_bench.ts";
import { importMapping } from "../records/import_mapping.ts";
import { byReason, importReport, needsLook } from "../records/import_report.ts";
import { importSuggest, mappingText } from "../records/import_suggest.ts";
import { importWorkbook, type Workbook, WorkbookError } from "../records/import_workbook.ts";
import type { Problem } from "../records/types.ts";
import { writeResult } from "../records/write_result.ts";
import { writeWhole } from "../records/write_whole.ts";
import { mappingPage } from "../words/mapping_page.ts";
import { problemReport } from "./problem_report.ts";
import { resultHead } from "./result_head.ts";
import { CallError } from "./task_calls.ts";
import { prepareOut, runTask, shown, type TaskOrder, typed } from "./task_order.ts";

const SUGGESTED = "suggested-mapping.json";
const SHOWN = 12;

/** `deno task import`: a wide spreadsheet into a bench folder, with a list of all that was not taken. */
if (import.meta.main) await runTask(runImport);

async function runImport(order: TaskOrder): Promise<number> {
  const from = named(order, "from", "the spreadsheet");
  const workbook = await readWorkbook(order, from);
  const out = await prepareOut(order);
  if (order.options.suggest === true) return await suggest(order, workbook, out);

  const path = named(order, "mapping", "the mapping; --suggest writes a first one");
  const text = await readText(order, path);
  const file = basename(path);
  const problems: Problem[] = [];
  const mapping = importMapping(file, text, (problem) => problems.push(problem));
  if (mapping === null) {
    console.error(problemReport(problems));
    return 1;
  }
  const earlier = await earlierMapping(out);
  const result = await importBench(workbook, mapping, out, {
    source: { file, text },
    looked: order.options.yes === true,
    onWait: () =>
      console.log(`Another import into ${shown(order, out)} is running; this one waits.`),
  });
  const all = [...problems, ...result.problems];
  if (all.length > 0) console.error(problemReport(all));
  if (result.problems.length > 0) {
    console.error("Nothing was written.");
    return 1;
  }
  if (result.to_look_at.length > 0) {
    console.error(collapsedText(order, result.to_look_at, { path, out }));
    return 1;
  }
  const guesses = guessesIn(JSON.parse(text.replace(/^\uFEFF/, "")));
  const sha256 = createHash("sha256").update(text).digest("hex");
  const notes = [
    ...workbook.notes,
    ...(earlier === null || earlier === sha256 ? [] : [
      `${file} is not the mapping of the last import into this folder. Rows that the earlier one ` +
      "read otherwise are still there: if it was wrong about a shoe, a date or a metric, import into " +
      "a new folder",
    ]),
    ...result.unused,
    ...(guesses === 0 ? [] : [
      `${file}: ${guesses === 1 ? "1 guess is" : `${guesses} guesses are`} still marked; what ` +
      "nobody looked at was taken as it stands",
    ]),
  ];
  const report = importReport(result, { from: workbook.file, mapping: file, notes });
  await writeWhole(join(out, "import-report.md"), report);
  await writeResult(out, "import-report", {
    ...resultHead("import", {
      seed: Number(order.options.seed),
      data: {
        [workbook.file]: workbook.sha256,
        [file]: sha256,
      },
      warnings: [...notes, ...problems.map(({ found, column }) => `${column}: ${found}`)],
    }),
    from: workbook.file,
    mapping: file,
    guesses,
    counts: result.counts,
    tables: Object.fromEntries(
      Object.entries(result.tables).map(([table, { rows: _rows, ...sizes }]) => [table, sizes]),
    ),
    conflicts: result.conflicts,
    not_taken: result.not_taken,
    taken_in_part: result.taken_in_part,
    comments_not_taken: result.comments_not_taken,
    shoe_names: result.shoe_names,
    other_names: result.other_names,
    to_fill_in: result.to_fill_in,
    rows: result.rows,
    written: result.written,
  });
  for (const note of notes) console.log(note);
  say(order, result, out);
  return needsLook(result) ? 1 : 0;
}

/** What to do where rows became fewer shoes than they may be. */
function collapsedText(
  order: TaskOrder,
  found: readonly string[],
  { path, out }: { readonly path: string; readonly out: string },
): string {
  return [
    ...found.map((one) => `${one}.`),
    "Nothing was written. If the rows of a shoe are repeated readings of it, say so with --yes:",
    `  deno task import -- --from ${typed(order, order.options.from as string)} --mapping ${
      typed(order, path)
    } --out ${typed(order, out)} --yes`,
    'If they are different shoes, let the columns that tell them apart (maker, model, edition) hold "shoe"',
    "in the mapping, and import again.",
  ].join("\n");
}

/** The SHA-256 of the mapping that the folder's last import went by; null when there was none. */
async function earlierMapping(out: string): Promise<string | null> {
  try {
    const { mapping, data } = JSON.parse(await Deno.readTextFile(join(out, "import-report.json")));
    return typeof data?.[mapping] === "string" ? data[mapping] : null;
  } catch {
    return null; // no report, or one that somebody changed: nothing can be said of it
  }
}

/** How many marks of the suggestion are left in a mapping? Each goes when somebody has checked it. */
function guessesIn(value: unknown): number {
  if (typeof value !== "object" || value === null) return 0;
  const own = !Array.isArray(value) && "guess" in value ? 1 : 0;
  return Object.values(value).reduce((sum, part) => sum + guessesIn(part), own);
}

async function suggest(order: TaskOrder, workbook: Workbook, out: string): Promise<number> {
  const mapping = importSuggest(workbook);
  const path = join(out, SUGGESTED);
  const text = mappingText(mapping);
  await writeWhole(path, text);
  const page = path.replace(/json$/, "html");
  const read = importMapping(SUGGESTED, text, () => {});
  if (read === null) throw new Error("The suggested mapping is not one that can be read");
  await writeWhole(page, mappingPage(workbook, read));
  for (const note of workbook.notes) console.log(note);
  console.log(
    `wrote ${shown(order, path)} and ${
      shown(order, page)
    }\nOpen the page: it shows what each column is ` +
      'taken for and what would be lost. In the JSON every guess is marked with a key "guess". Copy ' +
      "it to a name of your own and correct it there (--suggest writes this file anew). Then:\n" +
      `deno task import -- --from ${typed(order, order.options.from as string)} ` +
      `--mapping YOUR-MAPPING.json --out ${typed(order, out)}`,
  );
  return 0;
}

function say(order: TaskOrder, result: Awaited<ReturnType<typeof importBench>>, out: string): void {
  const { counts, not_taken, conflicts, tables, written } = result;
  console.log(
    `${counts.read} filled cells: ${counts.headers} headers, ${counts.taken} taken, ` +
      `${counts.not_taken} not taken`,
  );
  for (const { sheet, rows, shoes } of result.rows) {
    console.log(
      `'${sheet}': ${rows} ${rows === 1 ? "row" : "rows"} → ${shoes} ${
        shoes === 1 ? "shoe" : "shoes"
      }`,
    );
  }
  for (const [file, { stood, added, filled, again }] of Object.entries(tables)) {
    console.log(
      `${file}: ${added} ${
        added === 1 ? "row" : "rows"
      } added to ${stood}, ${filled} filled in, ${again} again`,
    );
  }
  const groups = byReason(
    not_taken.filter(({ kind }) => kind === "unreadable" || kind === "conflict"),
  );
  for (const { sheet, reason, cells } of groups.slice(0, SHOWN)) {
    const some = cells.slice(0, 4).map(({ cell, content }) => `${cell} "${content}"`).join(", ");
    const more = cells.length > 4 ? ` and ${cells.length - 4} more` : "";
    console.log(withoutControl(`not taken: '${sheet}' ${some}${more}: ${reason}`));
  }
  if (groups.length > SHOWN) console.log(`and ${groups.length - SHOWN} other reasons`);
  if (conflicts.length > 0) console.log(`${conflicts.length} conflicts: the older value was kept`);
  for (const file of written) console.log(`wrote ${file}`);
  const there = typed(order, out);
  console.log(
    `Every cell not taken, and what is to be filled in: ${
      shown(order, join(out, "import-report.md"))
    }\n` +
      `Next: deno task inspect -- --data ${there}`,
  );
}

function named(order: TaskOrder, option: "from" | "mapping", what: string): string {
  const value = order.options[option];
  if (typeof value === "string") return value;
  throw new CallError(
    `Name ${what} with --${option}. For example: ` +
      "deno task import -- --from season.xlsx --mapping season.json --out my-bench",
  );
}

async function readWorkbook(order: TaskOrder, path: string): Promise<Workbook> {
  try {
    return await importWorkbook(path);
  } catch (error) {
    if (error instanceof WorkbookError) throw new CallError(error.message);
    throw unreadable(order, path, error);
  }
}

async function readText(order: TaskOrder, path: string): Promise<string> {
  try {
    return await Deno.readTextFile(path);
  } catch (error) {
    throw unreadable(order, path, error);
  }
}

function unreadable(order: TaskOrder, path: string, error: unknown): CallError {
  return new CallError(`${shown(order, path)} can't be read (${(error as Error).name}).`);
}
