import { createHash } from "node:crypto";
import type { Bench } from "../../records/types.ts";

/**
 * Which data is this, in a few letters for the foot of a picture?
 *
 * @returns the first twelve hex digits of a SHA-256 over the names and hashes of all files of the bench
 */
export function dataHash({ sha256 }: Pick<Bench, "sha256">): string {
  const lines = Object.entries(sha256).map(([file, hash]) => `${hash}  ${file}\n`).sort();
  return createHash("sha256").update(lines.join("")).digest("hex").slice(0, 12);
}
