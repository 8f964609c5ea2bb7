import type { z } from "zod";
import type { CellAdvice } from "./cells.ts";
import { quoted } from "./problem.ts";
import type { Problem } from "./types.ts";

/** A row's failed cells as problems, each with its place. */
export function rowProblems(
  file: string,
  line: number,
  cells: Readonly<Record<string, string>>,
  { issues }: { readonly issues: readonly (z.core.$ZodIssue | z.core.$ZodRawIssue)[] },
): Problem[] {
  return issues.map((issue) => {
    const column = String(issue.path?.[0] ?? "");
    const text = cells[column] ?? "";
    const advice = issue.code === "custom"
      ? issue.params as unknown as CellAdvice | undefined
      : undefined;
    return {
      file,
      line,
      column,
      found: text.trim() === "" ? "an empty cell" : quoted(text),
      expected: issue.message ?? "something else",
      fix: advice?.fix ?? "",
      severity: "error",
    };
  });
}
