import { join } from "node:path";
import { findMetric, findShoe } from "../records/find_name.ts";
import type { Bench } from "../records/types.ts";
import { writeTable } from "../records/write_table.ts";
import { writeWhole } from "../records/write_whole.ts";
import { benchSheet, type SheetVisit } from "../studies/retest/bench_sheet.ts";
import { ratingCards } from "../studies/retest/rating_cards.ts";
import { namesIn } from "../words/names_in.ts";
import { cardsPage, sheetPage } from "../words/retest/sheet_page.ts";
import { asCall } from "./named_question.ts";
import type { TaskOrder } from "./task_order.ts";

/** What `--shoes` and `--metrics` aim a plan at; null where nothing is named. */
export type Aim = {
  readonly shoes: readonly string[] | null;
  readonly metrics: readonly string[] | null;
};

/** @throws {CallError} where a name fits nothing, or several */
export function aimOf(bench: Bench, options: TaskOrder["options"]): Aim {
  const list = (option: string, find: (typed: string) => string) =>
    typeof options[option] !== "string"
      ? null
      : asCall(() => [...new Set(namesIn(options[option] as string).map(find))]);
  return {
    shoes: list("shoes", (typed) => findShoe(bench, typed).shoe_id),
    metrics: list("metrics", (typed) => findMetric(bench, typed).id),
  };
}

/**
 * The visits that an aimed plan makes: those of the plan that are aimed at; where shoes and metrics are
 * both named, each shoe on each metric, whatever a plan would say of it.
 */
export function aimedVisits<T extends SheetVisit>(
  bench: Bench,
  plan: readonly T[],
  { shoes, metrics }: Aim,
): readonly SheetVisit[] {
  if (shoes !== null && metrics !== null) {
    const trials = bench.settings.trials_per_visit;
    return metrics.flatMap((metric) => shoes.map((shoe_id) => ({ shoe_id, metric, trials })));
  }
  return plan.filter(({ shoe_id, metric }) =>
    (shoes?.includes(shoe_id) ?? true) && (metrics?.includes(metric) ?? true)
  );
}

/**
 * Writes bench-sheet.html, to print and write on, and bench-sheet.csv, to fill in.
 *
 * @returns the paths written
 */
export async function writeBenchSheet(
  bench: Bench,
  visits: readonly SheetVisit[],
  { out, seed, showLast }: {
    readonly out: string;
    readonly seed: number;
    readonly showLast: boolean;
  },
): Promise<string[]> {
  const sheet = benchSheet(bench, visits, { seed });
  const { name, invented } = bench.settings;
  const most = Math.max(...sheet.lines.map(({ trials }) => trials));
  const readings = Array.from({ length: most }, (_, i) => `reading_${i + 1}`);
  const said = ["date", "operator", "rig", "temperature_c", "humidity_pct"];
  const columns = [
    ...["line", "part", "shoe", "metric", "unit"],
    ...readings,
    // Left blank for a first pair that nobody has played in.
    ...["note", "pair", "hours_played", ...said, "first_trial", "shoe_id", "metric_id", "sheet"],
  ];
  const rows = sheet.lines.map((line) => ({
    line: line.line,
    part: line.part,
    shoe: line.name,
    metric: line.title,
    unit: line.unit,
    first_trial: line.first_trial,
    shoe_id: line.shoe_id,
    metric_id: line.metric,
    sheet: sheet.code,
  }));
  const paths = ["bench-sheet.html", "bench-sheet.csv"].map((file) => join(out, file));
  await writeWhole(paths[0], sheetPage(sheet, { bench: name, invented, showLast }));
  await writeTable(paths[1], rows, columns);
  return paths;
}

/** Writes rating-cards.html, a card a tester, and rating-cards.csv, to fill in. */
export async function writeRatingCards(
  bench: Bench,
  testers: readonly string[],
  { out, seed, shoes }: {
    readonly out: string;
    readonly seed: number;
    readonly shoes: readonly string[] | null;
  },
): Promise<string[]> {
  const cards = asCall(() =>
    ratingCards(bench, { testers, seed, ...(shoes === null ? {} : { shoes }) })
  );
  const { name, invented } = bench.settings;
  const columns = [
    ...["tester", "order", "shoe", ...cards.attributes.map(({ id }) => id)],
    ...["minutes", "surface", "blind", "note", "date", "shoe_id", "sheet"],
  ];
  const rows = cards.cards.flatMap(({ tester, shoes }) =>
    shoes.map(({ shoe_id, name: shoe }, i) => (
      { tester, order: i + 1, shoe, shoe_id, sheet: cards.code }
    ))
  );
  const paths = ["rating-cards.html", "rating-cards.csv"].map((file) => join(out, file));
  await writeWhole(paths[0], cardsPage(cards, { bench: name, invented }));
  await writeTable(paths[1], rows, columns);
  return paths;
}
