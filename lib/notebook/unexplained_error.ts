import type { ErrorOutput } from "./notebook_format.ts";

type Explanation = Omit<ErrorOutput, "output_type">;

/**
 * What is wrong with the spelling of a cell that the kernel refused without a word?
 *
 * @returns the syntax error with line and column in the cell, or null if the cell is well formed
 */
export async function explainSyntaxError(code: string, deno: string): Promise<Explanation | null> {
  // The formatter parses without running anything, and needs no file.
  const child = new Deno.Command(deno, {
    args: ["fmt", "--no-config", "--ext", "ts", "-"],
    clearEnv: true,
    env: { NO_COLOR: "1", DENO_NO_UPDATE_CHECK: "1" },
    stdin: "piped",
    stdout: "null",
    stderr: "piped",
  }).spawn();
  const writer = child.stdin.getWriter();
  await writer.write(new TextEncoder().encode(code));
  await writer.close();
  const { success, stderr } = await child.output();
  if (success) return null;
  const words = new TextDecoder().decode(stderr);
  const [, what, line, column] = words.match(/SyntaxError: ([^\n]*)[^]*?_stdin\.ts:(\d+):(\d+)/) ??
    [];
  if (what === undefined) return null;
  const lines = code.split("\n");
  return {
    ename: "SyntaxError",
    evalue: `${what.trim()} (line ${line}, column ${column})`,
    traceback: [lines[Number(line) - 1] ?? "", " ".repeat(Math.max(0, Number(column) - 1)) + "^"],
  };
}

/**
 * Which import may have stopped a well-formed cell that the kernel refused without a word?
 *
 * @returns an explanation naming the cell's imports from packages, or null if it has none
 */
export function explainFailedImport(code: string): Explanation | null {
  const specifiers = [...code.matchAll(/(?:from|import)\s*\(?\s*["']([^"']+)["']/g)]
    .map((match) => match[1]);
  if (specifiers.length === 0) return null;
  return {
    ename: "ImportError",
    evalue: `Cannot load ${specifiers.map((name) => `"${name}"`).join(" or ")}: ` +
      "not found, or not among the packages that the kit's lock file names",
    traceback: [],
  };
}
