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
import { revisited } from "../../../lib/studies/drift/rig_time.ts";
import { correctionInForce } from "../../../lib/studies/shoes/published_visits.ts";
import { tQuantile } from "../../../lib/statistics/distributions.ts";
import { assertClose } from "../../assert_close.ts";
import { againstTruth, corrected } from "../../benchmarks/corrected_tables.ts";
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

Deno.test("the corrected table of the demo lies nearer to the truth than the raw one on the metric that drifts: 0.377 against 0.858 cm", () => {
  const { metric } = truth.drift;
  const read = againstTruth(demo, metric, truth)!;
  const brought = againstTruth(corrected(demo, metric), metric, truth)!;
  assertClose(read.rms, 0.858, { within: 5e-4 });
  assertClose(brought.rms, 0.377, { within: 5e-4 });
  // What all values share, the error of the level they are told against, shifts all of them alike.
  assert.ok(brought.held >= 0.8, `${brought.held} of values`);
  assert.ok(brought.differences_held >= 0.92, `${brought.differences_held} of differences`);
});

Deno.test("correcting a metric of the demo that doesn't drift moves it no farther off the truth than the correction's own noise can, and intervals of all metrics hold it on 93% or more", () => {
  const tables = demo.metrics.flatMap(({ id }) => {
    const read = againstTruth(demo, id, truth);
    const brought = againstTruth(corrected(demo, id), id, truth);
    return read === null || brought === null ? [] : [{ id, read, brought }];
  });
  assert.equal(tables.length, Object.keys(truth.metrics).length);
  const steady = tables.filter(({ id }) => id !== truth.drift.metric);
  for (const { id, read, brought } of steady) {
    const far = tQuantile(1 - 0.025 / steady.length, brought.correction_freedom!);
    const most = Math.hypot(read.rms, far * brought.correction_sd);
    assert.ok(brought.rms <= most, `${id}: ${brought.rms} against ${read.rms}, at most ${most}`);
  }
  for (const  of of["held", "differences_held"] as const) {
    const share = tables.reduce((sum, { brought }) => sum + brought[of], 0) / tables.length;
    assert.ok(share >= 0.93, `${of}: ${share}`);
  }
});

testInR(
  "what is taken off a reading of the demo's drifting rig, and how sure that is, are R's lmer's: a prediction with its standard error for the last day",
  () => {
    const visits = visitsOf(demo, "heel-rebound");
    const found = correctionInForce(corrected(demo, "heel-rebound"), "heel-rebound")!;
    const back = revisited(visits);
    const column = <T>(of: (visit: Visit) => T) =>
      back.flatMap((visit) => visit.values.map(() => of(visit)));
    const text = (values: readonly string[]) =>
      `factor(c(${values.map((v) => `"${v}"`).join(",")}))`;
    const years = (date: string) =>
      (Date.parse(date) - Date.parse(found.origin.date)) / (365.25 * 86400000);
    const last = visits.filter(({ rig }) => rig === truth.drift.rig)
      .toSorted((a, b) => a.date < b.date ? 1 : -1)[0];
    assert.equal(found.ageing?.taken_out, false);
    const [[off, error]] = inR(`suppressMessages(library(lme4))
d <- data.frame(y = ${rVector(back.flatMap(({ values }) => [...values]))}, pair = ${
      text(column(({ shoe_id, pair }) => `${shoe_id} ${pair}`))
    }, session = ${text(column(({ session_id }) => session_id))}, operator = ${
      text(column(({ operator }) => operator))
    }, rig = ${text(column(({ rig }) => rig!))}, years = ${
      rVector(column(({ date }) => years(date)))
    })
m <- suppressMessages(lmer(y ~ pair + rig + rig:years + (1 | operator) + (1 | session) + (1 | pair:session), d,
  control = lmerControl(check.conv.singular = "ignore", optCtrl = list(xtol_abs = 1e-12, ftol_abs = 1e-14))))
at <- match(c("rigbench-b", "rigbench-b:years"), names(fixef(m)))
w <- c(1, ${years(last.date)})
out(c(sum(w * fixef(m)[at]), sqrt(as.numeric(t(w) %*% as.matrix(vcov(m))[at, at] %*% w))))`);
    assertClose(correctionOf(found, last), off, { within: 1e-4 });
    assertClose(Math.sqrt(correctionVariance(found, [{ visit: last, weight: 1 }])), error, {
      within: 2e-4,
    });
  },
);

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

Deno.test("of 18 sessions 16 degrees of freedom are left to a slope of one rig, 14 to the slopes of two and an offset between them", () => {
  for (const [rigs, terms, freedom] of [[1, 1, 16], [2, 3, 14]] as const) {
    const found = referenceCorrection(visitsIn({ slope: 1, rigs }), { references })!;
    assert.deepEqual([found.sessions, found.terms.length, found.freedom], [18, terms, freedom]);
  }
});

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
