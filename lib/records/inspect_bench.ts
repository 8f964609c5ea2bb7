import { readBench } from "./read_bench.ts";
import type { Problem, TableCounts } from "./types.ts";

/** What a check of a bench folder found. */
export type BenchInspection = {
  /** Errors first; within each severity in the order of the files. */
  readonly problems: readonly Problem[];
  readonly counts: Readonly<Record<string, TableCounts>>;
  readonly load_notes: readonly string[];
  /** File name within the folder → SHA-256 of its bytes, in hex. */
  readonly sha256: Readonly<Record<string, string>>;
};

/**
 * What is wrong, or odd, in this bench folder?
 *
 * Does what `loadBench` does, but bad data never throw: every problem comes back, with what was counted.
 */
export async function inspectBench(dir: string): Promise<BenchInspection> {
  const { problems, counts, load_notes, sha256 } = await readBench(dir);
  return { problems, counts, load_notes, sha256 };
}
