import assert from "node:assert/strict";
import type { Bench } from "../../../lib/records/types.ts";
import { visitsOf } from "../../../lib/records/selection.ts";
import { tQuantile } from "../../../lib/statistics/distributions.ts";
import { pairNoise } from "../../../lib/studies/repeatability/pair_noise.ts";
import { trialReliability } from "../../../lib/studies/repeatability/trial_reliability.ts";
import { droppedWords } from "../../../lib/words/repeatability/reliability_result.ts";
import { assertClose } from "../../assert_close.ts";
import { inR, rVector, testInR } from "../../statistics/in_r.ts";
import { ownNormals } from "../drift/drifting_bench.ts";
import { smallBench, type SmallVisit } from "../small_bench.ts";

/**
 * Twenty models, each in two pairs, each pair benched in two sessions. Models m0 and m1 are equal. Spread between
 * models is 3, noise of a visit 0.3, of a trial 0.5.
 */
function pairsBench(seed: number, pairSd: number, { pairs = 2 } = {}): Bench {
  const normal = ownNormals(seed);
  const visits: (SmallVisit & { readonly pair: number })[] = [];
  for (let m = 0; m < 20; m++) {
    const model = m < 2 ? 50 : 50 + 3 * normal();
    for (let pair = 1; pair <= pairs; pair++) {
      const own = model + pairSd * normal();
      for (let s = 0; s < 2; s++) {
        const visit = own + 0.3 * normal();
        visits.push({
          shoe: `m${m}`,
          session: `d${s}-${pair}`,
          pair,
          values: [0, 1, 2].map(() => visit + 0.5 * normal()),
        });
      }
    }
  }
  const bench = smallBench(visits);
  let at = 0;
  const pairOf = visits.flatMap(({ pair, values }) => values.map(() => pair));
  return { ...bench, trials: bench.trials.map((trial) => ({ ...trial, pair: pairOf[at++] })) };
}

for (const share of [0, 0.3, 0.5, 1]) {
  Deno.test(`two equal models are called different on no more of 60 benches than a rate of 5% allows, where pairs scatter by ${share} of the spread between models`, () => {
    let differ = 0;
    const benches = 60;
    for (let b = 0; b < benches; b++) {
      const bench = pairsBench(1 + b, 3 * share);
      const [about] = trialReliability(bench, { seed: 1, resamples: 100 }).metrics;
      const own = Map.groupBy(visitsOf(bench, "height"), ({ shoe_id }) => shoe_id);
      const [x, y] = [own.get("m0")!, own.get("m1")!];
      const mean = (visits: typeof x) => {
        const all = visits.map(({ values }) => values.reduce((a, v) => a + v, 0) / values.length);
        return all.reduce((a, v) => a + v, 0) / all.length;
      };
      const { variance, freedom } = pairNoise(x, y, about)!;
      const half = tQuantile(0.975, freedom) * Math.sqrt(variance);
      if (Math.abs(mean(x) - mean(y)) > half) differ++;
    }
    // 5% of 60 and two Monte Carlo errors; with pairs taken for repeats it would be 11 at 0.5.
    assert.ok(differ <= 6, `${differ} of ${benches}`);
  });
}

testInR("the components with pairs in the model are those of R's lmer", () => {
  const bench = pairsBench(9, 1);
  const [about] = trialReliability(bench, { seed: 1, resamples: 100 }).metrics;
  const text = (values: readonly string[]) => `factor(c(${values.map((v) => `"${v}"`).join(",")}))`;
  const { trials } = bench;
  const [variances] = inR(`suppressMessages(library(lme4))
d <- data.frame(y = ${rVector(trials.map(({ value }) => value))}, shoe = ${
    text(trials.map(({ shoe_id }) => shoe_id))
  }, pair = ${text(trials.map(({ shoe_id, pair }) => `${shoe_id} ${pair}`))}, visit = ${
    text(trials.map(({ shoe_id, pair, session_id }) => `${shoe_id} ${pair} ${session_id}`))
  })
m <- suppressMessages(lmer(y ~ 1 + (1 | shoe) + (1 | pair) + (1 | visit), d,
  control = lmerControl(check.conv.singular = "ignore", optCtrl = list(xtol_abs = 1e-12, ftol_abs = 1e-14))))
v <- as.data.frame(VarCorr(m)); out(v$vcov[match(c("shoe", "pair", "visit", "Residual"), v$grp)])`);
  ["shoe", "shoe:pair", "shoe:session", "residual"].forEach((source, i) => {
    const own = about.components.find((part) => part.source === source)!.variance;
    assertClose(own, variances[i], { within: 1e-3 * (1 + variances[i]) });
  });
});

Deno.test("with one pair of each model the pair's share can't be told, and the study says so", () => {
  const [about] = trialReliability(pairsBench(3, 1, { pairs: 1 }), { seed: 1, resamples: 100 })
    .metrics;
  assert.ok(about.unseen.includes("pairs"));
  assert.match(
    droppedWords(about).join("; "),
    /from pair to pair.*no shoe was benched in two pairs/,
  );
});
