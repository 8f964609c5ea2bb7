/**
 * How often does anybody who reads every review of a growing bench see a false claim, and when is a true
 * one found?
 *
 *     deno run -A tests/benchmarks/claims_over_reviews.ts [benches] [--rows a,b] [--raw FILE]
 *
 * Every bench of `tree_benches.ts` grows from 24 to 80 shoes over eight reviews, and each review judges all
 * that was there by then. `--raw` writes the p of each review, so that other levels can be tried on them.
 */
import { parseArgs } from "node:util";
import { judgedTree } from "./judged_tree.ts";
import { type BenchDesign, plainDesign, type TreeBench, treeBench } from "./tree_benches.ts";

const SIZES = [24, 32, 40, 48, 56, 64, 72, 80];
const options = { permutations: 1999, resamples: 1000, confidence: 0.95 };
const both = { maker: 0.3, line: 0.4, editions: 3, makers: 7 };

const rows: Readonly<Record<string, Partial<BenchDesign>>> = {
  "no tree": {},
  "makers 30%, lines 40%": both,
  "rho .6, noise as the demo's": { rho: 0.6, ratingNoise: 0.35 },
  "rho .7, noise as the demo's": { rho: 0.7, ratingNoise: 0.35 },
  "rho .6, makers 30%, lines 40%, noise as the demo's": { ...both, rho: 0.6, ratingNoise: 0.35 },
};

/** A pair that a review finds with its p over the grid below .05, the other conditions of a claim met. */
type Found = { readonly j: number; readonly t: number; readonly p: number };

/** All eight reviews of one bench. */
function reviewsOf(design: BenchDesign, number: number): Found[][] {
  const whole = treeBench({ ...design, shoes: SIZES.at(-1)! }, number);
  const order = shuffled(whole.maker.length, number);
  return SIZES.map((size) => {
    const { cells, claimed } = judgedTree(firstShoes(whole, order.slice(0, size)), design, {
      ...options,
      seed: number,
    });
    return cells.flatMap((row, j) =>
      row.flatMap((cell, t): Found[] =>
        cell.p_grid !== null && cell.p_grid < 0.05 && claimed(j, t).claim === "predicts"
          ? [{ j, t, p: cell.p_grid }]
          : []
      )
    );
  });
}

/** What each review claims if the k-th claims what is new at 5%/k, and keeps below 5% what the last one claimed. */
function spent(reviews: readonly (readonly Found[])[]): Found[][] {
  let last: readonly Found[] = [];
  return reviews.map((found, k) => {
    const claims = found.filter(({ j, t, p }) =>
      p < 0.05 / (k + 1) || last.some((old) => old.j === j && old.t === t)
    );
    last = claims;
    return claims;
  });
}

/** The bench as it was when it had these shoes. */
function firstShoes(bench: TreeBench, shoes: readonly number[]): TreeBench {
  const place = new Map(shoes.map((shoe, row) => [shoe, row]));
  const ranked = (groups: readonly number[]) => {
    const own = shoes.map((shoe) => groups[shoe]);
    const names = [...new Set(own)];
    return own.map((name) => names.indexOf(name));
  };
  return {
    maker: ranked(bench.maker),
    line: ranked(bench.line),
    court: shoes.map((shoe) => bench.court[shoe]),
    metrics: bench.metrics.map((values) => shoes.map((shoe) => values[shoe])),
    trueMetrics: bench.trueMetrics.map((values) => shoes.map((shoe) => values[shoe])),
    ratings: bench.ratings.flatMap((row) => {
      const at = place.get(row.shoe);
      return at === undefined ? [] : [{ ...row, shoe: at }];
    }),
  };
}

/** Shoes in the order in which they came; editions of a line need not come together. */
function shuffled(count: number, seed: number): number[] {
  let state = (Math.imul(seed + 7, 40503) ^ 0x5bd1e995) >>> 0;
  const draw = () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state / 4294967296;
  };
  const order = Array.from({ length: count }, (_, shoe) => shoe);
  for (let i = count - 1; i > 0; i--) {
    const other = Math.floor(draw() * (i + 1));
    [order[i], order[other]] = [order[other], order[i]];
  }
  return order;
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
    options: { rows: { type: "string" }, raw: { type: "string" } },
  });
  const benches = Number(positionals[0] ?? 300);
  const asked = values.rows?.split(";");
  const raw: Record<string, Found[][][]> = {};
  console.log(
    "| row | level | false claim at any of 8 reviews, % | at one, % | found with 24 / 48 / 80 shoes, % |",
  );
  console.log("| --- | --- | --- | --- | --- |");
  for (const [name, change] of Object.entries(rows)) {
    if (asked !== undefined && !asked.includes(name)) continue;
    const design = { ...plainDesign, ...change };
    const all = Array.from({ length: benches }, (_, number) => reviewsOf(design, number));
    raw[name] = all;
    for (const [level, lives] of [["5%", all], ["5%/k", all.map(spent)]] as const) {
      const isFalse = ({ t }: Found) => design.rho === 0 || t !== 0;
      const ever = lives.filter((life) => life.some((review) => review.some(isFalse))).length;
      const single = lives.flat().filter((review) => review.some(isFalse)).length;
      const found = [24, 48, 80].map((size) =>
        share(
          lives.filter((life) => life[SIZES.indexOf(size)].some(({ j, t }) => j + t === 0)).length,
          benches,
        )
      );
      console.log(
        `| ${name} | ${level} | ${share(ever, benches)} | ${
          (100 * single / benches / SIZES.length).toFixed(1)
        } | ${design.rho === 0 ? "" : found.join(" / ")} |`,
      );
    }
  }
  if (values.raw !== undefined) await Deno.writeTextFile(values.raw, JSON.stringify(raw));
}
