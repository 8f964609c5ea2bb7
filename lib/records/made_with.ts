import { readFileSync } from "node:fs";
import { isAbsolute, join, resolve } from "node:path";
import { fileURLToPath } from "node:url";
import kit from "../../deno.json" with { type: "json" };

/** What a result was made with: of two results that sign alike, the kit was the same. */
export type MadeWith = {
  /** The kit's version. */
  readonly kit: string;
  /** The commit that the kit's files were checked out at, twelve digits; changes made to them since are not told. */
  readonly commit: string | null;
  /** Why `commit` is null. */
  readonly commit_reason: string | null;
  readonly deno: string;
};

/** Under this symbol of `globalThis` a kernel is told its commit: cells may not look into version control. */
const TOLD = Symbol.for("bench-to-court.commit");

/** Which kit, at which commit, and which Deno is at work here? */
export function madeWith(): MadeWith {
  const told = (globalThis as Record<symbol, unknown>)[TOLD];
  const commit = typeof told === "string"
    ? told
    : commitOf(fileURLToPath(new URL("../..", import.meta.url)));
  return {
    kit: kit.version,
    commit: commit === "" ? null : commit,
    commit_reason: commit === "" ? "this copy of the kit has no history of commits to read" : null,
    deno: Deno.version.deno,
  };
}

/** Code that tells a kernel which commit its kit stands at. */
export function tellCommitCode(kitDir: string): string {
  return `Object.defineProperty(globalThis, Symbol.for(${JSON.stringify(TOLD.description)}), {
  value: ${JSON.stringify(commitOf(kitDir))},
});`;
}

/**
 * Which commit is a clone of the kit checked out at?
 *
 * Read from git's own files, so that no program need run.
 *
 * @returns twelve hexadecimal digits; "" where there is no history, or it may not be read
 */
export function commitOf(kitDir: string): string {
  try {
    const gitDir = gitDirOf(kitDir);
    const head = text(gitDir, "HEAD");
    const ref = /^ref: (refs\/[\w./-]+)$/.exec(head)?.[1];
    const commit = ref === undefined ? head : commitAt(ref, gitDir);
    return /^[0-9a-f]{40}([0-9a-f]{24})?$/.test(commit) ? commit.slice(0, 12) : "";
  } catch {
    return "";
  }
}

/** A clone's `.git` is a folder; that of a second working tree is a file that names one. */
function gitDirOf(kitDir: string): string {
  const place = join(kitDir, ".git");
  try {
    const named = /^gitdir: (.+)$/.exec(text(kitDir, ".git"))?.[1];
    if (named !== undefined) return isAbsolute(named) ? named : resolve(kitDir, named);
  } catch { /* a folder */ }
  return place;
}

function commitAt(ref: string, gitDir: string): string {
  const dirs = [gitDir];
  try {
    dirs.push(resolve(gitDir, text(gitDir, "commondir")));
  } catch { /* it has its branches itself */ }
  for (const dir of dirs) {
    try {
      return text(dir, ref);
    } catch { /* packed, or in the other folder */ }
  }
  const packed = dirs.map((dir) => {
    try {
      return text(dir, "packed-refs");
    } catch {
      return "";
    }
  }).join("\n");
  return packed.split("\n").find((line) => line.endsWith(` ${ref}`))?.split(" ")[0] ?? "";
}

function text(dir: string, name: string): string {
  return readFileSync(join(dir, name), "utf8").trim();
}
