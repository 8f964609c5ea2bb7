import type { z } from "zod";
import type { CellAdvice } from "./cells.ts";
import { quoted } from "./problem.ts";
import type { Problem } from "./types.ts";

/** A row's failed cells as problems, each with its place. */
export function rowProblems(
  file: string,
  line: number,
  cells: Readonly<Record<string, string>>,
  error: z.ZodError,
): Problem[] {
  return error.issues.map((issue) => {
    const column = String(issue.path[0]);
    const text = cells[column] ?? "";
    const advice = issue.code === "custom" ? issue.params as CellAdvice | undefined : undefined;
    return {
      file,
      line,
      column,
      found: text.trim() === "" ? "an empty cell" : quoted(text),
      expected: issue.message,
      fix: advice?.fix ?? "",
      severity: "error",
    };
  });
}
