/**
 * How often does a review claim what is not so, and find what is, when shoes are kin?
 *
 *     deno run -A tests/benchmarks/claims_yardstick.ts [benches] [--rows a,b] [--write]
 *
 * Every row makes benches by `tree_benches.ts`, which shares no code with the kit, and judges their whole
 * grid as the study does. Most rows start from shoe-level values; those of `studyRows` go through
 * `courtPrediction` with every rating. `--write` puts the table into DEVELOPERS.md.
 */
import { parseArgs } from "node:util";
import { rankCorrelationGrid } from "../../lib/statistics/rank_correlation_grid.ts";
import { courtPrediction } from "../../lib/studies/prediction/court_prediction.ts";
import { judgedTree } from "./judged_tree.ts";
import { benchRecords } from "./tree_bench_records.ts";
import { type BenchDesign, plainDesign, shoeRatings, treeBench } from "./tree_benches.ts";

const line = { line: 0.7, editions: 3, makers: 7 };
const maker = { maker: 0.3, makers: 7 };
const both = { maker: 0.3, line: 0.4, editions: 3, makers: 7 };

/** Rows of the yardstick; with a rho the first impression goes by it with the first metric. */
const rows: Readonly<Record<string, Partial<BenchDesign>>> = {
  "24 shoes, no tree": { shoes: 24 },
  "36 shoes, no tree": { shoes: 36, metrics: 14 },
  "48 shoes, no tree": {},
  "80 shoes, no tree": { shoes: 80, metrics: 10, impressions: 5 },
  "t with 4 degrees of freedom": { shape: "t4" },
  "skewed": { shape: "skewed" },
  "ratings in three levels": { levels: 3 },
  "two testers": { testers: 2 },
  "a flat tester": { flatTester: true },
  "one trial a visit": { benchNoise: 0.6 },
  "missing where shoes are bad": { gaps: true },
  "a mood of the day": { mood: 0.7 },
  "impressions hang together": { halo: 0.7 },
  "lines of three, 70% between them": line,
  "7 makers, 30% between them": maker,
  "makers 30%, lines 40%": both,
  "the same, 24 shoes, 5 makers": { ...both, shoes: 24, metrics: 14, impressions: 5, makers: 5 },
  "the same, 36 shoes": { ...both, shoes: 36 },
  "the same, 80 shoes": { ...both, shoes: 80 },
  "the same, 15 makers": { ...both, makers: 15 },
  "the same, t with 4 degrees of freedom": { ...both, shape: "t4" },
  "the same, skewed": { ...both, shape: "skewed" },
  "12 makers of one line each, 70% between them": { line: 0.7, makers: 12, oneLine: true },
  "a brand that testers favour": { ...maker, favour: 1 },
  "three courts, 30% between them": { court: 0.3, courts: 3 },
  "courts and tree": { ...both, maker: 0.2, line: 0.3, court: 0.3, courts: 3 },
  "rho .6, noise as the demo's": { rho: 0.6, ratingNoise: 0.35 },
  "rho .7, noise as the demo's": { rho: 0.7, ratingNoise: 0.35 },
  "rho .6, noise as in the other rows": { rho: 0.6 },
  "rho .7, noise as in the other rows": { rho: 0.7 },
  "rho .6, makers 30%, lines 40%, noise as the demo's": { ...both, rho: 0.6, ratingNoise: 0.35 },
  "rho .7, makers 30%, lines 40%, noise as the demo's": { ...both, rho: 0.7, ratingNoise: 0.35 },
  "rho .7, makers 30%, lines 40%": { ...both, rho: 0.7 },
};

/** Rows that need every rating, or show that the whole study says what the shoe-level path says. */
const studyRows: Readonly<Record<string, Partial<BenchDesign>>> = {
  "whole study: no tree": {},
  "whole study: makers 30%, lines 40%": both,
  "whole study: ratings moved by 0.3 where known": { knew: 0.3 },
  "whole study: ratings moved by 0.5 where known": { knew: 0.5 },
};

const options = { permutations: 999, resamples: 1000, confidence: 0.95 };

type Judged = {
  /** Claims of pairs that have nothing to do with each other. */
  readonly falsely: number;
  readonly found: boolean | null;
  /** Limits of the first metric with the first impression. */
  readonly lower: number | null;
  readonly upper: number | null;
};

/** The whole grid from shoe-level values, as the study judges it. */
function judgedShoes(design: BenchDesign, number: number): Judged {
  const { cells, claimed } = judgedTree(treeBench(design, number), design, {
    ...options,
    seed: number,
  });
  let falsely = 0;
  cells.forEach((row, j) =>
    row.forEach((cell, t) => {
      if (design.rho !== 0 && t === 0) return;
      if ((cell.p_grid ?? 1) < 0.05 && claimed(j, t).claim === "predicts") falsely++;
    })
  );
  const first = claimed(0, 0);
  return {
    falsely,
    found: design.rho === 0 ? null : first.claim === "predicts",
    lower: first.lower,
    upper: first.upper,
  };
}

/** The same through the study with every rating; a claim not yet seen blind is not counted as one. */
function judgedStudy(design: BenchDesign, number: number): Judged {
  const bench = treeBench(design, number);
  const whole = benchRecords(bench, design);
  const study = courtPrediction(whole, { ...options, models: false, seed: number });
  const claims = study.pairs.filter(({ claim, unknowing }) =>
    claim === "predicts" && (unknowing === null || unknowing.borne_out)
  );
  const { lower, upper } = study.pairs[0].spearman;
  return { falsely: claims.length, found: null, lower, upper };
}

/** Rank correlation of the first pair over very many shoes that are no kin. */
function trueRho(design: BenchDesign): number {
  if (design.rho === 0) return 0;
  const runs = 5;
  let sum = 0;
  for (let run = 0; run < runs; run++) {
    const many: BenchDesign = {
      ...design,
      shoes: 4000,
      metrics: 1,
      impressions: 1,
      maker: 0,
      line: 0,
      editions: 1,
    };
    const bench = treeBench(many, 900000 + run);
    const [[cell]] = rankCorrelationGrid([bench.metrics[0]], [shoeRatings(bench, 1)[0]], {
      interval: "none",
      permutations: 0,
      leaveOneOut: false,
    }).cells;
    sum += cell.estimate!;
  }
  return sum / runs;
}

function share(hits: number, of: number): string {
  const part = hits / of;
  const error = Math.sqrt(Math.max(part * (1 - part), 0.25 / of) / of);
  return `${(100 * part).toFixed(1)} ± ${(100 * error).toFixed(1)}`;
}

if (import.meta.main) {
  const { values, positionals } = parseArgs({
    args: Deno.args,
    allowPositionals: true,
    options: { rows: { type: "string" }, write: { type: "boolean", default: false } },
  });
  const benches = Number(positionals[0] ?? 300);
  const asked = values.rows?.split(";");
  const table = [
    "| row | false claims, % of reviews | found, % | 95% limits cover, % |",
    "| --- | --- | --- | --- |",
  ];
  const judge = (
    name: string,
    change: Partial<BenchDesign>,
    judgeOne: typeof judgedShoes,
    count: number,
  ) => {
    if (asked !== undefined && !asked.some((part) => name.includes(part))) return;
    const design = { ...plainDesign, ...change };
    const truth = trueRho(design);
    const all = Array.from({ length: count }, (_, number) => judgeOne(design, number));
    const limits = all.filter(({ lower }) => lower !== null);
    const held = limits.filter(({ lower, upper }) => lower! <= truth && truth <= upper!).length;
    const row = `| ${name} | ${share(all.filter(({ falsely }) => falsely > 0).length, count)} | ${
      design.rho === 0
        ? ""
        : `${share(all.filter(({ found }) => found).length, count)}, seen as ${truth.toFixed(2)}`
    } | ${design.knew === 0 ? share(held, limits.length) : ""} |`;
    table.push(row);
    console.log(row);
  };
  for (const [name, change] of Object.entries(rows)) judge(name, change, judgedShoes, benches);
  for (const [name, change] of Object.entries(studyRows)) {
    judge(name, change, judgedStudy, Math.ceil(benches / 3));
  }
  if (values.write) {
    const path = new URL("../../DEVELOPERS.md", import.meta.url);
    const text = await Deno.readTextFile(path);
    const [start, end] = ["<!-- claims yardstick -->", "<!-- end of claims yardstick -->"];
    const [before, rest] = text.split(start);
    const after = rest.split(end)[1];
    await Deno.writeTextFile(path, `${before}${start}\n\n${table.join("\n")}\n\n${end}${after}`);
  }
}
