/** Reads what outside sources print and compute; the files stand in tests/references/published. */

const root = new URL("../references/published/", import.meta.url);

// deno-lint-ignore no-explicit-any
type Check = any;

/** One check of a topic's file, by its id. */
export function published(topic: string, id: string): Check {
  const file = JSON.parse(Deno.readTextFileSync(new URL(`${topic}.json`, root)));
  const found = file.checks.find((check: { id: string }) => check.id === id);
  if (found === undefined) throw new RangeError(`No check "${id}" in ${topic}.json`);
  return found;
}

/** A CSV of tests/references as one list of strings per column. */
export function csvColumns(path: string): Record<string, string[]> {
  const [header, ...rows] = Deno.readTextFileSync(new URL(path, root)).trim().split("\n")
    .map((line) => line.trim().split(","));
  return Object.fromEntries(header.map((name, i) => [name, rows.map((row) => row[i])]));
}

/** What `Rscript` prints for an expression, or null where R is not installed (said once). */
export async function fromR(code: string): Promise<number[] | null> {
  try {
    const { stdout, success } = await new Deno.Command("Rscript", {
      args: ["-e", `suppressPackageStartupMessages({${code}})`],
      stderr: "null",
    }).output();
    if (!success) throw new Error("R ran and failed");
    return new TextDecoder().decode(stdout).trim().split(/\s+/).map(Number);
  } catch (error) {
    if (error instanceof Error && error.message === "R ran and failed") throw error;
    console.warn("Rscript is not installed: the live comparison with R is skipped");
    return null;
  }
}
