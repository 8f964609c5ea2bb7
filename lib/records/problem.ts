import { withoutControl } from "./control_characters.ts";
import type { Problem } from "./types.ts";

/** Problems that say the same thing about the same column, with every line they occur on. */
export type ProblemGroup = {
  readonly severity: Problem["severity"];
  readonly file: string;
  readonly column: string | null;
  readonly expected: string;
  readonly lines: readonly number[];
  readonly problems: readonly Problem[];
};

/**
 * What does this problem say to the person who keeps the files?
 *
 * Place first, then found beside expected, then the advice where there is one.
 *
 * @example A unit typed into the value cell
 * ```ts
 * import assert from "node:assert/strict";
 * import { records } from "bench-to-court";
 * assert.equal(
 *   records.problemInWords({
 *     file: "trials.csv",
 *     line: 214,
 *     column: "value",
 *     found: '"48 cm"',
 *     expected: "a number",
 *     fix: 'Put 48 here and cm in "unit".',
 *     severity: "error",
 *   }),
 *   'trials.csv line 214, column "value": found "48 cm", expected a number. ' +
 *     'Put 48 here and cm in "unit".',
 * );
 * ```
 */
export function problemInWords(problem: Problem): string {
  const { file, line, column, found, expected, fix } = problem;
  const where = file +
    (line === null ? "" : ` line ${line}`) +
    (column === null ? "" : `, ${file.endsWith(".json") ? "at" : "column"} "${column}"`);
  // Names of files and keys come with a bench, and a terminal obeys what is written to it.
  return withoutControl(`${where}: found ${found}, expected ${expected}.${fix && ` ${fix}`}`);
}

/**
 * Which kinds of problem are there, the most blocking first?
 *
 * Errors before warnings; a file or a column that is missing before a cell that is wrong (it
 * hides the cells); then the kind that occurs most often.
 */
export function groupProblems(problems: readonly Problem[]): ProblemGroup[] {
  const groups = new Map<string, Problem[]>();
  for (const problem of problems) {
    const { severity, file, column, expected } = problem;
    const key = JSON.stringify([severity, file, column, withoutNumbers(expected)]);
    const group = groups.get(key);
    if (group) group.push(problem);
    else groups.set(key, [problem]);
  }
  return [...groups.values()]
    .map((group) => ({
      severity: group[0].severity,
      file: group[0].file,
      column: group[0].column,
      expected: group[0].expected,
      lines: group.flatMap(({ line }) => line === null ? [] : [line]),
      problems: group,
    }))
    .sort((a, b) =>
      Number(a.severity === "warning") - Number(b.severity === "warning") ||
      blocks(a) - blocks(b) || b.problems.length - a.problems.length
    );
}

// Two rows whose expectations differ only in a line or a limit are one kind of problem.
function withoutNumbers(text: string): string {
  return text.replace(/\d+([.,]\d+)*/g, "0");
}

// 0: a whole file or column; 1: single rows.
function blocks(group: ProblemGroup): number {
  return group.lines.length === 0 || group.lines[0] === 1 ? 0 : 1;
}

/** Quotes what a cell or key holds, kept short enough for one line of a report. */
export function quoted(text: string): string {
  // deno-lint-ignore no-control-regex -- a control character must not break the report's line
  const seen = text.replace(/[\u0000-\u001f\u007f]/g, (c) => JSON.stringify(c).slice(1, -1));
  return `"${seen.length > 60 ? `${seen.slice(0, 57)}…` : seen}"`;
}
