import { problemInWords } from "./problem.ts";
import type { Problem } from "./types.ts";

const SHOWN = 20;

/** Thrown when a bench folder has errors; carries every problem found, errors first. */
export class BenchError extends Error {
  /** Tells this error from others. */
  override readonly name = "BenchError";
  /** Errors first, then warnings. */
  readonly problems: readonly Problem[];

  /** Puts the first errors into the message; `problems` holds them all. */
  constructor(dir: string, problems: readonly Problem[]) {
    const errors = problems.filter(({ severity }) => severity === "error");
    const warnings = problems.filter(({ severity }) => severity === "warning");
    const shown = errors.slice(0, SHOWN).map((problem) => `  ${problemInWords(problem)}`);
    if (errors.length > SHOWN) shown.push(`  and ${errors.length - SHOWN} more`);
    const count = errors.length === 1 ? "1 error" : `${errors.length} errors`;
    super(`The bench folder ${dir} has ${count}:\n${shown.join("\n")}`);
    this.problems = [...errors, ...warnings];
  }
}
