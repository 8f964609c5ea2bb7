import { visitsOf } from "../../../lib/records/selection.ts";
import { flagTrials } from "../../../lib/studies/repeatability/flag_trials.ts";
import assert from "node:assert/strict";
import { loadBench } from "../../../lib/records/load_bench.ts";
import type { Bench } from "../../../lib/records/types.ts";
import { trialReliability } from "../../../lib/studies/repeatability/trial_reliability.ts";
import { reliabilityWarnings } from "../../../lib/words/repeatability/reliability_result.ts";
import { reliabilityFinding } from "../../../lib/words/repeatability/reliability_sentence.ts";
import { trialSummary } from "../../../lib/words/repeatability/trial_summary.ts";
import {
  noisyBench,
  strikeByEye,
  strikeFlagged,
  struckFactor,
} from "../../benchmarks/struck_readings.ts";
import { ownNormals } from "../drift/drifting_bench.ts";
import { assertClose } from "../../assert_close.ts";
import { smallBench } from "../small_bench.ts";

/** Twenty shoes whose heights differ by an SD of 0.8 cm and repeat to 0.15, read to a step. */
function steppedBench(step: number, resolution: number | null = null): Bench {
  const normal = ownNormals(5);
  return smallBench(
    Array.from({ length: 20 }, (_, s) => {
      const level = 50 + 0.8 * normal();
      return {
        shoe: `s${s}`,
        session: `d${s % 4}`,
        values: [0, 1, 2].map(() => step * Math.round((level + 0.15 * normal()) / step)),
      };
    }),
    { about: { resolution } },
  );
}

Deno.test("heights read to whole centimetres are named, with the steps in SDs, how many shoes share a value, and a step that would do", () => {
  const study = trialReliability(steppedBench(1), { seed: 1, resamples: 100 });
  const [metric] = study.metrics;
  const { step, shared, shoes, of_spread } = metric.steps!;
  assert.deepEqual([step, shoes], [1, 20]);
  assert.ok(shared > 10 && of_spread! > 0.8 && of_spread! < 2);
  const said =
    /readings are taken in steps of 1\.0 cm \(.* times the SD between shoes.*\), and \d+ of 20 shoes share their value with another: read it to 0\.\d+ cm or finer/i;
  assert.match(reliabilityWarnings(study).join(" "), said);
  assert.match(trialSummary(metric).know.join(" "), said);
  assert.match(reliabilityFinding(study.metrics), said);
});

Deno.test("the same heights read to a millimetre are not, whether the step is seen or stated", () => {
  for (const resolution of [null, 0.1]) {
    const [metric] = trialReliability(steppedBench(0.1, resolution), { seed: 1, resamples: 100 })
      .metrics;
    assert.equal(metric.steps, null);
  }
});

Deno.test("a stated resolution counts where the file has finer digits than the instrument", () => {
  const [metric] = trialReliability(steppedBench(0.01, 2), { seed: 1, resamples: 100 }).metrics;
  assert.equal(metric.steps!.step, 2);
});

Deno.test("no test of the demo is read in steps as coarse as its shoes differ", async () => {
  const demo = await loadBench(new URL("../../../data-demo", import.meta.url).pathname);
  const { metrics } = trialReliability(demo, { seed: 1, resamples: 100 });
  assert.deepEqual(metrics.filter(({ steps }) => steps !== null).map(({ metric }) => metric), []);
});

Deno.test("striking what the kit flags leaves the SD of normal readings as it is, and takes no more than a fiftieth of heavy-tailed ones", () => {
  const flagged = (bench: Bench) => strikeFlagged(bench, 0.005);
  const normal = struckFactor(40, "normal", flagged);
  assert.ok(normal.struck < 0.001 && normal.of_all > 0.99);
  const heavy = struckFactor(40, "t with 4 degrees of freedom", flagged);
  assert.ok(heavy.struck < 0.002 && heavy.of_all > 0.98, `${heavy.of_all}`);
});

Deno.test("striking the farthest 2 to 3% by eye leaves nine tenths of a normal SD and four fifths of a heavy-tailed one", () => {
  const normal = struckFactor(40, "normal", (bench) => strikeByEye(bench, 2));
  assert.ok(normal.struck > 0.02 && normal.struck < 0.03);
  assert.ok(Math.abs(normal.of_all - 0.9) < 0.03, `${normal.of_all}`);
  const heavy = struckFactor(
    40,
    "t with 4 degrees of freedom",
    (bench) => strikeByEye(bench, 2),
  );
  assert.ok(Math.abs(heavy.of_all - 0.8) < 0.03, `${heavy.of_all}`);
  assert.equal(noisyBench(1, "normal").trials.length, 240);
});

Deno.test("of three slips of ten SD among 240 normal readings nine in ten are flagged, though together they make tails look heavy", () => {
  let found = 0;
  for (let seed = 1; seed <= 40; seed++) {
    const bench = noisyBench(seed, "normal");
    const slips = [7, 54, 101];
    const trials = bench.trials.map((trial, i) =>
      slips.includes(i) ? { ...trial, value: trial.value! + 10 } : trial
    );
    const lines = flagTrials(visitsOf({ ...bench, trials }, "height"), { alpha: 0.005 })
      .map(({ line }) => line);
    found += slips.filter((i) => lines.includes(trials[i].line)).length;
  }
  assert.ok(found / 120 > 0.9, `${found} of 120`);
});

// In a visit of two readings alike and one g higher the distances over √(1 - 1/3) square to g², and the largest is g √(2/3).
Deno.test("a reading ten steps off is flagged at its distance less half a step over the SD, worked by hand; one step off is rounding", () => {
  const bench = (highest: readonly number[]) =>
    smallBench(
      highest.map((up, s) => ({ shoe: `s${s}`, session: "one", values: [10, 10, 10 + up] })),
    );
  const flags = (highest: readonly number[]) =>
    flagTrials(visitsOf(bench(highest), "height"), { alpha: 0.01 });
  const gaps = [...Array<number>(20).fill(0), ...Array<number>(10).fill(1), 10];
  const [flag, ...others] = flags(gaps);
  assert.deepEqual(others, []);
  assert.deepEqual([flag.shoe_id, flag.value], ["s30", 20]);
  const sd = Math.sqrt((10 * 1 + 100) / (3 * 31 - 1));
  assertClose(flag.statistic, (10 * Math.sqrt(2 / 3) - 0.5) / sd, { relative: 1e-9 });
  assert.match(flag.method, /half a rounding step of 1 taken off/);
  assert.deepEqual(flags([...Array<number>(60).fill(0), 1]), []);
});
