import assert from "node:assert/strict";
import type { Bench, IndexRule } from "../../../lib/records/types.ts";
import { tQuantile } from "../../../lib/statistics/distributions.ts";
import { publishedCatalogue } from "../../../lib/studies/catalogue/published_catalogue.ts";
import { shoeComparison } from "../../../lib/studies/comparison/shoe_comparison.ts";
import { indexScores } from "../../../lib/studies/index/index_scores.ts";
import { howToRead } from "../../../lib/words/catalogue/catalogue_words.ts";
import { answerHeadline } from "../../../lib/words/comparison/headline.ts";
import { tellAnswer, toldAnswer } from "../../../lib/words/comparison/tell_answer.ts";
import { indexSentence } from "../../../lib/words/index/index_sentence.ts";
import { resultJson } from "../../../lib/words/result_json.ts";
import { catalogueStanding } from "../../../lib/studies/comparison/catalogue_standing.ts";
import { bestShoes } from "../../../lib/studies/questions/best_shoes.ts";
import { likeShoes } from "../../../lib/studies/questions/like_shoes.ts";
import { shoeProfile } from "../../../lib/studies/questions/shoe_profile.ts";
import { trialReliability } from "../../../lib/studies/repeatability/trial_reliability.ts";
import { sayReason } from "../../../lib/words/reasons.ts";
import { droppedWords } from "../../../lib/words/repeatability/reliability_result.ts";
import { assertClose } from "../../assert_close.ts";
import { calledDifferent, couplesBench } from "../../benchmarks/equal_models.ts";
import { inR, rVector, testInR } from "../../statistics/in_r.ts";
import { assertSameLimits, bootstrapInR } from "./icc_limits_in_r.ts";
import { uncertaintyBudget } from "../../../lib/studies/budget/uncertainty_budget.ts";
import { ownNormals } from "../drift/drifting_bench.ts";
import { smallBench, type SmallVisit } from "../small_bench.ts";
import { bareRule } from "../../bare_bench.ts";

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

for (const share of [0, 0.3, 0.5]) {
  Deno.test(`two equal models, each in two pairs, are called different on no more of 240 questions than a rate of 5% allows, where pairs scatter by ${share} of the spread between models`, () => {
    const { differ } = calledDifferent("two pairs of each, on two days", 3 * share, {
      benches: 20,
      seed: 1,
    });
    // 5% and two Monte Carlo errors of 240 questions.
    assert.ok(differ <= 0.05 + 2 * Math.sqrt(0.05 * 0.95 / 240), `${differ}`);
  });
}

Deno.test("where one model in four has a second pair, equal models with one pair are called different on no more of 180 questions than a rate of 5% allows", () => {
  const { differ } = calledDifferent("a second pair of one model in four", 0.9, {
    benches: 20,
    seed: 1,
    asked: (model) => model % 8 >= 2,
  });
  assert.ok(differ <= 0.05 + 2 * Math.sqrt(0.05 * 0.95 / 180), `${differ}`);
});

Deno.test("with one pair of each model no answer says that equal models differ, and of the pairs it misses how these differ on no more than a rate of 5% allows", () => {
  const found = calledDifferent("one pair of each", 1.5, { benches: 20, seed: 1 });
  assert.deepEqual([found.differ, found.of_these_pairs], [0, 1]);
  assert.ok(found.pairs_missed! <= 0.05 + 2 * Math.sqrt(0.05 * 0.95 / 240));
  assert.ok(found.pairs_differ > 0.1, "equal models do differ by their pairs");
});

for (const share of [0, 0.15, 0.3, 0.5]) {
  Deno.test(`that models differ too up to a scatter of pairs is said falsely of no more of 240 equal couples than a rate of 5% allows, where pairs scatter by ${share} of the spread`, () => {
    const { held_wrongly } = calledDifferent("one pair of each", 3 * share, {
      benches: 20,
      seed: 1,
    });
    assert.ok(held_wrongly <= 0.05 + 2 * Math.sqrt(0.05 * 0.95 / 240), `${held_wrongly}`);
  });
}

Deno.test("where only three models had a second pair, equal models with one pair are called different on no more of 200 questions than a rate of 5% allows", () => {
  const { differ } = calledDifferent("a second pair of three models", 0.9, {
    benches: 20,
    seed: 1,
    asked: (model) => model > 3,
  });
  assert.ok(differ <= 0.05 + 2 * Math.sqrt(0.05 * 0.95 / 200), `${differ}`);
});

Deno.test("with one pair of each, sentence, headline and JSON of a comparison are of the pairs, and the scatter of pairs up to which the models differ takes the interval to 0", () => {
  const { bench } = couplesBench(4, "one pair of each", 1);
  const reliability = trialReliability(bench, { seed: 1, resamples: 100 });
  const answer = shoeComparison(bench, { shoes: ["m0", "m2"], metrics: ["height"], reliability });
  const [pair] = answer.comparisons;
  assert.ok(pair.word.startsWith("differ"), "the pairs of these two couples differ");
  assert.deepEqual([pair.about, pair.models_word], ["pairs", "can't tell"]);
  const told = toldAnswer(answer);
  assert.deepEqual([told.about, told.models_word], ["pairs", "can't tell"]);
  for (const said of [told.sentence, told.alt, answerHeadline(answer)]) {
    assert.match(said, /^Of the pairs benched, Maker m\d /);
  }
  assert.match(
    told.notes.join(" "),
    /One pair of each shoe was benched, so this is said of these pairs; a second pair of some would tell how far pairs of one model differ\. The models differ too on height if pairs of one model scatter by less than /,
  );
  const json = resultJson(told) as unknown as typeof told & { models_reason: string };
  assert.match(json.models_reason, /^no shoe was benched in two pairs on height, so how far pairs/);
  const widened = tQuantile(0.975, pair.freedom!) *
    Math.hypot(pair.standard_error!, Math.SQRT2 * pair.models_differ_below!);
  assertClose(widened, Math.abs(pair.difference.estimate!), { within: 1e-9 });
});

Deno.test("with a second pair of some models a comparison is of the models, and no sentence speaks of pairs benched", () => {
  const { bench } = couplesBench(4, "a second pair of three models", 1);
  const reliability = trialReliability(bench, { seed: 1, resamples: 100 });
  const answer = shoeComparison(bench, { shoes: ["m8", "m10"], metrics: ["height"], reliability });
  const [pair] = answer.comparisons;
  assert.deepEqual([pair.about, pair.models_word, pair.models_reason], ["models", pair.word, null]);
  assert.equal(toldAnswer(answer).about, "models");
  assert.doesNotMatch(JSON.stringify(toldAnswer(answer)), /pairs benched|these pairs/);
});

Deno.test("the index, its places and the published catalogue are of the pairs benched where no model had a second one, and say so once", () => {
  const rule: IndexRule = {
    id: "height",
    version: "1",
    title: "Height",
    effective: "2026-01-01",
    target_attribute: "feel",
    terms: [{ metric: "height", weight: 1, scaling: { kind: "standard" } }],
    ...bareRule,
  };
  for (
    const [design, about] of [
      ["one pair of each", "pairs"],
      ["two pairs of each, on two days", "models"],
    ] as const
  ) {
    const bench = { ...couplesBench(4, design, 1).bench, rules: [rule] };
    const reliability = trialReliability(bench, { seed: 1, resamples: 100 });
    const scores = indexScores(bench, { rule, reliability, draws: 200 });
    const catalogue = publishedCatalogue(bench, { rule, reliability, seed: 1 });
    assert.deepEqual(
      [scores.about, catalogue.index_about, catalogue.metrics[0].about],
      [about, about, about],
    );
    assert.equal(indexSentence(scores).startsWith("Of the pairs benched, "), about === "pairs");
    const said = howToRead(catalogue).filter((text) => text.includes("One pair of each model"));
    assert.equal(said.length, about === "pairs" ? 1 : 0);
  }
});

Deno.test("answers about one shoe, the first places and the catalogue say of which metrics one pair was benched, and none where two were", () => {
  const one = couplesBench(4, "one pair of each", 1).bench;
  const two = couplesBench(4, "two pairs of each, on two days", 1).bench;
  const answers = (bench: Bench) => {
    const reliability = trialReliability(bench, { seed: 1, resamples: 100 });
    const about = { reliability, seed: 1 };
    return [
      catalogueStanding(bench, { metric: "height", reliability }),
      bestShoes(bench, { on: { metric: "height" }, ...about }),
      shoeProfile(bench, { shoe: "m0", ...about }),
      likeShoes(bench, { shoe: "m0", reliability }),
    ];
  };
  const warned = (bench: Bench) =>
    answers(bench).map(({ warnings }) => warnings.map((reason) => sayReason(reason)));
  for (const answer of answers(one)) {
    const { sentence, about } = tellAnswer(answer);
    assert.match(sentence, /^Of the pairs benched, /);
    assert.equal(about, "pairs");
  }
  for (const warnings of warned(one)) {
    assert.match(
      warnings.join(),
      /^one pair of each shoe was benched, so .* a second pair of some/,
    );
  }
  assert.deepEqual(warned(two), [[], [], [], []]);
});

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

/** The bench's readings as a data frame `d` of R, one row a trial. */
function inDataFrame({ trials }: Bench): string {
  const text = (values: readonly string[]) => `factor(c(${values.map((v) => `"${v}"`).join(",")}))`;
  return `suppressMessages(library(lme4))
d <- data.frame(y = ${rVector(trials.map(({ value }) => value))}, shoe = ${
    text(trials.map(({ shoe_id }) => shoe_id))
  }, session = ${text(trials.map(({ session_id }) => session_id))}, pair = ${
    text(trials.map(({ shoe_id, pair }) => `${shoe_id} ${pair}`))
  }, visit = ${
    text(trials.map(({ shoe_id, pair, session_id }) => `${shoe_id} ${pair} ${session_id}`))
  })
m <- suppressMessages(lmer(y ~ 1 + (1 | shoe) + (1 | pair) + (1 | session) + (1 | visit), d,
  control = lmerControl(check.conv.singular = "ignore", optCtrl = list(xtol_abs = 1e-12, ftol_abs = 1e-14))))
`;
}

testInR(
  "type A of the budget, its degrees of freedom and its expanded uncertainty, pairs among its sources, are those worked out in R from lmer's components",
  () => {
    const { bench } = couplesBench(5, "two pairs of each, on two days", 1);
    const reliability = trialReliability(bench, { seed: 1, resamples: 100 });
    const budget = uncertaintyBudget(bench, "height", { reliability });
    const [standard, freedom, sum] = inR(`${inDataFrame(bench)}
v <- as.data.frame(VarCorr(m)); v <- setNames(v$vcov, v$grp)
k <- ${budget.trials_per_visit}
n <- c(trials = nrow(d), visits = nlevels(d$visit), shoes = nlevels(d$shoe), pairs = nlevels(d$pair), sessions = nlevels(d$session))
u <- sqrt(c(v[["Residual"]] / k, v[["visit"]], v[["session"]], v[["pair"]]))
f <- c(n[["trials"]] - n[["visits"]], n[["visits"]] - n[["shoes"]], n[["sessions"]] - 1, n[["pairs"]] - n[["shoes"]])
out(u); out(f)
whole <- sqrt(sum(u^2)); e <- whole^4 / sum(u^4 / f)
out(c(whole, e, qt(0.975, floor(e)) * whole))`);
    ["trials", "visits", "sessions", "pairs"].forEach((source, i) => {
      const part = budget.parts.find((one) => one.source === source)!;
      assertClose(part.standard, standard[i], { within: 1e-3 });
      assert.deepEqual([part.type, part.freedom], ["A", freedom[i]]);
    });
    const { standard: whole, freedom: effective, expanded } = budget.comparing!;
    [whole, effective!, expanded].forEach((figure, i) =>
      assertClose(figure, sum[i], { within: 2e-3 * sum[i] })
    );
  },
);

testInR(
  "limits of the ICC with pairs in the model lie within Monte Carlo error of a parametric bootstrap of R's lmer",
  () => {
    const bench = couplesBench(6, "two pairs of each, on two days", 1).bench;
    const [{ icc_mean, trials_per_visit: k }] =
      trialReliability(bench, { seed: 1, resamples: 1000 })
        .metrics;
    const byShoe = Map.groupBy(bench.trials, ({ shoe_id }) => shoe_id).values();
    const visits = [...byShoe].map((own) =>
      new Set(own.map((t) => `${t.session_id} ${t.pair}`)).size
    );
    const means = visits.length / visits.reduce((sum, count) => sum + 1 / count, 0);
    assertSameLimits(icc_mean, means, inR(`${inDataFrame(bench)}${bootstrapInR(k, means)}`)[0]);
  },
);

Deno.test("with one pair of each model the pair's share can't be told, and the study says so", () => {
  const [about] = trialReliability(pairsBench(3, 1, { pairs: 1 }), { seed: 1, resamples: 100 })
    .metrics;
  assert.ok(about.unseen.includes("pairs"));
  assert.match(
    droppedWords(about).join("; "),
    /from pair to pair.*no shoe was benched in two pairs/,
  );
});
