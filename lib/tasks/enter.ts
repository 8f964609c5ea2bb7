import { isCalendarDate } from "../records/dates.ts";
import type { SessionSaid } from "../records/entered_rows.ts";
import { enterSheet, type SheetEntry } from "../records/enter_sheet.ts";
import { importWorkbook, type Workbook, WorkbookError } from "../records/import_workbook.ts";
import { problemReport } from "./problem_report.ts";
import { CallError } from "./task_calls.ts";
import { runTask, shown, type TaskOrder, typed } from "./task_order.ts";

const SHOWN = 12;

/** `deno task enter`: a filled bench sheet, or filled rating cards, into the bench. */
if (import.meta.main) await runTask(enter);

async function enter(order: TaskOrder): Promise<number> {
  const sheet = named(order, "sheet", "the filled sheet");
  const dir = named(
    order,
    "data",
    "the bench folder; a sheet goes into no other than the one you name",
  );
  const said = saidOf(order);
  const workbook = await readWorkbook(order, sheet);
  const write = order.options.yes === true;
  const entry = await enterSheet(dir, workbook, { said, scratch: order.scratch, write });
  for (const note of workbook.notes) console.log(note);
  if (entry.problems.length > 0) {
    console.error(problemReport(entry.problems));
    console.error("Nothing was written: correct the sheet and enter it again.");
    return 1;
  }
  console.log(lines(order, entry, { sheet, dir, write }).join("\n"));
  return 0;
}

function lines(
  order: TaskOrder,
  { added, changed, again, blank, odd, session_id, written }: SheetEntry,
  { sheet, dir, write }: { readonly sheet: string; readonly dir: string; readonly write: boolean },
): string[] {
  const verb = write ? "Added" : "Would add";
  const many = (count: number, one: string) => `${count} ${one}${count === 1 ? "" : "s"}`;
  const into = session_id === null ? "" : ` in the session ${session_id}`;
  const rest = added.length > SHOWN ? [`  and ${added.length - SHOWN} more`] : [];
  const isNew = added.length + changed.length > 0;
  return [
    `${verb} ${many(added.length, session_id === null ? "rating" : "reading")}${into}; ` +
    `${again} stand already, ${blank} cells are blank.`,
    ...added.slice(0, SHOWN).map(({ what, value }) => `  ${what}: ${value}`),
    ...rest,
    ...changed.map(({ what, from, value }) =>
      `  ${write ? "corrected" : "would correct"} ${what}: ${from} becomes ${value}`
    ),
    ...(odd.length === 0 ? ["Nothing looks odd."] : [`${many(odd.length, "thing")} to look at:`]),
    ...odd.map((one) => `  ${one}`),
    ...(written.length > 0 ? [`Wrote ${written.join(", ")} in ${shown(order, dir)}.`] : []),
    ...(write || !isNew ? [] : [
      "Nothing is written yet. To add it:",
      `  deno task enter -- ${callOf(order, { sheet, dir })} --yes`,
    ]),
    ...(isNew ? [] : ["Nothing to add: all that the sheet holds is in the bench."]),
  ];
}

function callOf(
  order: TaskOrder,
  { sheet, dir }: { readonly sheet: string; readonly dir: string },
): string {
  const quoted = (text: string) => /^[\w.:-]+$/.test(text) ? text : JSON.stringify(text);
  const said = ["date", "operator", "rig", "temperature", "humidity"].flatMap((option) => {
    const value = order.options[option];
    return typeof value === "string" ? [`--${option} ${quoted(value)}`] : [];
  });
  return [`--sheet ${typed(order, sheet)} --data ${typed(order, dir)}`, ...said].join(" ");
}

function saidOf({ options }: TaskOrder): SessionSaid {
  const text = (option: string) => {
    const value = options[option];
    return typeof value === "string" && value.trim() !== "" ? value.trim() : undefined;
  };
  const number = (option: string) => {
    const value = text(option);
    if (value === undefined || Number.isFinite(Number(value))) return value && Number(value);
    throw new CallError(`--${option} takes a number, not "${value}".`);
  };
  const date = text("date");
  if (date !== undefined && !isCalendarDate(date)) {
    throw new CallError(`--date takes a day such as 2026-07-14, not "${date}".`);
  }
  const said = {
    date,
    operator: text("operator"),
    rig: text("rig"),
    temperature_c: number("temperature"),
    humidity_pct: number("humidity"),
  };
  return Object.fromEntries(Object.entries(said).filter(([, value]) => value !== undefined));
}

function named(order: TaskOrder, option: string, what: string): string {
  const value = order.options[option];
  if (typeof value === "string") return value;
  throw new CallError(
    `Name ${what} with --${option}. For example: deno task enter -- --sheet out/bench-sheet.csv ` +
      "--data my-bench --date 2026-07-14 --operator mb",
  );
}

async function readWorkbook(order: TaskOrder, path: string): Promise<Workbook> {
  try {
    return await importWorkbook(path);
  } catch (error) {
    if (error instanceof WorkbookError) throw new CallError(error.message);
    throw new CallError(`${shown(order, path)} can't be read (${(error as Error).name}).`);
  }
}
