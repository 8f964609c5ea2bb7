/**
 * Why can something not be computed? A code with its numbers, such as
 * `{ code: "no-repeats", subjects: 5 }`.
 *
 * Codes are in the field's terms: subjects, raters, rows, columns. What a page calls them, and the
 * clause a reader sees, is made in one place: `sayReason` in `lib/words/reasons.ts`, which knows
 * every code. Nothing compares or patches the clause. A warning beside an estimate is such a code too.
 */
export type Reason = {
  readonly code: string;
  readonly [detail: string]: string | number | boolean | readonly string[];
};

/** Is it this reason? */
export function hasCode(reason: Reason | null, code: string): boolean {
  return reason?.code === code;
}
