import type { BenchCoverage } from "../../studies/coverage/bench_coverage.ts";
import { counted } from "../phrases.ts";

/** What did the quarter add, and which metric has fewest shoes? */
export function coverageSentence(
  { quarter, totals, metrics }: Pick<BenchCoverage, "quarter" | "totals" | "metrics">,
): string {
  const thinnest = metrics.filter((metric) => metric.share < 1)
    .toSorted((a, b) => a.share - b.share)[0];
  const gap = thinnest === undefined
    ? "Every shoe has a value on every metric."
    : `The thinnest metric is ${thinnest.title.toLowerCase()}: ${thinnest.shoes_benched} of ${
      thinnest.shoes_benched + thinnest.shoes_missing + thinnest.shoes_before_metric
    } shoes ${thinnest.shoes_benched === 1 ? "has" : "have"} a value.`;
  return `${quarter} added ${counted(totals.trials_this_quarter, "trial")} in ${
    counted(totals.sessions_this_quarter, "session")
  }, ${counted(totals.new_shoes, "new shoe")}, ${counted(totals.new_metrics, "new metric")} and ${
    counted(totals.impressions_this_quarter, "impression")
  }. ${gap}`;
}
