import assert from "node:assert/strict";
import { loadBench } from "../../../lib/records/load_bench.ts";
import { randomStream } from "../../../lib/statistics/random_stream.ts";
import { flagTrials } from "../../../lib/studies/repeatability/flag_trials.ts";
import { reliabilityVerdict } from "../../../lib/studies/repeatability/reliability_verdict.ts";
import { trialReliability } from "../../../lib/studies/repeatability/trial_reliability.ts";
import {
  trialsForDifference,
  trialsForIcc,
} from "../../../lib/studies/repeatability/trials_needed.ts";
import { visitsOf } from "../../../lib/records/selection.ts";
import { reliabilitySentence } from "../../../lib/words/repeatability/reliability_sentence.ts";
import { verdictWords } from "../../../lib/words/repeatability/reliability_result.ts";
import { trialSummary } from "../../../lib/words/repeatability/trial_summary.ts";
import { benchNoise } from "../../../lib/studies/repeatability/bench_noise.ts";
import { rigTime } from "../../../lib/studies/drift/rig_time.ts";
import { assertSameLimits, bootstrapInR } from "./icc_limits_in_r.ts";
import { inR, rVector, testInR } from "../../statistics/in_r.ts";
import { assertClose } from "../../assert_close.ts";
import { lostValues, smallBench, type SmallVisit } from "../small_bench.ts";
import { sayReason } from "../../../lib/words/reasons.ts";

const folder = (name: string) => new URL(`../../references/${name}`, import.meta.url).pathname;
const reference = async (name: string) =>
  JSON.parse(await Deno.readTextFile(`${folder(name)}/reference.json`));
const demoPath = new URL("../../../data-demo", import.meta.url).pathname;
const demo = await loadBench(demoPath);
const truth = JSON.parse(await Deno.readTextFile(`${demoPath}/truth.json`));
const demoStudy = trialReliability(demo, { seed: 20260101 });
const inDemo = (id: string) => demoStudy.metrics.find(({ metric }) => metric === id)!;
const only = (visits: readonly SmallVisit[], options: Parameters<typeof smallBench>[1] = {}) =>
  trialReliability(smallBench(visits, options), { seed: 1 }).metrics[0];

Deno.test("the gauge study's published components, SDs and categories come out of trialReliability()", async () => {
  const bench = await loadBench(folder("bench-gauge"));
  const { published, computed } = await reference("bench-gauge");
  const [metric] = trialReliability(bench, { seed: 1 }).metrics;
  const variance = (source: string) =>
    metric.components.find((component) => component.source === source)!.variance;
  for (const source of ["shoe", "operator", "residual"]) {
    // Published to 5 decimals; the mean-square solution to 12 digits from R.
    assertClose(variance(source), published.components[source], { within: 5.001e-6 });
    assertClose(variance(source), computed.components[source], { relative: 1e-7 });
  }
  assert.equal(variance("shoe:session"), 0);
  assert.ok(metric.components.find(({ source }) => source === "shoe:session")!.boundary);
  assertClose(Math.sqrt(variance("operator") + variance("residual")), published.sd.gauge, {
    within: 5.001e-6,
  });
  assert.equal(metric.distinct_categories, published.distinct_categories);
  assert.equal(metric.cv.estimate, null);
  assert.match(sayReason(metric.cv.estimate_reason!), /zero is arbitrary/);
});

Deno.test("the wafers' day-to-day SD and nested components come out of trialReliability() for each probe", async () => {
  const bench = await loadBench(folder("bench-resistivity"));
  const { published, computed } = await reference("bench-resistivity");
  const { metrics } = trialReliability(bench, { seed: 1 });
  for (const metric of metrics) {
    for (const component of metric.components) {
      assertClose(component.variance, computed.components[metric.metric][component.source], {
        relative: 1e-6,
      });
    }
    assert.equal(metric.components.length, 3);
  }
  const probe = metrics.find(({ metric }) => metric === published.metric)!;
  assertClose(probe.repeatability_sd.estimate, published.day_to_day_sd.pooled, {
    within: 5.001e-6,
  });
  assert.deepEqual(probe.dropped.map(({ source }) => source), ["shoe:pair", "operator", "session"]);
});

Deno.test("the planted order effect of the demo is found, first among all metrics and in its size", () => {
  const { order_test, order_effect } = inDemo(truth.order_effect.metric);
  assert.ok(order_test.found);
  const planted = truth.order_effect.slope_per_trial;
  assert.ok(order_effect.lower! < planted && planted < order_effect.upper!);
  const others = demoStudy.metrics.filter(({ metric }) => metric !== truth.order_effect.metric);
  assert.ok(others.every((other) => other.order_test.p! > order_test.p!));
});

Deno.test("every planted slip of the demo's trials is flagged by its line or warned of at loading, and nothing else but its derived twin is flagged", () => {
  const planted: number[] = truth.slips.map(({ line }: { line: number }) => line).sort();
  const flagged = demoStudy.metrics.flatMap(({ outliers }) => outliers.map(({ line }) => line));
  const warned = demo.warnings.filter(({ file }) => file === "trials.csv").map(({ line }) => line);
  assert.deepEqual([...new Set(flagged)].filter((line) => !planted.includes(line)), []);
  // Smoke readings scatter more on some shoes than normal noise would, so that one slip of 5.3 SDs is no outlier there.
  assert.deepEqual(planted.filter((line) => !flagged.includes(line)), [667]);
  assert.ok(planted.every((line) => flagged.includes(line) || warned.includes(line)));
  const mass = inDemo("mass").outliers[0];
  assert.equal(mass.side, "left");
  assert.ok(mass.statistic > mass.critical);
});

Deno.test("the demo's components lie near those it was made from", () => {
  for (
    const [id, { variances }] of Object.entries<{ variances: Record<string, number> }>(
      truth.metrics,
    )
  ) {
    const metric = inDemo(id);
    const residual = metric.components.find(({ source }) => source === "residual")!;
    const slip = truth.slips.some(({ metric_id }: { metric_id: string }) => metric_id === id);
    if (slip || id === truth.order_effect.metric) continue;
    // Half again the limits, as twelve metrics are looked at.
    const room = 1.5 * (residual.upper! - residual.lower!) / 2;
    assertClose(residual.variance, variances.residual, { within: room });
  }
});

Deno.test("a study of one metric gives the figures of the whole study", () => {
  const alone = trialReliability(demo, { seed: 20260101, metrics: ["tilt-slip-dry"] }).metrics[0];
  const whole = inDemo("tilt-slip-dry");
  assert.deepEqual(alone.icc_mean, whole.icc_mean);
  assert.deepEqual(alone.outliers, whole.outliers);
});

Deno.test("the same seed gives the same bytes, another seed other limits", () => {
  const again = trialReliability(demo, { seed: 20260101, metrics: ["mass"] });
  const other = trialReliability(demo, { seed: 5, metrics: ["mass"] });
  assert.equal(JSON.stringify(again.metrics[0].icc_mean), JSON.stringify(inDemo("mass").icc_mean));
  assert.notEqual(other.metrics[0].icc_mean.lower, again.metrics[0].icc_mean.lower);
});

Deno.test("nothing in the demo's or the reference folders' results is lost in JSON", async () => {
  assert.deepEqual(lostValues(demoStudy), []);
  for (const name of ["bench-gauge", "bench-resistivity", "bench-carrots", "bench-cheese"]) {
    const bench = await loadBench(folder(name));
    assert.deepEqual(lostValues(trialReliability(bench, { seed: 1 })), [], name);
  }
});

const balanced: SmallVisit[] = [
  { shoe: "a", session: "s", values: [10, 12, 11] },
  { shoe: "b", session: "s", values: [20, 22, 19] },
  { shoe: "c", session: "s", values: [30, 32, 33] },
  { shoe: "d", session: "s", values: [15, 14, 17] },
];

Deno.test("one visit a shoe gives ICC(1,1) with exact F limits, and the mean's by stepping it up", () => {
  const { icc_single, icc_mean, mdc } = only(balanced);
  // R 4.2.2: anova(lm(value ~ shoe)), F = 238.305556/2 and qf(.975, 3, 8).
  assertClose(icc_single.estimate, 0.975237876877221, { within: 1e-12 });
  assertClose(icc_single.lower, 0.875001544708168, { within: 1e-9 });
  assertClose(icc_mean.lower, 0.954546067321560, { within: 1e-9 });
  assert.equal(mdc.mean_across_sessions.estimate, null);
  assert.match(sayReason(mdc.mean_across_sessions.estimate_reason!), /two sessions/);
});

Deno.test("an offset of 1e9 changes neither verdict nor components nor flags", () => {
  const lifted = balanced.map((visit) => ({
    ...visit,
    values: visit.values.map((value) => value! + 1e9),
  }));
  const [low, high] = [only(balanced), only(lifted)];
  assertClose(high.icc_single.estimate, low.icc_single.estimate!, { within: 1e-6 });
  assertClose(high.order_effect.estimate, low.order_effect.estimate!, { within: 1e-6 });
  assert.equal(high.verdict, low.verdict);
  assert.deepEqual(high.outliers, low.outliers);
});

Deno.test("order of rows and a change from cm to mm change nothing but the unit", () => {
  const study = only([...balanced].reverse());
  const millimetres = only(balanced.map((visit) => ({
    ...visit,
    values: visit.values.map((value) => 10 * value!),
  })));
  assertClose(study.icc_mean.estimate, only(balanced).icc_mean.estimate!, { within: 1e-12 });
  assertClose(millimetres.icc_mean.estimate, study.icc_mean.estimate!, { within: 1e-12 });
  assertClose(millimetres.sem.estimate, 10 * study.sem.estimate!, { relative: 1e-12 });
});

const degenerate: Record<string, { visits: SmallVisit[]; reason: RegExp }> = {
  "one shoe": {
    visits: [{ shoe: "a", session: "s", values: [1, 2, 3] }],
    reason: /one shoe cannot show how shoes differ/,
  },
  "one trial each": {
    visits: ["a", "b", "c"].map((shoe, i) => ({ shoe, session: "s", values: [i] })),
    reason: /no shoe was read twice/,
  },
  "a constant metric": {
    visits: ["a", "b", "c"].map((shoe) => ({ shoe, session: "s", values: [7, 7, 7] })),
    reason: /all readings are equal/,
  },
  "perfect agreement": {
    visits: ["a", "b", "c"].map((shoe, i) => ({ shoe, session: "s", values: [i, i, i] })),
    reason: /repeat exactly|agree perfectly/,
  },
  "no trial": { visits: [], reason: /no trial that counts/ },
  "all readings lost": {
    visits: ["a", "b"].map((shoe) => ({ shoe, session: "s", values: [null, null] })),
    reason: /no trial that counts/,
  },
};
for (const [name, { visits, reason }] of Object.entries(degenerate)) {
  Deno.test(`${name} gives a reason and no number for the ICC, and nothing that is NaN`, () => {
    const bench = smallBench(visits);
    const study = trialReliability(bench, { seed: 1 });
    assert.deepEqual(lostValues(study), []);
    const [metric] = study.metrics;
    assert.equal(metric.icc_mean.estimate, null);
    assert.match(sayReason(metric.icc_mean.estimate_reason!), reason);
    assert.match(metric.verdict, /^too few shoes to tell$|^can't tell$/);
    assert.match(sayReason(metric.verdict_reason), reason);
    assert.match(reliabilitySentence(metric), /^Nobody can say yet|^Two shoes/);
  });
}

Deno.test("a shoe whose readings are all lost, and an operator seen once, leave the others' figures standing", () => {
  const lost = only([...balanced, { shoe: "e", session: "s", values: [null, null, null] }]);
  assert.equal(lost.shoes, 4);
  assertClose(lost.icc_mean.estimate, only(balanced).icc_mean.estimate!, { within: 1e-12 });
  const once = only([...balanced, {
    shoe: "a",
    session: "t",
    operator: "two",
    values: [11, 12, 11.5],
  }]);
  assert.notEqual(once.icc_mean.estimate, null);
  assert.ok(once.dropped.some(({ source }) => source === "operator"));
});

Deno.test("two shoes far apart on little data are too few to tell, not fit to publish", () => {
  const { verdict } = only([
    { shoe: "a", session: "s", values: [10, 14] },
    { shoe: "b", session: "s", values: [22, 17] },
    { shoe: "c", session: "s", values: [30, 36] },
  ]);
  assert.equal(verdict, "too few shoes to tell");
});

Deno.test("reliabilityVerdict() follows the lower limit, and only calls shoes too few when the interval spans all", () => {
  const at = (lower: number, upper: number) =>
    reliabilityVerdict({ estimate: (lower + upper) / 2, estimate_reason: null, lower, upper })
      .verdict;
  assert.equal(at(0.9, 0.95), "fit to rank single shoes");
  assert.equal(at(0.899, 0.95), "fit for tiers");
  assert.equal(at(0.75, 0.95), "fit for tiers");
  assert.equal(at(0.5, 0.95), "fit for groups only");
  assert.equal(at(0.49, 0.89), "not fit to publish");
  assert.equal(at(0.49, 0.9), "too few shoes to tell");
});

Deno.test("trialsForIcc() and trialsForDifference() stop where visits alone are too noisy", () => {
  assert.deepEqual(trialsForIcc({ shoe: 9, visit: 0, trial: 9 }, 0.9), { trials: 9, reason: null });
  assert.deepEqual(trialsForIcc({ shoe: 9, visit: 0.5, trial: 3 }, 0.9), {
    trials: 6,
    reason: null,
  });
  assert.match(
    sayReason(trialsForIcc({ shoe: 9, visit: 1, trial: 3 }, 0.9).reason!),
    /differ too much/,
  );
  assert.match(
    sayReason(trialsForIcc({ shoe: 0, visit: 1, trial: 3 }, 0.9).reason!),
    /do not differ/,
  );
  // 1.96²·2·(1/k) ≤ 1 from k = 8 on.
  assert.equal(trialsForDifference({ visit: 0, trial: 1 }, 1, 0.95).trials, 8);
  assert.match(
    sayReason(trialsForDifference({ visit: 0.14, trial: 1 }, 1, 0.95).reason!),
    /differ too much/,
  );
});

Deno.test("coarse rounding alone flags no trial, but a reading three steps off is flagged", () => {
  const random = randomStream(3);
  const visits = (far: number): SmallVisit[] =>
    Array.from({ length: 40 }, (_, s) => ({
      shoe: `s${s}`,
      session: "one",
      values: Array.from({ length: 5 }, (_, t) =>
        Math.round(20 + s + 0.25 * random.normal()) + (s === 7 && t === 2 ? far : 0)),
    }));
  const flags = (far: number) =>
    flagTrials(visitsOf(smallBench(visits(far)), "height"), { alpha: 0.05 });
  assert.deepEqual(flags(0), []);
  const [flag, ...others] = flags(4);
  assert.equal(flag.shoe_id, "s7");
  assert.equal(flag.trial, 3);
  assert.match(flag.method, /rounding step/);
  assert.deepEqual(others, []);
});

Deno.test("two wild trials in one visit are both flagged, though each hides the other", () => {
  const random = randomStream(4);
  const visits = Array.from({ length: 20 }, (_, s): SmallVisit => ({
    shoe: `s${s}`,
    session: "one",
    values: Array.from(
      { length: 6 },
      (_, t) => 20 + random.normal() + (s === 3 && t < 2 ? 25 : 0),
    ),
  }));
  const flags = flagTrials(visitsOf(smallBench(visits), "height"), { alpha: 0.05 });
  assert.deepEqual(flags.map(({ shoe_id, trial }) => `${shoe_id} ${trial}`).sort(), [
    "s3 1",
    "s3 2",
  ]);
});

Deno.test("a scatter that grows with size turns the CV to the log scale and says so", () => {
  const random = randomStream(9);
  const grows = Array.from({ length: 30 }, (_, s): SmallVisit => ({
    shoe: `s${s}`,
    session: "one",
    values: Array.from({ length: 5 }, () => (10 + 8 * s) * Math.exp(0.1 * random.normal())),
  }));
  const { cv, outliers } = only(grows);
  assert.match(cv.method, /logarithms/);
  assert.ok(cv.lower! < 0.1003 && 0.1003 < cv.upper!);
  assert.deepEqual(outliers, []);
  assert.match(only(balanced).cv.method, /root mean square/);
});

Deno.test("trialReliability() refuses an unknown metric, confidence or number of draws in words", () => {
  const bench = smallBench(balanced);
  assert.throws(() => trialReliability(bench, { seed: 1, metrics: ["weight"] }), {
    name: "CantAnswer",
    message: /no metric "weight"\. .*height/,
  });
  assert.throws(() => trialReliability(bench, { seed: 1, confidence: 1 }), RangeError);
  assert.throws(() => trialReliability(bench, { seed: 1, resamples: 5 }), RangeError);
});

Deno.test("one reading of 0 among readings whose scatter grows with their size leaves a whole study, with a CV and no NaN", () => {
  const random = randomStream(15);
  const visits = Array.from({ length: 16 }, (_, s): SmallVisit => {
    const level = 0.05 * 1.3 ** s;
    return {
      shoe: `s${s}`,
      session: `d${s % 4}`,
      values: Array.from({ length: 4 }, () => level * (1 + 0.1 * random.normal())),
    };
  });
  const zero = visits.map((visit, i) =>
    i === 0 ? { ...visit, values: [0, ...visit.values.slice(1)] } : visit
  );
  const [plain, withZero] = [visits, zero].map((own) =>
    trialReliability(smallBench(own), { seed: 1 })
  );
  assert.match(plain.metrics[0].cv.method, /logarithms/);
  assert.deepEqual(lostValues(withZero), []);
  assert.ok(withZero.metrics[0].cv.estimate! > 0);
});

Deno.test("heel rebound of the demo is noisy by a drift that can be taken out: ICC .78 → .96, MDC 2.3 → 0.89 cm, no session scatter left", () => {
  const { drift_noise, verdict } = inDemo("heel-rebound");
  assert.equal(drift_noise.in_force, "as read");
  assert.equal(drift_noise.largest, "drift");
  assert.equal(verdict, "fit for groups only");
  const { as_read, corrected } = drift_noise;
  assertClose(as_read.icc_mean.estimate, 0.78, { within: 0.005 });
  assertClose(as_read.mdc.estimate, 2.3, { within: 0.005 });
  assertClose(corrected!.icc_mean.estimate, 0.96, { within: 0.005 });
  assertClose(corrected!.mdc.estimate, 0.89, { within: 0.005 });
  assert.equal(corrected!.session, 0);
  assert.match(
    reliabilitySentence(inDemo("heel-rebound")),
    /most of that is a drift of rigs and days.*correct to the reference shoes \(MDC 2\.3 → 0\.89 cm\)/,
  );
});

Deno.test("no other metric of the demo is told to drift, as none was made to", () => {
  const told = demoStudy.metrics.filter(({ drift_noise }) => drift_noise.drift_found);
  assert.deepEqual(told.map(({ metric }) => metric), [truth.drift.metric]);
});

for (
  const [name, fixed] of [["as read", "1"], ["corrected", "rig * years"]] as const
) {
  testInR(
    `heel rebound's noise ${name} is that of R's lmer on the same readings: components, ICC of a published mean and MDC`,
    () => {
      const visits = visitsOf(demo, "heel-rebound");
      const column = <T>(of: (visit: (typeof visits)[number]) => T) =>
        visits.flatMap((visit) => visit.values.map(() => of(visit)));
      const text = (values: readonly string[]) =>
        `factor(c(${values.map((v) => `"${v}"`).join(",")}))`;
      const first = visits.map(({ date }) => date).sort()[0];
      const years = column(({ date }) =>
        (Date.parse(date) - Date.parse(first)) / (365.25 * 86400000)
      );
      const { drift_noise, trials_per_visit: k } = inDemo("heel-rebound");
      const [variances, [icc, mdc]] = inR(`suppressMessages(library(lme4))
d <- data.frame(y = ${rVector(visits.flatMap(({ values }) => [...values]))}, shoe = ${
        text(column(({ shoe_id }) => shoe_id))
      }, session = ${text(column(({ session_id }) => session_id))}, operator = ${
        text(column(({ operator }) => operator))
      }, rig = ${text(column(({ rig }) => rig!))}, years = ${rVector(years)})
m <- suppressMessages(lmer(y ~ ${fixed} + (1 | shoe) + (1 | operator) + (1 | session) + (1 | shoe:session), d,
  control = lmerControl(check.conv.singular = "ignore", optCtrl = list(xtol_abs = 1e-12, ftol_abs = 1e-14))))
v <- as.data.frame(VarCorr(m)); v <- setNames(v$vcov, v$grp)
noise <- v[["operator"]] + v[["session"]] + v[["shoe:session"]] + v[["Residual"]] / ${k}
out(v[c("shoe", "operator", "session", "shoe:session", "Residual")])
out(c(v[["shoe"]] / (v[["shoe"]] + noise), qnorm(0.975) * sqrt(2 * noise)))`);
      const { components } = benchNoise(visits, {
        references: demo.settings.reference_shoes,
        trialsPerVisit: k,
        confidence: 0.95,
        resamples: 100,
        seed: 1,
        rigTime: name === "as read" ? null : rigTime(visits),
      });
      ["shoe", "operator", "session", "shoe:session", "residual"].forEach((source, i) => {
        const own = components.find((component) => component.source === source)!.variance;
        assertClose(own, variances[i], { within: 1e-4 * (1 + variances[i]) });
      });
      const figures = name === "as read" ? drift_noise.as_read : drift_noise.corrected!;
      assertClose(figures.icc_mean.estimate, icc, { within: 1e-4 });
      assertClose(figures.mdc.estimate, mdc, { within: 2e-4 });
      assertClose(figures.session, variances[2], { within: 1e-4 });
      assertClose(figures.visit, variances[3], { within: 1e-4 });
    },
  );
}

testInR(
  "with rig by time in the model, limits of heel rebound's ICC lie within Monte Carlo error of a parametric bootstrap of R's lmer",
  () => {
    const visits = visitsOf(demo, "heel-rebound");
    const column = <T>(of: (visit: (typeof visits)[number]) => T) =>
      visits.flatMap((visit) => visit.values.map(() => of(visit)));
    const text = (values: readonly string[]) =>
      `factor(c(${values.map((v) => `"${v}"`).join(",")}))`;
    const first = visits.map(({ date }) => date).sort()[0];
    const years = column(({ date }) =>
      (Date.parse(date) - Date.parse(first)) / (365.25 * 86400000)
    );
    const k = inDemo("heel-rebound").trials_per_visit;
    const { icc_mean } = benchNoise(visits, {
      references: demo.settings.reference_shoes,
      trialsPerVisit: k,
      confidence: 0.95,
      resamples: 1000,
      seed: 1,
      rigTime: rigTime(visits),
    });
    const counts = [...Map.groupBy(visits, ({ shoe_id }) => shoe_id).values()].map((own) =>
      own.length
    );
    const means = counts.length / counts.reduce((sum, count) => sum + 1 / count, 0);
    const [found] = inR(`suppressMessages(library(lme4))
d <- data.frame(y = ${rVector(visits.flatMap(({ values }) => [...values]))}, shoe = ${
      text(column(({ shoe_id }) => shoe_id))
    }, session = ${text(column(({ session_id }) => session_id))}, operator = ${
      text(column(({ operator }) => operator))
    }, rig = ${text(column(({ rig }) => rig!))}, years = ${rVector(years)})
m <- suppressMessages(lmer(y ~ rig * years + (1 | shoe) + (1 | operator) + (1 | session) + (1 | shoe:session), d,
  control = lmerControl(check.conv.singular = "ignore", calc.derivs = FALSE)))
${bootstrapInR(k, means)}`);
    assertSameLimits(icc_mean, means, found);
  },
);

Deno.test("no sentence says that few trials would do beside a verdict that doesn't: 60 drawn metrics", () => {
  const random = randomStream(77);
  for (let m = 0; m < 60; m++) {
    const [day, noise] = [0.3 * random.uniform(), 0.2 + random.uniform()];
    const metric = only(
      Array.from({ length: 24 }, (_, i): SmallVisit => {
        const shoe = i % 16;
        const level = 1.5 * Math.sin(7 * shoe) + day * random.normal();
        return {
          shoe: `s${shoe}`,
          session: `d${Math.floor(i / 16)}`,
          values: [0, 1, 2, 3, 4].map(() => 20 + level + noise * random.normal()),
        };
      }),
    );
    const sentence = reliabilitySentence(metric);
    const needed = /you would need (\d+) trials?, you take 5/.exec(sentence);
    if (metric.verdict !== "fit to rank single shoes" && needed !== null) {
      assert.ok(Number(needed[1]) > 5, `${metric.verdict}: ${sentence}`);
    }
    assert.doesNotMatch(
      trialSummary(metric).act.join(" "),
      metric.verdict === "fit to rank single shoes" ? /^$/ : /would do/,
    );
  }
});

Deno.test("five shoes in one session rank 'as far as one session shows', and the sentence names the scatter not seen", () => {
  const metric = only(
    [10, 14, 19, 23, 30].map((level, i): SmallVisit => ({
      shoe: `s${i}`,
      session: "d",
      values: [level, level + 0.1, level - 0.1, level + 0.05],
    })),
  );
  assert.equal(metric.verdict, "fit to rank single shoes");
  assert.ok(metric.unseen.includes("days"));
  assert.match(verdictWords(metric), /as far as one session shows/);
  assert.match(reliabilitySentence(metric), /differs from day to day is in no figure/);
});

Deno.test("120 shoes with one reading each can't be told for lack of repeats, not of shoes", () => {
  const metric = only(
    Array.from({ length: 120 }, (_, i): SmallVisit => ({
      shoe: `s${i}`,
      session: "d",
      values: [20 + Math.sin(i)],
    })),
  );
  assert.equal(metric.verdict, "can't tell");
  assert.match(trialSummary(metric).know[0], /every level has one reading|no shoe was read twice/);
});

Deno.test("left and right shoe are no repeats of each other: what they differ by is not booked as scatter of trials", () => {
  const random = randomStream(3);
  const visits = Array.from({ length: 40 }, (_, i): SmallVisit => ({
    shoe: `s${i % 20}`,
    session: `d${Math.floor(i / 20)}`,
    values: Array.from({ length: 6 }, () => 300 + 20 * Math.sin(3 * (i % 20)) + random.normal()),
  }));
  const plain = smallBench(visits);
  const sided = {
    ...plain,
    trials: plain.trials.map((trial) => ({
      ...trial,
      side: trial.trial <= 3 ? "left" as const : "right" as const,
      trial: (trial.trial - 1) % 3 + 1,
      value: trial.value! +
        (trial.trial <= 3 ? 4 * Math.cos(5 * Number(trial.shoe_id.slice(1))) : 0),
    })),
  };
  const [metric] = trialReliability(sided, { seed: 1 }).metrics;
  assert.ok(metric.repeatability_sd.lower! < 1 && 1 < metric.repeatability_sd.upper!);
  assert.ok(
    metric.components.some(({ source, variance }) => source === "shoe:side" && variance > 2),
  );
});

Deno.test("visits of one trial hold no order to test, and none is found", () => {
  const { order_test } = only(
    ["a", "b", "c", "d"].flatMap((shoe, i) =>
      ["s1", "s2", "s3"].map((session, j) => ({ shoe, session, values: [10 * i + j] }))
    ),
  );
  assert.deepEqual([order_test.p, order_test.p_familywise, order_test.found], [null, null, false]);
});

Deno.test("trials needed for a difference are as many in metres as in centimetres or micrometres", () => {
  const stream = randomStream(4);
  const visits = ["one", "two"].flatMap((session) =>
    Array.from({ length: 12 }, (_, s) => {
      const level = 50 + 2 * s + 0.2 * stream.normal();
      return { shoe: `s${s}`, session, values: [0, 1, 2].map(() => level + stream.normal()) };
    })
  );
  const needed = [1, 0.01, 1e4].map((unit) => {
    const bench = smallBench(
      visits.map((visit) => ({ ...visit, values: visit.values.map((value) => value * unit) })),
      { about: { smallest_difference: 4 * unit } },
    );
    return trialReliability(bench, { seed: 1, resamples: 100 }).metrics[0].trials_needed;
  });
  assert.ok(needed[0].smallest_difference! > 1);
  assert.deepEqual(needed[1], needed[0]);
  assert.deepEqual(needed[2], needed[0]);
});
