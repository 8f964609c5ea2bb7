/** Is R here to check against? */
export const hasR = hasRscript();

function hasRscript(): boolean {
  try {
    return new Deno.Command("Rscript", { args: ["--version"], stdout: "null", stderr: "null" })
      .outputSync().success;
  } catch {
    return false;
  }
}

/**
 * Runs a script in R and reads the numbers it prints with `out()`, one line of 17-digit numbers a call.
 */
export function inR(script: string): number[][] {
  const out = 'out <- function(x) cat(sprintf("%.17g", as.numeric(x)), "\\n")\n';
  // From a file: R cuts expressions on its command line at ten thousand characters.
  const file = Deno.makeTempFileSync({ suffix: ".R" });
  Deno.writeTextFileSync(file, out + script);
  const { success, stdout, stderr } = new Deno.Command("Rscript", {
    args: ["--vanilla", file],
    stdout: "piped",
    stderr: "piped",
  }).outputSync();
  Deno.removeSync(file);
  const text = new TextDecoder();
  if (!success) throw new Error(`R failed: ${text.decode(stderr)}`);
  return text.decode(stdout).trim().split("\n").map((line) => line.trim().split(/\s+/).map(Number));
}

/** A vector as R writes it. */
export function rVector(values: readonly (number | null)[]): string {
  return `c(${values.map((value) => value === null ? "NA" : String(value)).join(",")})`;
}

/** A matrix as R writes it, row by row. */
export function rMatrix(rows: readonly (readonly (number | null)[])[]): string {
  return `matrix(${rVector(rows.flat())}, nrow = ${rows.length}, byrow = TRUE)`;
}

/** Registers a test that needs R, perhaps with a package; what is missing skips it, and the notice says so. */
export function testInR(
  title: string,
  check: () => void,
  { needs }: { readonly needs?: string } = {},
): void {
  const missing = !hasR
    ? "Rscript is not installed"
    : needs !== undefined && inR(`out(requireNamespace("${needs}", quietly = TRUE))`)[0][0] !== 1
    ? `R has no package ${needs}`
    : null;
  Deno.test({
    name: missing === null ? title : `${title} (skipped: ${missing})`,
    ignore: missing !== null,
    fn: check,
  });
}
