/**
 * Do differences of two shoes on court hold the truth, and how many are seen, whoever divides the panel?
 *
 *     deno run --config tests/deno.json -A tests/benchmarks/court_differences.ts [panels = 500]
 *
 * Panels are invented by a generator of its own: shoes come in fours, of which the first two are equal and the last two 2
 * points apart on a scale of 10. In rows where one shoe divides, the first shoe's ratings scatter more; there its
 * equal, and its differences from others, are asked about. A row says in % of questions: equal shoes called
 * *differ*, a single interval holds, six intervals of four shoes hold together, 2 points are seen.
 */
import { shoeComparison } from "../../lib/studies/comparison/shoe_comparison.ts";
import { smallBench } from "../studies/small_bench.ts";
import { Chance, type Shape } from "./chance.ts";

type Row = {
  readonly name: string;
  readonly shape: Shape;
  readonly shoes: number;
  readonly testers: number;
  readonly wear: number;
  readonly step: number;
  readonly flat: boolean;
  /** Share of shoes that scatter twice as far. */
  readonly divided: number;
  /** How many times as far the first shoe's ratings scatter. */
  readonly first: number;
};

const usual: Row = {
  name: "normal noise",
  shape: "normal",
  shoes: 20,
  testers: 6,
  wear: 4,
  step: 0.5,
  flat: false,
  divided: 0,
  first: 1,
};

const rows: readonly Row[] = [
  usual,
  { ...usual, name: "the same, 48 shoes", shoes: 48 },
  { ...usual, name: "t(4)", shape: "t(4)" },
  { ...usual, name: "skewed", shape: "skewed" },
  { ...usual, name: "ratings of three levels", step: 4.5 },
  { ...usual, name: "two testers", testers: 2, wear: 2 },
  { ...usual, name: "a tester who gives everything the same", flat: true },
  { ...usual, name: "one shoe in ten divides, ×2", divided: 0.1 },
  { ...usual, name: "one of the two divides, ×2", first: 2 },
  { ...usual, name: "the same, 48 shoes", shoes: 48, first: 2 },
  { ...usual, name: "the same, ×3", shoes: 48, first: 3 },
  { ...usual, name: "the same, ×2, t(4)", shoes: 48, first: 2, shape: "t(4)" },
];

function invent(row: Row, seed: number) {
  const chance = new Chance(seed);
  const felt: number[] = [];
  for (let i = 0; i < row.shoes; i++) {
    felt.push(
      i % 4 === 1 ? felt[i - 1] : i % 4 === 3 ? felt[i - 1] + 2 : 5 + 0.7 * chance.normal(),
    );
  }
  const lenient = Array.from({ length: row.testers }, () => 0.7 * chance.normal());
  const ratings = felt.flatMap((value, shoe) => {
    const wide = shoe === 0 && row.first > 1 ? row.first : chance.next() < row.divided ? 2 : 1;
    const worn = lenient.map((_, tester) => ({ tester, draw: chance.next() }))
      .sort((a, b) => a.draw - b.draw).slice(0, row.wear);
    return worn.map(({ tester }) => {
      const exact = value + lenient[tester] + 0.9 * wide * chance.noise(row.shape);
      const stepped = 1 + row.step * Math.round((exact - 1) / row.step);
      const rating = row.flat && tester === 0 ? 6 : Math.min(10, Math.max(1, stepped));
      return [`t${tester}`, `s${shoe}`, rating] as const;
    });
  });
  const bench = smallBench([], { ratings });
  return {
    felt,
    bench: {
      ...bench,
      settings: { ...bench.settings, rating: { ...bench.settings.rating, step: row.step } },
    },
  };
}

const panels = Number(Deno.args[0] ?? 500);
console.log("| row | differ | single | together | 2 points seen |");
console.log("| --- | ------ | ------ | -------- | ------------- |");
for (const row of rows) {
  const counts = { differ: [0, 0], single: [0, 0], together: [0, 0], seen: [0, 0] };
  const count = (name: keyof typeof counts, hit: boolean) => {
    counts[name][0] += Number(hit);
    counts[name][1]++;
  };
  for (let seed = 1; seed <= panels; seed++) {
    const { felt, bench } = invent(row, seed);
    const ask = (...shoes: number[]) =>
      shoeComparison(bench, {
        shoes: shoes.map((shoe) => `s${shoe}`),
        metrics: [],
        attributes: ["feel"],
        reliability: { metrics: [] },
      }).comparisons;
    const holds = ({ a, b, difference: { lower, upper } }: ReturnType<typeof ask>[number]) => {
      const apart = felt[Number(a.slice(1))] - felt[Number(b.slice(1))];
      return lower === null || upper === null || (lower <= apart && apart <= upper);
    };
    const fours = row.first > 1 ? 1 : row.shoes / 4;
    for (let four = 0; four < fours; four++) {
      const at = 4 * four;
      count("differ", ask(at, at + 1)[0].word.startsWith("differ"));
      for (const other of [5, 10, 15]) count("single", holds(ask(at, (at + other) % row.shoes)[0]));
    }
    count("together", ask(0, 5, 10, 15).every(holds));
    // Of shoes that divide nobody: the price.
    for (const at of [6, 10, 14]) count("seen", ask(at, at + 1)[0].word.startsWith("differ"));
  }
  const figures = Object.values(counts).map(([hits, all]) => (100 * hits / all).toFixed(1));
  console.log(`| ${row.name} | ${figures.join(" | ")} |`);
}
