import { groupProblems, problemInWords } from "../records/problem.ts";
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
  const groups = groupProblems(problems).map(({ severity, problems: group }) => {
    const shown = group.slice(0, SHOWN_IN_GROUP).map((problem) => `  ${problemInWords(problem)}`);
    const more = group.length - shown.length;
    return [`${severity}:`, ...shown, ...(more > 0 ? [`  and ${more} more like this`] : [])].join(
      "\n",
    );
  });
  return [`${count(errors, "error")}, ${count(warnings, "warning")}`, ...groups].join("\n");
}

function count(many: number, word: string): string {
  return `${many} ${word}${many === 1 ? "" : "s"}`;
}
