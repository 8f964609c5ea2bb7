/**
 * What does a tester who strikes every reading that is flagged make of the noise? Benches of 24 shoes, two visits
 * of five readings, true repeatability SD 1. Struck are the readings that the kit flags, again and again until it
 * flags none; or all that lie farther from their visit than some multiple of the SD, as an eye might.
 *
 * deno run -A --config tests/deno.json tests/benchmarks/struck_readings.ts [benches]
 */
import type { Bench } from "../../lib/records/types.ts";
import { repeatabilitySd } from "../../lib/statistics/repeatability_sd.ts";
import { visitsOf } from "../../lib/records/selection.ts";
import { flagTrials } from "../../lib/studies/repeatability/flag_trials.ts";
import { ownNormals } from "../studies/drift/drifting_bench.ts";
import { smallBench } from "../studies/small_bench.ts";

type Noise = "normal" | "t with 4 degrees of freedom" | "normal, one in fifty a slip of 6 SD";

/** Readings of known scatter. */
export function noisyBench(seed: number, noise: Noise): Bench {
  const normal = ownNormals(seed);
  const one = () => {
    if (noise === "normal") return normal();
    if (noise === "t with 4 degrees of freedom") {
      const squares = [0, 1, 2, 3].reduce((sum) => sum + normal() ** 2, 0);
      return normal() / Math.sqrt(squares / 4) / Math.SQRT2; // variance 2 without the last factor
    }
    return normal() + (Math.abs(normal()) > 2.3263 ? (normal() > 0 ? 6 : -6) : 0);
  };
  return smallBench(
    Array.from({ length: 48 }, (_, v) => ({
      shoe: `s${Math.floor(v / 2)}`,
      session: `d${v % 12}`,
      values: Array.from({ length: 5 }, () => 50 + 3 * Math.sin(Math.floor(v / 2)) + one()),
    })),
  );
}

/** The bench with all flagged readings struck, until none is flagged. */
export function strikeFlagged(bench: Bench, alpha: number): Bench {
  for (let round = 0, now = bench;; round++) {
    const lines = new Set(flagTrials(visitsOf(now, "height"), { alpha }).map(({ line }) => line));
    if (lines.size === 0 || round > 50) return now;
    now = struck(now, lines);
  }
}

/** The bench with every reading struck that lies farther than `reach` SDs from the mean of its visit. */
export function strikeByEye(bench: Bench, reach: number): Bench {
  const visits = visitsOf(bench, "height");
  const sd = sdOf(bench);
  const lines = visits.flatMap(({ trials, values }) => {
    const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
    return trials.flatMap(({ value, line }) => Math.abs(value! - mean) > reach * sd ? [line] : []);
  });
  return struck(bench, new Set(lines));
}

function struck(bench: Bench, lines: ReadonlySet<number>): Bench {
  return {
    ...bench,
    trials: bench.trials.map((trial) =>
      lines.has(trial.line) ? { ...trial, excluded: "stood out" } : trial
    ),
  };
}

function sdOf(bench: Bench): number {
  return repeatabilitySd(visitsOf(bench, "height").map(({ values }) => values)).estimate!;
}

/** Share struck, and the SD left as a multiple of the true one and of that of all readings; the MDC goes with it. */
export function struckFactor(benches: number, noise: Noise, strike: (bench: Bench) => Bench) {
  let [share, ofTruth, ofAll, truth] = [0, 0, 0, 0];
  for (let b = 0; b < benches; b++) {
    const bench = noisyBench(300 + b, noise);
    const left = strike(bench);
    share += left.trials.filter(({ excluded }) => excluded !== null).length / left.trials.length;
    truth += sdOf(bench) ** 2;
    ofTruth += sdOf(left);
    ofAll += sdOf(left) / sdOf(bench);
  }
  return {
    struck: share / benches,
    of_all: ofAll / benches,
    of_truth: ofTruth / benches / Math.sqrt(truth / benches),
  };
}

if (import.meta.main) {
  const benches = Number(Deno.args[0] ?? 400);
  const ways: readonly (readonly [string, (bench: Bench) => Bench])[] = [
    ["flagged, 1 metric (alpha 0.05)", (bench) => strikeFlagged(bench, 0.05)],
    ["flagged, 10 metrics (alpha 0.005)", (bench) => strikeFlagged(bench, 0.005)],
    ["farther than 2.5 SD", (bench) => strikeByEye(bench, 2.5)],
    ["farther than 2 SD", (bench) => strikeByEye(bench, 2)],
    ["farther than 1.5 SD", (bench) => strikeByEye(bench, 1.5)],
  ];
  for (
    const noise of [
      "normal",
      "t with 4 degrees of freedom",
      "normal, one in fifty a slip of 6 SD",
    ] as const
  ) {
    for (const [way, strike] of ways) {
      const found = struckFactor(benches, noise, strike);
      console.log(
        `${noise} | ${way} | struck ${(100 * found.struck).toFixed(1)}% | s_r and MDC × ${
          found.of_all.toFixed(3)
        }`,
      );
    }
  }
}
