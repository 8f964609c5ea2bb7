import { join, sep } from "node:path";
import type { Problem } from "./types.ts";

/** What stands in the way of reading a file, in the words of a problem. */
type FileTrouble = Pick<Problem, "found" | "expected" | "fix">;

/** Largest table and largest JSON file that are read, in bytes: a million trials take 50 MB, and 400 MB of memory. */
const LARGEST = { table: 200_000_000, json: 20_000_000, sheet: 100_000_000 } as const;

/**
 * Is this a file of the bench that may be read?
 *
 * A bench may come from somebody else: a link in it that leads out of its folder would show a file of
 * the reader's own, a pipe would wait for ever, and a file without end would fill the memory.
 *
 * @param dir the bench folder
 * @param file its name in the folder, such as `rules/2026.json`
 * @returns null if it may be read
 * @throws {Deno.errors.NotFound} if there is none of that name
 */
export async function benchFileTrouble(
  dir: string,
  file: string,
  kind: keyof typeof LARGEST,
): Promise<FileTrouble | null> {
  const path = join(dir, file);
  const root = await Deno.realPath(dir);
  const target = await placeOf(path);
  if (target === null || !target.startsWith(root.endsWith(sep) ? root : root + sep)) {
    return {
      found: target === null ? "a link to nothing" : "a link that leads out of the bench folder",
      expected: "a file in the folder itself",
      fix: "Put a copy of the file in its place.",
    };
  }
  return await fileTrouble(path, kind);
}

/** Is this an ordinary file of a size that is read? A link counts as what it leads to. */
export async function fileTrouble(
  path: string,
  kind: keyof typeof LARGEST,
): Promise<FileTrouble | null> {
  const about = await Deno.stat(path);
  if (!about.isFile) return { found: kindOf(about), expected: "a file", fix: "" };
  if (about.size <= LARGEST[kind]) return null;
  return {
    found: `a file of ${megabytes(about.size)}`,
    expected: `at most ${megabytes(LARGEST[kind])}`,
    fix: "Nothing measured by hand is as long; look at what it holds.",
  };
}

/** Where a path leads; null for a link to nothing. */
async function placeOf(path: string): Promise<string | null> {
  try {
    return await Deno.realPath(path);
  } catch (error) {
    if (!(error instanceof Deno.errors.NotFound)) throw error;
    await Deno.lstat(path); // throws where there is not even a link
    return null;
  }
}

function kindOf(about: Deno.FileInfo): string {
  if (about.isDirectory) return "a folder of that name";
  if (about.isFifo) return "a pipe";
  if (about.isSocket) return "a socket";
  return about.isCharDevice || about.isBlockDevice ? "a device" : "something that is no file";
}

function megabytes(bytes: number): string {
  return `${Math.ceil(bytes / 1e6).toLocaleString("en")} MB`;
}
