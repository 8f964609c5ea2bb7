import type { Reason } from "../statistics/reason.ts";
import { sayReason } from "./reasons.ts";

/**
 * A result as its JSON file has it: every reason said, with its code beside it.
 *
 * A field `reason` or `…_reason` that holds a code becomes the clause a reader sees, and the code
 * goes beside it as `…_reason_code`. Warnings that are codes become clauses. All else is copied.
 *
 * @param result plain data: numbers, text, true and false, null, lists and objects
 * @throws {RangeError} for NaN, an infinite number, undefined or anything else that JSON has no form for
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { words } from "bench-to-court";
 * assert.deepEqual(words.resultJson({ p: null, p_reason: { code: "no-fit" } }), {
 *   p: null,
 *   p_reason: "the fit failed",
 *   p_reason_code: { code: "no-fit" },
 * });
 * ```
 */
export function resultJson(result: unknown): unknown {
  return copy(result, "result");
}

function copy(value: unknown, at: string): unknown {
  if (value === null || typeof value === "string" || typeof value === "boolean") return value;
  if (typeof value === "number") {
    if (Number.isFinite(value)) return value;
    throw new RangeError(`${at} is ${value}, which a result file can't hold; expected a number`);
  }
  if (Array.isArray(value)) {
    return value.map((part, index) =>
      at.endsWith("warnings") && isReason(part) ? sayReason(part) : copy(part, `${at}[${index}]`)
    );
  }
  if (typeof value !== "object" || !isPlain(value)) {
    const kind = typeof value === "object" ? value.constructor?.name : typeof value;
    throw new RangeError(`${at} is ${kind}, which a result file can't hold; expected plain data`);
  }
  return Object.fromEntries(
    Object.entries(value).flatMap(([key, part]) =>
      /(^|_)reason$/.test(key) && isReason(part)
        ? [[key, sayReason(part)], [`${key}_code`, part]]
        : [[key, copy(part, `${at}.${key}`)]]
    ),
  );
}

function isReason(value: unknown): value is Reason {
  return typeof value === "object" && value !== null && "code" in value &&
    typeof value.code === "string";
}

function isPlain(value: object): boolean {
  const prototype = Object.getPrototypeOf(value);
  return prototype === null || prototype === Object.prototype;
}
