import assert from "node:assert/strict";
import { wearChart } from "../../../lib/charts/wear_chart.ts";
import { CantAnswer } from "../../../lib/records/cant_answer.ts";
import type { Bench } from "../../../lib/records/types.ts";
import { trialReliability } from "../../../lib/studies/repeatability/trial_reliability.ts";
import { shoeValues } from "../../../lib/studies/shoes/shoe_values.ts";
import { wearChange } from "../../../lib/studies/wear/wear_change.ts";
import { wearWords } from "../../../lib/words/wear/wear_words.ts";
import { assertClose } from "../../assert_close.ts";
import { ownNormals } from "../drift/drifting_bench.ts";
import { lostValues, smallBench, type SmallVisit } from "../small_bench.ts";

/** Sixteen shoes benched new in two sessions each; the first `worn` of them again after 20 h, changed by `by`. */
function wornBench(seed: number, worn: number, by: number): Bench {
  const normal = ownNormals(seed);
  const visits: (SmallVisit & { readonly hours: number | null })[] = [];
  for (let s = 0; s < 16; s++) {
    const level = 50 + 3 * normal();
    const visit = (session: string, hours: number | null) => {
      const own = level + 0.3 * normal() + (hours === null ? 0 : by);
      return { shoe: `s${s}`, session, hours, values: [0, 1, 2].map(() => own + 0.5 * normal()) };
    };
    visits.push(visit("d0", null), visit("d1", null));
    if (s < worn) visits.push(visit("d2", 20));
  }
  const bench = smallBench(visits);
  const hours = visits.flatMap(({ hours, values }) => values.map(() => hours));
  return {
    ...bench,
    trials: bench.trials.map((trial, i) => ({ ...trial, hours_played: hours[i] })),
  };
}
const studied = (bench: Bench) => {
  const reliability = trialReliability(bench, { seed: 1, resamples: 100 });
  return wearChange(bench, { metric: "height", reliability });
};

Deno.test("a pair benched again after 20 h moves no published value: worn readings are kept apart", () => {
  const bench = wornBench(1, 6, -8);
  const fresh = {
    ...bench,
    trials: bench.trials.filter(({ hours_played }) => hours_played === null),
  };
  assert.deepEqual(shoeValues(bench, "height", null), shoeValues(fresh, "height", null));
});

Deno.test("wearChange() finds a planted change of −2 in size and says it of the mean", () => {
  const wear = studied(wornBench(2, 8, -2));
  assert.deepEqual(lostValues(wear), []);
  assert.equal(wear.pairs.length, 8);
  assert.ok(wear.mean_change.lower! < -2 && -2 < wear.mean_change.upper!);
  assert.match(wearWords(wear).sentence, /^With play height falls by .* on average of 8 pairs/);
  assert.ok(wear.pairs.every(({ hours }) => hours === 20));
  const svg = wearChart(wear);
  assert.match(svg.getAttribute("aria-label") ?? svg.outerHTML, /worn against new|With play/i);
});

Deno.test("limits of all pairs hold the true change together, and the mean's limits it too, on 90% or more of 80 benches", () => {
  let [together, means] = [0, 0];
  const benches = 80;
  for (let b = 0; b < benches; b++) {
    const { pairs, mean_change } = studied(wornBench(100 + b, 6, -1));
    if (pairs.every(({ change }) => change.lower! <= -1 && -1 <= change.upper!)) together++;
    if (mean_change.lower! <= -1 && -1 <= mean_change.upper!) means++;
  }
  assert.ok(together >= 0.9 * benches, `${together} of ${benches} together`);
  assert.ok(means >= 0.9 * benches, `${means} of ${benches}`);
});

Deno.test("the change of a pair is the difference of its means, and one pair alone is called one pair", () => {
  const wear = studied(wornBench(3, 1, -4));
  const [pair] = wear.pairs;
  assertClose(pair.change.estimate, pair.worn - pair.fresh, { within: 1e-12 });
  assert.equal(wear.mean_change.estimate, null);
  assert.equal(pair.against_others, null);
  assert.match(wearWords(wear).sentence, /after 20 h reads .* less in height than new .* one pair/);
});

Deno.test("a bench without a pair that was both new and worn can't answer, and says what is lacking", () => {
  assert.throws(() => studied(wornBench(4, 0, 0)), (error) => {
    assert.ok(error instanceof CantAnswer);
    assert.match(error.message, /both new and after more than 2 h/);
    return true;
  });
});

Deno.test("the mean's limits hold the truth on 85% or more of 60 benches where all worn pairs were benched on one odd day", () => {
  let held = 0;
  for (let b = 0; b < 60; b++) {
    const normal = ownNormals(700 + b);
    const visits: (SmallVisit & { readonly hours: number | null })[] = [];
    const levels = Array.from({ length: 14 }, () => 50 + 3 * normal());
    for (let d = 0; d < 10; d++) {
      const day = normal();
      const benched = d === 9 ? [0, 1, 2, 3, 4, 5, 6, 7] : [0, 1, 2 + d % 6, 8 + d % 6];
      for (const s of benched) {
        const worn = d === 9 && s > 1;
        const own = levels[s] + day + 0.3 * normal() - (worn ? 1 : 0);
        visits.push({
          shoe: `s${s}`,
          session: `d${d}`,
          hours: worn ? 20 : null,
          values: [0, 1, 2].map(() => own + 0.5 * normal()),
        });
      }
    }
    const bench = smallBench(visits, { references: ["s0", "s1"] });
    const hours = visits.flatMap(({ hours, values }) => values.map(() => hours));
    const trials = bench.trials.map((trial, i) => ({ ...trial, hours_played: hours[i] }));
    const { mean_change } = studied({ ...bench, trials });
    if (mean_change.lower! <= -1 && -1 <= mean_change.upper!) held++;
  }
  assert.ok(held >= 51, `${held} of 60`);
});

Deno.test("what a session shares is once in the mean's limits on the new side and once on the worn", () => {
  const visits = [0, 1, 2, 3].flatMap((s) => [
    { shoe: `s${s}`, session: "new", values: [50 + s, 50 + s] },
    { shoe: `s${s}`, session: "worn", values: [48 + s, 48 + s] },
  ]);
  const bench = smallBench(visits);
  const trials = bench.trials.map((trial) => ({
    ...trial,
    hours_played: trial.session_id === "worn" ? 20 : null,
  }));
  const [about] = trialReliability(bench, { seed: 1, resamples: 100 }).metrics;
  const components = [{ ...about.components[0], source: "session", variance: 4, levels: 50 }];
  const { mean_change } = wearChange({ ...bench, trials }, {
    metric: "height",
    reliability: { metrics: [{ ...about, components }] as typeof about[] },
  });
  assert.equal(mean_change.estimate, -2);
  // All four fell by the same, so only the luck of two days is left: t with 49 degrees times √(4 + 4).
  assertClose(mean_change.upper! - mean_change.estimate!, 2.00958 * Math.sqrt(8), { within: 1e-4 });
});
