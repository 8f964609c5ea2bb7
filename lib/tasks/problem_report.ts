import { groupProblems, type ProblemGroup, problemInWords } from "../records/problem.ts";
import type { Problem } from "../records/types.ts";

const SHOWN_IN_GROUP = 5;

/**
 * What does the terminal say of a bench's problems?
 *
 * Grouped by kind, the most blocking first; of a long group the first few, and how many more.
 */
export function problemReport(problems: readonly Problem[]): string {
  const errors = problems.filter(({ severity }) => severity === "error").length;
  const warnings = problems.length - errors;
  const groups = groupProblems(problems);
  const parts = (["error", "warning"] as const).flatMap((severity) => {
    const own = groups.filter((group) => group.severity === severity);
    return own.length === 0 ? [] : [`${severity}s:`, ...own.flatMap(groupLines)];
  });
  return [`${count(errors, "error")}, ${count(warnings, "warning")}`, ...parts].join("\n");
}

function groupLines({ problems }: ProblemGroup): string[] {
  const shown = problems.slice(0, SHOWN_IN_GROUP).map((problem) => `  ${problemInWords(problem)}`);
  const more = problems.length - shown.length;
  return more > 0 ? [...shown, `  and ${more} more like this`] : shown;
}

function count(many: number, word: string): string {
  return `${many} ${word}${many === 1 ? "" : "s"}`;
}
