/**
 * Do advice on weights and verdicts on rules follow what is true?
 *
 * Shoes are drawn in two ways that share no code with each other nor with what is judged. What is true of any
 * weights is their rank correlation with the ratings of 10,000 other shoes. A row of the yardstick is a
 * number of shoes, how wrong the rule in force is, and something odd about them. Run: deno run --allow-read
 * tests/benchmarks/rule_truth.ts [benches] [rows that match]
 */
import { estimateOf, rankGain } from "../../lib/statistics/rank_gain.ts";
import { reviseWeights } from "../../lib/statistics/revise_weights.ts";
import { adviceOn, simultaneousLimit } from "../../lib/studies/index/index_recalibration.ts";
import { additiveShoes, type Row, type ShoeMaker } from "./rule_benches_additive.ts";
import { inheritedShoes } from "./rule_benches_inherited.ts";

const benches = Number(Deno.args[0] ?? 300);
const wanted = new RegExp(Deno.args[1] ?? "");
/** Fewer than a study takes, for time: limits are a little noisier. */
const DRAWS = 300;
const MIN_GAIN = 0.05;

const tree = { maker: 0.3, line: 0.4 };
const rows: readonly (readonly [name: string, row: Row])[] = [
  // Few shoes: what a young bench may be told.
  ...[7, 12].flatMap((shoes) =>
    [0, 0.3].map((gain) => [`${shoes} ${wrong(gain)}`, { shoes, gain }] as const)
  ),
  ...[30, 48, 100].flatMap((shoes) =>
    [0, 0.05, 0.15, 0.3].map((gain) => [`${shoes} ${wrong(gain)}`, { shoes, gain }] as const)
  ),
  ...[[30, 0], [30, 0.15], [48, 0], [48, 0.15], [48, 0.3], [100, 0], [100, 0.15]].map((
    [shoes, gain],
  ) => [`${shoes} ${wrong(gain)}, kin`, { shoes, gain, tree }] as const),
  ...([
    "useless metric",
    "correlated metrics",
    "worthless bonus",
    "half lack a term",
    "skewed ratings",
    "weak relation",
  ] as const).flatMap((twist) =>
    [0, 0.15].map((gain) => [`48 ${wrong(gain)}, ${twist}`, { shoes: 48, gain, twist }] as const)
  ),
  ...[[7, undefined], [12, undefined], [7, tree], [12, tree], [48, undefined], [30, tree], [
    48,
    tree,
  ]].map(([shoes, kin]) => {
    const row: Row = {
      shoes: shoes as number,
      gain: 0,
      twist: "nothing is true",
      tree: kin as Row["tree"],
    };
    return [`${shoes} nothing is true${kin === undefined ? "" : ", kin"}`, row] as const;
  }),
];

function wrong(gain: number): string {
  return gain === 0 ? "right" : `wrong by ${gain}`;
}

function ranked(list: readonly number[]): Float64Array {
  const order = [...list.keys()].sort((a, b) => list[a] - list[b]);
  const ranks = new Float64Array(list.length);
  for (let from = 0; from < order.length;) {
    let to = from;
    while (to < order.length && list[order[to]] === list[order[from]]) to++;
    for (let k = from; k < to; k++) ranks[order[k]] = (from + to - 1) / 2;
    from = to;
  }
  return ranks;
}

function correlation(a: Float64Array, b: Float64Array): number {
  const middle = (a.length - 1) / 2;
  let [ab, aa, bb] = [0, 0, 0];
  for (let i = 0; i < a.length; i++) {
    ab += (a[i] - middle) * (b[i] - middle);
    aa += (a[i] - middle) ** 2;
    bb += (b[i] - middle) ** 2;
  }
  return ab / Math.sqrt(aa * bb);
}

const scoresOf = (parts: readonly (readonly number[])[], weights: readonly number[]) =>
  parts.map((row) => row.reduce((sum, part, j) => sum + part * weights[j], 0));

/** True rank correlations, and weights in force that lose what the row asks for. */
function truthOf(maker: ShoeMaker, { gain }: Row) {
  const many = maker.draw(10_000, 987_654_321, false);
  const felt = ranked(many.ratings);
  const truly = (weights: readonly number[]) =>
    correlation(ranked(scoresOf(many.parts, weights)), felt);
  const best = truly(maker.planted);
  let [low, high] = [0, gain > 0 ? 1 : 0];
  for (let step = 0; step < 12 && gain > 0; step++) {
    const middle = (low + high) / 2;
    if (best - truly(maker.inForce(middle)) > gain) high = middle;
    else low = middle;
  }
  return { truly, best, inForce: maker.inForce((low + high) / 2) };
}

type Counts = Map<string, { readonly sum: number; readonly all: number }>;

function oneBench(
  seed: number,
  { maker, row, truth, count }: {
    readonly maker: ShoeMaker;
    readonly row: Row;
    readonly truth: ReturnType<typeof truthOf>;
    readonly count: (name: string, value: number | boolean) => void;
  },
): void {
  const { parts, ratings, makers, lines } = maker.draw(row.shoes, seed, true);
  const { truly, inForce } = truth;
  const groups = { outer: makers, inner: lines };
  const confidence = 0.95;
  const about = { confidence, n: ratings.length, method: "" };
  const equal = inForce.map(() => 1 / inForce.length);
  const revision = reviseWeights(parts, ratings, { old: inForce, groups, draws: DRAWS, seed });
  const asProposal = (weights: readonly number[]) =>
    rankGain({
      values: ratings,
      old: scoresOf(parts, inForce),
      updated: scoresOf(parts, weights),
    }, { groups, confidence, seed, draws: DRAWS }).gain;
  const equalGain = asProposal(equal);
  const others = revision.candidates.filter(({ candidate }) => candidate !== "weights in force");
  const own = others.find(({ candidate }) => candidate === "new weights")!;
  const gain = estimateOf(own.gains, about);
  const highest = Math.max(
    simultaneousLimit(others, confidence),
    equalGain.upper!,
    ...others.filter(({ candidate }) => candidate !== "equal weights")
      .map(({ gains }) => estimateOf(gains, about).upper!),
  );
  const advice = adviceOn(gain, highest, MIN_GAIN);
  const base = truly(inForce);
  const now = truly(own.weights);
  count("adopt", advice === "adopt");
  count("keep", advice === "keep");
  count("true gain of new weights", now - base);
  count("true gain of equal weights", truly(equal) - base);
  count("new at least equal", now >= truly(equal) - 1e-9);
  const holds = (low: number | null, value: number, high: number | null) =>
    low! - 1e-9 <= value && value <= high! + 1e-9;
  count("gain held", holds(gain.lower, now - base, gain.upper));
  count("gain not overstated", gain.lower! <= now - base + 1e-9);
  const whole = maker.planted.reduce((sum, weight) => sum + weight, 0);
  const total = inForce.reduce((sum, weight) => sum + weight, 0);
  revision.weights.forEach(({ lower, upper }, j) =>
    count("weights held", holds(lower, maker.planted[j] / whole * total, upper))
  );
  scoresOf(parts.slice(0, 6), maker.planted.map((weight) => weight / whole * total))
    .forEach((score, i) => {
      const drawn = revision.draws.map((weights) => scoresOf([parts[i]], weights)[0]);
      const { lower, upper } = estimateOf(Float64Array.from(drawn), about);
      count("scores held", holds(lower, score, upper));
    });
  // A change for the worse where the rule is right, the planted one where it is wrong.
  const proposed = row.gain > 0 ? maker.planted : maker.inForce(1);
  const proposal = asProposal(proposed);
  const trueGain = truly(proposed) - base;
  count("proposal adopted", proposal.lower! >= MIN_GAIN);
  count("proposal kept out", proposal.upper! < MIN_GAIN);
  count("its gain held", holds(proposal.lower, trueGain, proposal.upper));
}

const generators = [["additive", additiveShoes], ["inherited", inheritedShoes]] as const;
for (const [way, make] of generators) {
  for (const [name, row] of rows) {
    if (!wanted.test(`${way} ${name}`)) continue;
    const maker = make(row);
    const truth = truthOf(maker, row);
    const counts: Counts = new Map();
    const count = (key: string, value: number | boolean) => {
      const { sum, all } = counts.get(key) ?? { sum: 0, all: 0 };
      counts.set(key, { sum: sum + Number(value), all: all + 1 });
    };
    for (let seed = 1; seed <= benches; seed++) oneBench(seed, { maker, row, truth, count });
    const share = (key: string) => (100 * counts.get(key)!.sum / counts.get(key)!.all).toFixed(1);
    const mean = (key: string) => (counts.get(key)!.sum / counts.get(key)!.all).toFixed(3);
    console.log([
      `${way} ${name}`,
      share("adopt"),
      share("keep"),
      mean("true gain of new weights"),
      mean("true gain of equal weights"),
      (truth.best - truth.truly(truth.inForce)).toFixed(3),
      share("new at least equal"),
      share("weights held"),
      share("gain held"),
      share("gain not overstated"),
      share("scores held"),
      share("proposal adopted"),
      share("proposal kept out"),
      share("its gain held"),
    ].join(" | "));
  }
}
