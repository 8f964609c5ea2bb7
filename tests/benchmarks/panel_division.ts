/**
 * How often is a panel said to part over a metric that it doesn't part over, and how often over one it does?
 *
 *     deno run -A tests/benchmarks/panel_division.ts [benches = 300] [--rows a;b]
 *
 * Shoes, makers, lines and ratings come from `tree_benches.ts`, which shares no code with the kit. Half of the
 * testers like more of a feature, the others less of it, on the first impression. The feature is
 * either one that no metric has to do with (then every claim is false) or the first metric (then claims over
 * any other are: metrics are independent of each other here).
 */
import { parseArgs } from "node:util";
import { judgedSplits, panelSplits } from "../../lib/studies/panel/panel_splits.ts";
import { benchRecords } from "./tree_bench_records.ts";
import { type BenchDesign, plainDesign, type TreeBench, treeBench } from "./tree_benches.ts";

export type DivisionRow = Partial<BenchDesign> & {
  /** Points of the rating scale that a tester adds or takes for a shoe one SD higher on the feature. */
  readonly taste?: number;
  readonly over?: "something else" | "the first metric";
};

const both = { maker: 0.3, line: 0.4, editions: 3, makers: 7 };
const rows: Readonly<Record<string, DivisionRow>> = {
  "nothing divides": {},
  "the same, makers 30%, lines 40%": both,
  "something else divides": { taste: 1, over: "something else" },
  "the same, makers 30%, lines 40% ": { ...both, taste: 1, over: "something else" },
  "the same, 24 shoes, 5 makers": {
    ...both,
    shoes: 24,
    makers: 5,
    taste: 1,
    over: "something else",
  },
  "the same, t with 4 degrees of freedom": {
    ...both,
    shape: "t4",
    taste: 1,
    over: "something else",
  },
  "the same, gaps where shoes are bad": { ...both, gaps: true, taste: 1, over: "something else" },
  "the same, three courts with 30% between them": {
    maker: 0.2,
    line: 0.3,
    editions: 3,
    makers: 7,
    court: 0.3,
    courts: 3,
    taste: 1,
    over: "something else",
  },
  "the first metric divides by 0.5 points": { taste: 0.5, over: "the first metric" },
  "the first metric divides by 1 point": { taste: 1, over: "the first metric" },
  "the same by 0.5, makers 30%, lines 40%": { ...both, taste: 0.5, over: "the first metric" },
  "the same by 1, makers 30%, lines 40%": { ...both, taste: 1, over: "the first metric" },
};

/** Whether the panel is said to part over the metric it does part over, and over any other. */
export function judgedDivision(
  { taste = 0, over = "something else", ...change }: DivisionRow,
  number: number,
) {
  const shown = plainDesign.metrics;
  const design: BenchDesign = {
    ...plainDesign,
    ratingNoise: 0.35,
    overlap: 0,
    ...change,
    metrics: shown + 1,
  };
  const bench = treeBench(design, number);
  const feature = bench.trueMetrics[over === "the first metric" ? 0 : shown];
  const records = benchRecords({ ...bench, metrics: bench.metrics.slice(0, shown) }, design);
  const shoes = records.shoes.map(({ shoe_id }) => shoe_id);
  const values = new Map(
    bench.metrics.slice(0, shown).map((readings, j) => [
      `metric-${j}`,
      new Map(readings.flatMap((value, i) => value === null ? [] : [[shoes[i], value] as const])),
    ]),
  );
  const splits = Array.from({ length: design.impressions }, (_, k) => {
    const table = tableOf(
      bench,
      design,
      k,
      (tester, shoe) => k === 0 ? taste * (tester % 2 === 0 ? 1 : -1) * feature[shoe] : 0,
    );
    return panelSplits(records, {
      table,
      shoes,
      testers: table[0].map((_, tester) => `tester-${tester}`),
      values,
      confidence: 0.95,
    });
  });
  const found = judgedSplits(splits, { risk: 0.05, seed: number }).flatMap((own, k) =>
    own.filter((split) => split.found).map(({ metric }) => ({ k, metric }))
  );
  const right = ({ k, metric }: (typeof found)[number]) =>
    over === "the first metric" && k === 0 && metric === "metric-0";
  return { found: found.some(right), falsely: found.some((one) => !right(one)) };
}

/** Ratings in halves from 1 to 10, a row a shoe and a column a tester, liking added. */
function tableOf(
  { maker, ratings }: TreeBench,
  { testers }: BenchDesign,
  impression: number,
  liking: (tester: number, shoe: number) => number,
) {
  const table = maker.map(() => new Array<number | null>(testers).fill(null));
  for (const { tester, shoe, impression: own, rating } of ratings) {
    if (own !== impression) continue;
    const felt = Math.round(2 * (rating + liking(tester, shoe))) / 2;
    table[shoe][tester] = Math.min(10, Math.max(1, felt));
  }
  return table;
}

function share(hits: number, of: number): string {
  const part = hits / of;
  return `${(100 * part).toFixed(1)} ± ${
    (100 * Math.sqrt(Math.max(part * (1 - part), 0.25 / of) / of)).toFixed(1)
  }`;
}

if (import.meta.main) {
  const { values, positionals } = parseArgs({
    args: Deno.args,
    allowPositionals: true,
    options: { rows: { type: "string" } },
  });
  const benches = Number(positionals[0] ?? 300);
  const asked = values.rows?.split(";");
  console.log("| row | falsely, % of benches | found, % |\n| --- | --- | --- |");
  for (const [name, row] of Object.entries(rows)) {
    if (asked !== undefined && !asked.some((part) => name.includes(part))) continue;
    const all = Array.from({ length: benches }, (_, number) => judgedDivision(row, number));
    console.log(
      `| ${name.trim()} | ${share(all.filter(({ falsely }) => falsely).length, benches)} | ${
        row.over === "the first metric"
          ? share(all.filter(({ found }) => found).length, benches)
          : ""
      } |`,
    );
  }
}
