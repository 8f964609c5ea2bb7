import { createHash } from "node:crypto";

/**
 * Plain data as one text, however a file lays it out: keys in order, no blanks.
 *
 * Two files that say the same give the same text, and so the same hash.
 *
 * @see RFC 8785 (JSON Canonicalization Scheme), whose number and text forms are JavaScript's own
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { records } from "bench-to-court";
 * assert.equal(records.canonicalJson({ b: [1, 2.50], a: "x" }), '{"a":"x","b":[1,2.5]}');
 * ```
 */
export function canonicalJson(value: unknown): string {
  if (Array.isArray(value)) return `[${value.map(canonicalJson).join(",")}]`;
  if (typeof value !== "object" || value === null) return JSON.stringify(value);
  const entries = Object.entries(value).filter(([, part]) => part !== undefined)
    .sort(([a], [b]) => a < b ? -1 : 1);
  return `{${
    entries.map(([key, part]) => `${JSON.stringify(key)}:${canonicalJson(part)}`).join(",")
  }}`;
}

/** SHA-256 of the canonical text, in hex. */
export function canonicalSha256(value: unknown): string {
  return createHash("sha256").update(canonicalJson(value)).digest("hex");
}
