import type { Bench } from "../../lib/records/types.ts";
import { smallBench } from "../studies/small_bench.ts";
import type { BenchDesign, TreeBench } from "./tree_benches.ts";

const surfaces = ["all-court", "hard", "clay", "grass", "indoor"] as const;

/** A bench of the tree as the loader would give it: one trial a shoe and metric, then all ratings, none blind. */
export function benchRecords(
  bench: TreeBench,
  { impressions }: Pick<BenchDesign, "impressions">,
): Bench {
  const ids = bench.maker.map((_, shoe) => `shoe-${shoe}`);
  const plain = smallBench([{ shoe: "one", session: "once", values: [50] }], {
    ratings: [["t", "one", 5]],
  });
  return {
    ...plain,
    settings: {
      ...plain.settings,
      rating: { min: 1, max: 10, step: 0.5 },
      attributes: Array.from({ length: impressions }, (_, k) => ({
        id: `impression-${k}`,
        title: `Impression ${k}`,
        better: "higher" as const,
      })),
    },
    metrics: bench.metrics.map((_, j) => ({
      ...plain.metrics[0],
      id: `metric-${j}`,
      title: `Metric ${j}`,
    })),
    shoes: ids.map((shoe_id, shoe) => ({
      ...plain.shoes[0],
      shoe_id,
      maker: `Maker ${bench.maker[shoe]}`,
      model: `Model ${bench.line[shoe]}`,
      surface: surfaces[bench.court[shoe]],
    })),
    sessions: [{ ...plain.sessions[0], session_id: "once", date: "2026-01-01" }],
    trials: bench.metrics.flatMap((values, j) =>
      values.flatMap((value, shoe) =>
        value === null ? [] : [{
          ...plain.trials[0],
          session_id: "once",
          shoe_id: ids[shoe],
          metric_id: `metric-${j}`,
          trial: 1,
          value: 50 + value,
          given_value: 50 + value,
        }]
      )
    ),
    impressions: bench.ratings.map((row) => ({
      ...plain.impressions[0],
      date: "2026-02-01",
      tester: `tester-${row.tester}`,
      shoe_id: ids[row.shoe],
      attribute: `impression-${row.impression}`,
      rating: row.rating,
      blind: "no",
      knew_bench: row.knew ? "yes" : "no",
    })),
  };
}
