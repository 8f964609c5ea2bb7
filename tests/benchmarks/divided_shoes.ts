/**
 * How often is a shoe said to divide a panel that no shoe divides, whatever the ratings look like?
 *
 *     deno run -A tests/benchmarks/divided_shoes.ts [benches = 300]
 *
 * Ratings are invented here: 48 shoes, six impressions, noise of each tester alike for all shoes. In rows
 * with a divided shoe the noise of one shoe of 48 is three times as large on the first impression.
 */
import { panelAgreement } from "../../lib/studies/panel/panel_agreement.ts";
import { smallBench } from "../studies/small_bench.ts";
import { Chance, type Shape } from "./chance.ts";

type Row = {
  readonly shape: Shape;
  readonly testers: number;
  readonly step: number;
  readonly flat: boolean;
  readonly divided: number;
};

const usual: Row = { shape: "normal", testers: 6, step: 0.5, flat: false, divided: 1 };
const rows: Readonly<Record<string, Row>> = {
  "normal noise": usual,
  "t(4)": { ...usual, shape: "t(4)" },
  "skewed": { ...usual, shape: "skewed" },
  "ratings of three levels": { ...usual, step: 4.5 },
  "three testers": { ...usual, testers: 3 },
  "two testers": { ...usual, testers: 2 },
  "a flat tester": { ...usual, flat: true },
  "one shoe divides, x3": { ...usual, divided: 3 },
  "one shoe divides, x3, t(4)": { ...usual, shape: "t(4)", divided: 3 },
};

function invent(row: Row, seed: number) {
  const chance = new Chance(seed);
  const impressions = ["a", "b", "c", "d", "e", "f"];
  const lenient = Array.from({ length: row.testers }, () => 0.6 * chance.normal());
  const ratings = impressions.flatMap((attribute, k) =>
    Array.from({ length: 48 }, (_, shoe) => {
      const felt = 5.5 + chance.normal();
      const wide = shoe === 7 && k === 0 ? row.divided : 1;
      return lenient.flatMap((shift, tester) => {
        if (row.testers > 3 && chance.next() < 0.2) return [];
        const exact = felt + shift + 0.9 * wide * chance.noise(row.shape);
        const stepped = 1 + row.step * Math.round((exact - 1) / row.step);
        const rating = row.flat && tester === 0 ? 6 : Math.min(10, Math.max(1, stepped));
        return [{ attribute, tester: `t${tester}`, shoe: `s${shoe}`, rating }];
      });
    }).flat()
  );
  const plain = smallBench([], {
    ratings: ratings.map(({ tester, shoe, rating }) => [tester, shoe, rating] as const),
  });
  return {
    ...plain,
    settings: {
      ...plain.settings,
      attributes: impressions.map((id) => ({ id, title: id, better: "higher" as const })),
    },
    impressions: plain.impressions.map((one, i) => ({ ...one, attribute: ratings[i].attribute })),
  };
}

const [benches = 300] = Deno.args.map(Number);
console.log("| row | a shoe named, % | the divided one, % |");
console.log("| --- | --- | --- |");
for (const [name, row] of Object.entries(rows)) {
  let [named, right] = [0, 0];
  for (let seed = 1; seed <= benches; seed++) {
    const { attributes } = panelAgreement(invent(row, seed), { seed, resamples: 100 });
    const found = attributes.flatMap(({ attribute, divided }) =>
      divided.filter((shoe) => shoe.found).map(({ shoe_id }) => `${attribute} ${shoe_id}`)
    );
    const planted = row.divided > 1 && found.includes("a s7");
    if (planted) right++;
    if (found.length > (planted ? 1 : 0)) named++;
  }
  const share = (count: number) => (100 * count / benches).toFixed(1);
  console.log(`| ${name} | ${share(named)} | ${row.divided > 1 ? share(right) : ""} |`);
}
