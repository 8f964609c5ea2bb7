/**
 * How often are two equal models called different, where pairs of one model differ?
 *
 *     deno run -A --config tests/deno.json tests/benchmarks/equal_models.ts [benches [design]]
 *
 * Twenty-four models in twelve couples of one true value each, two reference shoes in every one of twelve
 * sessions; a generator of its own (`ownNormals`). The spread between couples is 3, the noise of a session
 * 0.3, of a visit 0.3, of a trial 0.5; pairs of one model scatter by 0, 0.15, 0.3 or 0.5 of the spread. One couple
 * is asked about at a time. With one pair of each model nothing on the bench tells how far pairs differ:
 * there the answer is of these pairs, of the models it says "can't tell", and it counts as false where the interval
 * leaves out how these pairs differ. What it says of the models too, up to a scatter of pairs, counts as false where
 * pairs scatter by less.
 */
import { shoeComparison } from "../../lib/studies/comparison/shoe_comparison.ts";
import { trialReliability } from "../../lib/studies/repeatability/trial_reliability.ts";
import type { Bench } from "../../lib/records/types.ts";
import { ownNormals } from "../studies/drift/drifting_bench.ts";
import { smallBench, type SmallVisit } from "../studies/small_bench.ts";

export type PairDesign =
  | "two pairs of each, on two days"
  | "two pairs of each, side by side"
  | "a second pair of one model in four"
  | "a second pair of three models"
  | "one pair of each";

export const pairDesigns: readonly PairDesign[] = [
  "two pairs of each, on two days",
  "two pairs of each, side by side",
  "a second pair of one model in four",
  "a second pair of three models",
  "one pair of each",
];

const models = 24;
const days = 12;
const spread = 3;

const hasSecond = (model: number, design: PairDesign) => {
  switch (design) {
    case "one pair of each":
      return false;
    case "a second pair of three models":
      return model < 3;
    case "a second pair of one model in four":
      return model % 8 < 2;
    default:
      return true;
  }
};

/** A bench of couples m0 and m1, m2 and m3, …, and the true value of every pair by `model pair`. */
export function couplesBench(
  seed: number,
  design: PairDesign,
  pairSd: number,
): { readonly bench: Bench; readonly truth: ReadonlyMap<string, number> } {
  const normal = ownNormals(seed);
  const session = Array.from({ length: days }, () => 0.3 * normal());
  const truth = new Map<string, number>();
  const visits: (SmallVisit & { readonly pair: number })[] = [];
  const visit = (shoe: string, pair: number, day: number) => {
    const level = truth.get(`${shoe} ${pair}`)! + session[day] + 0.3 * normal();
    visits.push({
      shoe,
      pair,
      session: `d${day}`,
      values: [0, 1, 2].map(() => level + 0.5 * normal()),
    });
  };
  for (const shoe of ["ref-1", "ref-2"]) {
    truth.set(`${shoe} 1`, 50 + spread * normal());
    for (let day = 0; day < days; day++) visit(shoe, 1, day);
  }
  let couple = 0;
  for (let m = 0; m < models; m++) {
    if (m % 2 === 0) couple = 50 + spread * normal();
    for (const pair of hasSecond(m, design) ? [1, 2] : [1]) {
      truth.set(`m${m} ${pair}`, couple + pairSd * normal());
      const apart = pair === 2 && design !== "two pairs of each, side by side" ? 5 : 0;
      visit(`m${m}`, pair, (m + apart) % days);
    }
  }
  const pairs = visits.flatMap(({ pair, values }) => values.map(() => pair));
  const plain = smallBench(visits, { references: ["ref-1", "ref-2"] });
  return {
    bench: { ...plain, trials: plain.trials.map((trial, i) => ({ ...trial, pair: pairs[i] })) },
    truth,
  };
}

/** Shares of all couples; errors from the scatter between benches. */
export type CalledDifferent = {
  /** Couples of models, equal in truth, of which it is said that the models differ. */
  readonly differ: number;
  readonly standard_error: number;
  /** Couples of which it is said that the pairs benched differ. */
  readonly pairs_differ: number;
  /** Couples of which it is said that the models differ, up to a scatter of pairs that pairs here keep to. */
  readonly held_wrongly: number;
  /** Couples with one pair each whose interval leaves out how these pairs differ; null without such couples. */
  readonly pairs_missed: number | null;
  /** Couples whose answer says that it is said of the pairs benched. */
  readonly of_these_pairs: number;
};

/** Asks about every couple of `benches` benches, one by one. */
export function calledDifferent(
  design: PairDesign,
  pairSd: number,
  { benches, seed, asked = () => true }: {
    readonly benches: number;
    readonly seed: number;
    readonly asked?: (model: number) => boolean;
  },
): CalledDifferent {
  const shares: number[] = [];
  let [missed, single, told, all, apart, wrong] = [0, 0, 0, 0, 0, 0];
  for (let b = 0; b < benches; b++) {
    const { bench, truth } = couplesBench(seed + b, design, pairSd);
    const reliability = trialReliability(bench, { seed: 1, resamples: 100 });
    let [differ, couples] = [0, 0];
    for (let m = 0; m < models; m += 2) {
      if (!asked(m)) continue;
      const answer = shoeComparison(bench, {
        shoes: [`m${m}`, `m${m + 1}`],
        metrics: ["height"],
        reliability,
      });
      const [{ word, models_word, models_differ_below, difference, a, b }] = answer.comparisons;
      couples++;
      all++;
      if (models_word.startsWith("differ")) differ++;
      if (word.startsWith("differ")) apart++;
      if (models_differ_below !== null && models_differ_below > pairSd) wrong++;
      if (answer.remarks.some(({ remark }) => remark === "one-pair")) told++;
      if (!hasSecond(m, design)) {
        single++;
        const true_apart = truth.get(`${a} 1`)! - truth.get(`${b} 1`)!;
        if (difference.lower! > true_apart || difference.upper! < true_apart) missed++;
      }
    }
    shares.push(differ / couples);
  }
  const centre = shares.reduce((sum, x) => sum + x, 0) / benches;
  const scatter = shares.reduce((sum, x) => sum + (x - centre) ** 2, 0) / Math.max(1, benches - 1);
  return {
    differ: centre,
    standard_error: Math.sqrt(scatter / benches),
    pairs_missed: single === 0 ? null : missed / single,
    pairs_differ: apart / all,
    held_wrongly: wrong / all,
    of_these_pairs: told / all,
  };
}

if (import.meta.main) {
  const benches = Number(Deno.args[0] ?? 60);
  const percent = (share: number | null) => share === null ? "" : (100 * share).toFixed(1);
  const groups = (design: PairDesign) =>
    design === "a second pair of one model in four"
      ? [["two pairs", (m: number) => m % 8 < 2], ["one pair", (m: number) => m % 8 >= 2]] as const
      : design === "a second pair of three models"
      ? [["one pair", (m: number) => m > 3]] as const
      : [["", () => true]] as const;
  for (const design of pairDesigns.filter((one) => one.includes(Deno.args[1] ?? ""))) {
    for (const [which, asked] of groups(design)) {
      for (const share of [0, 0.15, 0.3, 0.5]) {
        const found = calledDifferent(design, spread * share, { benches, seed: 1, asked });
        console.log(
          `| ${design}${which === "" ? "" : `: asked ${which}`} | ${share} | ${
            percent(found.differ)
          } ± ${percent(found.standard_error)} | ${percent(found.pairs_differ)} | ${
            percent(found.held_wrongly)
          } | ${percent(found.pairs_missed)} | ${percent(found.of_these_pairs)} |`,
        );
      }
    }
  }
}
