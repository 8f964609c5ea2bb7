import type { Problem } from "./types.ts";

/** Rows of a table with the lines they stand on. */
type DatedRows = {
  readonly file: string;
  readonly rows: readonly { readonly date: string }[];
  readonly lines: readonly number[];
};

/**
 * Which sessions and ratings are dated after today?
 *
 * A year typed wrongly would make today's review that of a quarter to come. A warning and no error, since
 * the clock of this machine may be the one that is wrong.
 *
 * @param today such as `2026-07-14`; one day more is let pass, for a bench on the other side of the date line
 */
export function futureDates(tables: readonly DatedRows[], today: string): Problem[] {
  const last = new Date(Date.parse(today) + 86_400_000).toISOString().slice(0, 10);
  return tables.flatMap(({ file, rows, lines }) =>
    rows.flatMap(({ date }, index): Problem[] =>
      date <= last ? [] : [{
        file,
        line: lines[index],
        column: "date",
        found: date,
        expected: `a day up to today, ${today}`,
        fix: "It counts only in a review of a quarter that holds it, named with --quarter.",
        severity: "warning",
      }]
    )
  );
}
