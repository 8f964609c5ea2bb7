import { type OnRow, readCsvTable, type TableRead } from "./csv_table.ts";
import { quoted } from "./problem.ts";
import { didYouMean, keepOnce } from "./read_trials.ts";
import { rowProblems } from "./row_problems.ts";
import { impressionSchema } from "./schemas.ts";
import type { BenchSettings, Impression, Problem, Shoe, TableCounts, Tester } from "./types.ts";

const FILE = "impressions.csv";

/** What `impressions.csv` gave: every row that could be read, in the file's order. */
type ImpressionsRead = {
  readonly impressions: Impression[];
  readonly counts: TableCounts;
  readonly table: TableRead;
};

/** Reads `impressions.csv` and checks each row against the other tables and the rating scale. */
export async function readImpressions(
  path: string,
  { settings, shoes, testers, excused }: {
    /** Null when bench.json could not be read: scale and attributes are then not checked. */
    readonly settings: BenchSettings | null;
    readonly shoes: readonly Shoe[];
    /** Null when there is no testers.csv: any tester will do. */
    readonly testers: readonly Tester[] | null;
    readonly excused: Readonly<Record<"shoe" | "tester", (id: string) => boolean>>;
  },
  onProblem: (problem: Problem) => void,
): Promise<ImpressionsRead> {
  const impressions: Impression[] = [];
  const shoeIds = shoes.map(({ shoe_id }) => shoe_id);
  const testerIds = testers === null ? null : testers.map(({ tester }) => tester);
  const attributeIds = settings === null ? null : settings.attributes.map(({ id }) => id);
  const known = {
    shoe: new Set(shoeIds),
    tester: testerIds === null ? null : new Set(testerIds),
    attribute: attributeIds === null ? null : new Set(attributeIds),
  };
  const lineOfKey = new Map<string, number>();
  const keep = keepOnce();
  let missing = 0;

  const onRow: OnRow<typeof impressionSchema.shape> = (cells, line) => {
    const problem = (
      column: string,
      found: string,
      expected: string,
      fix: string,
      severity: Problem["severity"] = "error",
    ) => onProblem({ file: FILE, line, column, found, expected, fix, severity });

    const read = impressionSchema.safeParse(cells);
    if (!read.success) {
      for (const failed of rowProblems(FILE, line, cells, read.error)) onProblem(failed);
      return;
    }
    const row = read.data;
    if (!known.shoe.has(row.shoe_id) && !excused.shoe(row.shoe_id)) {
      const fix = didYouMean(row.shoe_id, shoeIds, "Add the shoe to shoes.csv.");
      problem("shoe_id", quoted(row.shoe_id), "a shoe of shoes.csv", fix);
    }
    if (testerIds && !known.tester?.has(row.tester) && !excused.tester(row.tester)) {
      const fix = didYouMean(row.tester, testerIds, "Add the tester to testers.csv.");
      problem("tester", quoted(row.tester), "a tester of testers.csv", fix);
    }
    if (attributeIds && !known.attribute?.has(row.attribute)) {
      const fix = didYouMean(row.attribute, attributeIds, "Add the attribute to bench.json.");
      problem("attribute", quoted(row.attribute), "an attribute of bench.json", fix);
    }
    if (settings !== null && row.rating !== null) {
      const { min, max, step } = settings.rating;
      const scale = `a rating from ${min} to ${max}`;
      if (row.rating < min || row.rating > max) {
        problem("rating", quoted(cells.rating), scale, "");
        return;
      }
      if (!isOnStep(row.rating, min, step)) {
        problem("rating", quoted(cells.rating), `${scale} in steps of ${step}`, "", "warning");
      }
    }
    const key = JSON.stringify([row.date, row.tester, row.shoe_id, row.attribute]);
    const earlier = lineOfKey.get(key);
    if (earlier !== undefined) {
      const found = `${row.attribute} of ${row.shoe_id} by ${row.tester} on ${row.date} again`;
      const fix = "Take one of the two rows away.";
      problem("attribute", found, `one row a key (the first is on line ${earlier})`, fix);
      return;
    }
    lineOfKey.set(key, line);
    if (row.rating === null) missing++;
    impressions.push({
      date: keep(row.date),
      tester: keep(row.tester),
      shoe_id: keep(row.shoe_id),
      attribute: keep(row.attribute),
      rating: row.rating,
      surface: row.surface,
      minutes: row.minutes,
      blind: row.blind,
      knew_bench: row.knew_bench,
      note: row.note === null ? null : keep(row.note),
      line,
    });
  };

  const table = await readCsvTable(path, FILE, impressionSchema.shape, onRow, onProblem);
  const kept = impressions.length - missing;
  return { impressions, counts: { read: table.rows, kept, missing, excluded: 0 }, table };
}

// 0.1 has no exact binary form, so steps are counted with a little room.
function isOnStep(rating: number, min: number, step: number): boolean {
  const steps = (rating - min) / step;
  return Math.abs(steps - Math.round(steps)) < 1e-6;
}
