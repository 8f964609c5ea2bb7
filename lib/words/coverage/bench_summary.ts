import type { Bench } from "../../records/types.ts";
import type { BenchCoverage } from "../../studies/coverage/bench_coverage.ts";
import { type NotebookSummary, notebookSummary } from "../summary_words.ts";
import { coverageSentence } from "./coverage_sentence.ts";
import { counted, midSentence } from "../phrases.ts";

/** What is in a bench folder, and what is missing before its questions can be answered? */
export function benchSummary(
  bench: Bench,
  coverage: Pick<BenchCoverage, "quarter" | "totals" | "metrics">,
): NotebookSummary {
  const counting = bench.trials.filter(({ excluded }) => excluded === null);
  const kept = counting.length;
  const sessions = new Set(counting.map(({ session_id }) => session_id)).size;
  const readings =
    bench.warnings.filter(({ file, column }) => file === "trials.csv" && column === "value").length;
  const others = bench.warnings.length - readings;
  const [thinnest, ...thin] = coverage.metrics
    .filter(({ shoes_benched }) => shoes_benched < bench.shoes.length)
    .toSorted((a, b) => a.shoes_benched - b.shoes_benched);
  return notebookSummary([
    `${bench.settings.name}${bench.settings.invented ? " (invented data)" : ""}: ${
      counted(bench.shoes.length, "shoe")
    }, ${counted(bench.metrics.length, "metric")}, ${counted(kept, "trial")} that count${
      kept === 1 ? "s" : ""
    } in ${counted(sessions, "session")}, ${counted(bench.impressions.length, "impression")}.`,
    coverageSentence(coverage),
  ], [
    ...(readings === 0 ? [] : [
      `Look up ${counted(readings, "reading that seems", "readings that seem")} odd${
        others === 0 ? "" : `, and ${counted(others, "other warning")}`
      }; the list is below.`,
    ]),
    ...(readings > 0 || others === 0
      ? []
      : [`Look at ${counted(others, "warning")}; the list is below.`]),
    ...needs(bench, kept),
    ...(thinnest === undefined ? [] : [
      `Fill the gaps: ${
        counted(bench.shoes.length - thinnest.shoes_benched, "shoe lacks", "shoes lack")
      } ${midSentence(thinnest.title)}${
        thin.length === 0
          ? ""
          : `, and ${counted(thin.length, "more metric has", "more metrics have")} gaps`
      }.`,
    ]),
  ]);
}

/** What a bench needs before it can answer anything. */
function needs(bench: Bench, kept: number): string[] {
  const visits = Map.groupBy(
    bench.trials.filter(({ excluded, value }) => excluded === null && value !== null),
    (trial) => JSON.stringify([trial.session_id, trial.shoe_id, trial.metric_id]),
  );
  return [
    ...(bench.shoes.length < 2
      ? ["Add shoes to shoes.csv: nothing can be compared with fewer than two."]
      : []),
    ...(kept === 0
      ? ["Add trials to trials.csv: nothing has been benched yet."]
      : [...visits.values()].every((own) => own.length < 2)
      ? ["Read every shoe at least twice in a visit: one reading shows no scatter."]
      : []),
    ...(bench.impressions.length === 0
      ? ["Add ratings to impressions.csv, to see what the bench tells of the court."]
      : []),
    ...(bench.rules.length === 0 ? ["Write an index rule into rules/, to get a table."] : []),
  ];
}
