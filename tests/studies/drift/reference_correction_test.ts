import assert from "node:assert/strict";
import { loadBench } from "../../../lib/records/load_bench.ts";
import { type Visit, visitsOf } from "../../../lib/records/selection.ts";
import {
  correctionOf,
  correctionVariance,
  referenceCorrection,
} from "../../../lib/studies/drift/reference_correction.ts";
import { shoeComparison } from "../../../lib/studies/comparison/shoe_comparison.ts";
import { trialReliability } from "../../../lib/studies/repeatability/trial_reliability.ts";
import { metricNoise, shoeValues } from "../../../lib/studies/shoes/shoe_values.ts";
import { pairNoise } from "../../../lib/studies/repeatability/pair_noise.ts";
import { publishedVisits } from "../../../lib/studies/shoes/published_visits.ts";
import { tQuantile } from "../../../lib/statistics/distributions.ts";
import { assertClose } from "../../assert_close.ts";
import { correctionCoverage } from "../../benchmarks/correction_coverage.ts";
import { inR, rVector, testInR } from "../../statistics/in_r.ts";
import { smallBench } from "../small_bench.ts";
import { driftingBench, type DriftStory } from "./drifting_bench.ts";

const demoPath = new URL("../../../data-demo", import.meta.url).pathname;
const demo = await loadBench(demoPath);
const truth = JSON.parse(await Deno.readTextFile(`${demoPath}/truth.json`));
const references = ["ref-1", "ref-2"];
const benchOf = (story: DriftStory, seed = 4) =>
  smallBench(driftingBench(seed, story).visits, { references });
const visitsIn = (story: DriftStory, seed = 4): readonly Visit[] =>
  visitsOf(benchOf(story, seed), "height");

testInR(
  "referenceCorrection() has the effects and the covariance of R's lmer with a level for each shoe that came back",
  () => {
    const visits = visitsIn({ slope: 1.5, offset: 0.7 });
    const found = referenceCorrection(visits, { references })!;
    const back = visits.filter((v) =>
      new Set(
        visits.filter((o) => o.shoe_id === v.shoe_id).map((o) => o.session_id),
      ).size > 1
    );
    const column = <T>(of: (visit: Visit) => T) =>
      back.flatMap((visit) => visit.values.map(() => of(visit)));
    const text = (values: readonly string[]) =>
      `factor(c(${values.map((v) => `"${v}"`).join(",")}))`;
    const years = column(({ date }) =>
      (Date.parse(date) - Date.parse(found.origin.date)) / (365.25 * 86400000)
    );
    const [values, covariance] = inR(`suppressMessages(library(lme4))
d <- data.frame(y = ${rVector(back.flatMap(({ values }) => [...values]))}, shoe = ${
      text(column(({ shoe_id }) => shoe_id))
    }, session = ${text(column(({ session_id }) => session_id))}, rig = ${
      text(column(({ rig }) => rig!))
    }, years = ${rVector(years)})
m <- suppressMessages(lmer(y ~ shoe + rig + rig:years + (1 | session) + (1 | shoe:session), d,
  control = lmerControl(check.conv.singular = "ignore", optCtrl = list(xtol_abs = 1e-12, ftol_abs = 1e-14))))
at <- match(c("rigb", "riga:years", "rigb:years"), names(fixef(m)))
out(fixef(m)[at]); out(as.matrix(vcov(m))[at, at])`);
    assert.deepEqual(found.terms.map(({ id }) => id), [
      "rig b",
      "years on a",
      "years on b",
    ]);
    values.forEach((value, i) => assertClose(found.coefficients[i], value, { within: 1e-4 }));
    covariance.forEach((value, i) =>
      assertClose(found.covariance.flat()[i], value, {
        within: 2e-4 * covariance[0] + 1e-6,
      })
    );
  },
);

Deno.test("the corrected table of the demo lies nearer to the truth than the raw one on the metric that drifts, in intervals that hold it", () => {
  const id = truth.drift.metric;
  const corrected = {
    ...demo,
    settings: { ...demo.settings, corrected_metrics: [id] },
  };
  const off = (bench: typeof demo) => {
    const [about] = trialReliability(bench, { seed: 1, metrics: [id] }).metrics;
    return shoeValues(bench, id, metricNoise(about)).map((
      { shoe_id, value, standard_error },
    ) => ({
      by: value - truth.shoes[shoe_id].metrics[id],
      error: standard_error!,
    }));
  };
  const rms = (rows: ReturnType<typeof off>) =>
    Math.sqrt(rows.reduce((sum, { by }) => sum + by * by, 0) / rows.length);
  const [raw, brought] = [off(demo), off(corrected)];
  assertClose(rms(raw), 0.858, { within: 5e-4 });
  assertClose(rms(brought), 0.377, { within: 5e-4 });
  // What all values share, the error of the level they are told against, shifts all of them alike.
  const values = brought.filter(({ by, error }) => Math.abs(by) <= 1.96 * error).length;
  assert.ok(values >= 0.8 * brought.length, `${values} of ${brought.length}`);
  const [about] = trialReliability(corrected, { seed: 1, metrics: [id] }).metrics;
  const visits = Map.groupBy(publishedVisits(corrected, id), ({ shoe_id }) => shoe_id);
  const shoes = [...visits.keys()].sort();
  let [held, asked] = [0, 0];
  shoes.forEach((a, i) =>
    shoes.slice(i + 1).forEach((b, j) => {
      const { variance, freedom } = pairNoise(visits.get(a)!, visits.get(b)!, about)!;
      asked++;
      const by = brought[i].by - brought[i + 1 + j].by;
      if (Math.abs(by) <= tQuantile(0.975, freedom) * Math.sqrt(variance)) held++;
    })
  );
  assert.ok(held >= 0.92 * asked, `${held} of ${asked} differences`);
});

for (
  const [name, story, most] of [
    ["where a rig drifts", { slope: 1.5, offset: 1 }, 0.6],
    ["where nothing drifts", {}, 1.15],
    ["where a step of every reading was never written down", { step: 1 }, 0.95],
  ] as const
) {
  Deno.test(`corrected differences hold the truth on 91% or more, and lie at most ${most} times as far off as raw ones, ${name}`, () => {
    const { coverage, raw, corrected } = correctionCoverage(story, 12, 500);
    assert.ok(coverage >= 0.91, `${coverage}`);
    assert.ok(corrected <= most * raw, `${corrected} against ${raw}`);
  });
}

Deno.test("references that age where resting shoes stay have their own ageing taken out", () => {
  const aged = referenceCorrection(visitsIn({ ageing: 2 }), { references })!;
  assert.equal(aged.ageing?.taken_out, true);
  assertClose(aged.ageing.slope, -2, { within: 0.6 });
  const steady = referenceCorrection(visitsIn({ slope: 1.5 }), { references })!;
  assert.equal(steady.ageing?.taken_out, false);
});

Deno.test("the correction's own uncertainty cancels between shoes of one rig and day, and doesn't between rigs", () => {
  const correction = referenceCorrection(visitsIn({ slope: 1.5 }), {
    references,
  })!;
  const at = (rig: string, date: string, weight: number) => ({
    visit: { rig, date },
    weight,
  });
  const same = correctionVariance(correction, [
    at("b", "2025-06-01", 1),
    at("b", "2025-06-01", -1),
  ]);
  const apart = correctionVariance(correction, [
    at("b", "2025-06-01", 1),
    at("a", "2024-02-01", -1),
  ]);
  assert.ok(same < 1e-12);
  assert.ok(apart > 0.01);
});

Deno.test("a bench whose shoes never came back has no correction, and a reading at its beginning none to take off", () => {
  const once = benchOf({}).trials.filter(({ shoe_id, session_id }) =>
    !shoe_id.startsWith("ref") &&
    session_id === `d${Math.floor(Number(shoe_id.slice(1)) / 4)}`
  );
  const bench = { ...benchOf({}), trials: once };
  assert.equal(
    referenceCorrection(visitsOf(bench, "height"), { references }),
    null,
  );
  const correction = referenceCorrection(visitsIn({ slope: 1 }), {
    references,
  })!;
  assert.equal(correctionOf(correction, correction.origin), 0);
});

Deno.test("a comparison of corrected values holds the correction's uncertainty, one of raw values the drift as noise", () => {
  const plain = benchOf({ slope: 1.5 });
  const bench = {
    ...plain,
    settings: { ...plain.settings, corrected_metrics: ["height"] },
  };
  const width = (of: typeof plain) => {
    const reliability = trialReliability(of, { seed: 1, resamples: 200 });
    const { comparisons: [{ difference }] } = shoeComparison(of, {
      shoes: ["s0", "s60"],
      reliability,
      attributes: [],
    });
    return difference.upper! - difference.lower!;
  };
  assert.ok(
    width(bench) < 0.8 * width(plain),
    `${width(bench)} ${width(plain)}`,
  );
});
