import assert from "node:assert/strict";
import { loadBench } from "../../../lib/records/load_bench.ts";
import type { Bench, Metric } from "../../../lib/records/types.ts";
import { pearson } from "../../../lib/statistics/pearson.ts";
import {
  courtPrediction as studied,
  type CourtPredictionOptions,
} from "../../../lib/studies/prediction/court_prediction.ts";
import { assertClose } from "../../assert_close.ts";
import { inR, rVector, testInR } from "../../statistics/in_r.ts";
import { sayReason } from "../../../lib/words/reasons.ts";
import { predictionResult } from "../../../lib/words/prediction/prediction_result.ts";

/** The study with its sentences. */
const courtPrediction = (...given: Parameters<typeof studied>) =>
  predictionResult(studied(...given));

const folder = (name: string) => new URL(`../../../${name}`, import.meta.url).pathname;
const bench = await loadBench(folder("data-demo"));
const truth = JSON.parse(await Deno.readTextFile(folder("data-demo/truth.json")));
const cheeses = await loadBench(folder("tests/references/bench-cheese"));
const { published, computed } = JSON.parse(
  await Deno.readTextFile(folder("tests/references/bench-cheese/reference.json")),
);
const quick: CourtPredictionOptions = {
  resamples: 1000,
  permutations: 1000,
  modelResamples: 100,
};
const study = courtPrediction(bench);
const pairOf = (of: ReturnType<typeof courtPrediction>, metric: string, attribute: string) =>
  of.pairs.find((pair) => pair.metric === metric && pair.attribute === attribute)!;

/** The demo with each metric's readings changed; null takes a reading away. */
function withReadings(
  change: (value: number, metric: string, shoe: string) => number | null,
): Bench {
  return {
    ...bench,
    trials: bench.trials.map((trial) =>
      trial.value === null
        ? trial
        : { ...trial, value: change(trial.value, trial.metric_id, trial.shoe_id) }
    ),
  };
}

Deno.test("courtPrediction() claims on the demo only what was planted", () => {
  const predicts = study.pairs.filter(({ claim }) => claim === "predicts");
  assert.ok(predicts.length >= 4);
  for (const { metric, attribute, derived_from, spearman } of predicts) {
    const planted = truth.attributes[attribute].correlation[derived_from ?? metric];
    assert.notEqual(planted, 0, `${metric} and ${attribute}`);
    assert.equal(Math.sign(spearman.estimate!), Math.sign(planted));
  }
  for (const attribute of truth.null_attributes) {
    const found = study.attributes.find((one) => one.attribute === attribute)!;
    assert.deepEqual([found.predicts, found.hints], [[], []]);
  }
  for (const metric of truth.null_metrics) {
    assert.ok(study.pairs.every((pair) => pair.metric !== metric || pair.claim !== "predicts"));
  }
});

Deno.test("courtPrediction() ranks a true driver first wherever the demo has a strong one", () => {
  for (const [attribute, about] of Object.entries<{ drivers: object }>(truth.attributes)) {
    const drivers = Object.entries(about.drivers).filter(([, rho]) => Math.abs(rho) >= 0.5);
    const own = study.pairs.filter((pair) =>
      pair.attribute === attribute && pair.derived_from === null
    );
    if (drivers.length === 0) continue;
    const strongest = own.toSorted((a, b) =>
      Math.abs(b.spearman.estimate!) - Math.abs(a.spearman.estimate!)
    )[0];
    assert.ok(strongest.metric in about.drivers, `${strongest.metric} leads ${attribute}`);
  }
});

Deno.test("the cheeses' acids correlate with taste as published and as R has it", () => {
  const found = courtPrediction(cheeses, quick);
  for (const metric of Object.keys(published.pearson)) {
    const pair = pairOf(found, metric, "taste");
    const { estimate } = pearson(
      pair.points.map(({ metric_value }) => metric_value),
      pair.points.map(({ panel_value }) => panel_value),
    );
    assertClose(estimate, published.pearson[metric], { within: 5e-8 });
    assertClose(pair.spearman.estimate, computed.spearman[metric], { within: 1e-12 });
    assert.equal(pair.n, 30);
  }
  const { shares } = found.attributes[0].model!;
  assertClose(shares.r2, computed.r_squared, { within: 1e-12 });
  for (const row of shares.metrics) {
    assertClose(row.share, computed.shares[row.metric], { within: 1e-12 });
    assertClose(row.inflation, computed.variance_inflation[row.metric], { within: 1e-10 });
  }
  // Ridge and non-negative weights are other fits than least squares, but of these three alike.
  assertClose(found.attributes[0].model!.ridge.r2.estimate, computed.out_of_sample_r_squared, {
    within: 0.03,
  });
});

Deno.test("a metric computed from another one's trials changes nothing for the others", () => {
  const without = courtPrediction(bench, {
    metrics: bench.metrics.filter(({ derive }) => derive === null).map(({ id }) => id),
  });
  assert.deepEqual(
    study.pairs.filter(({ derived_from }) => derived_from === null),
    without.pairs,
  );
  assert.deepEqual(study.unsettled, without.unsettled);
  study.attributes.forEach((attribute, index) => {
    const other = without.attributes[index];
    assert.deepEqual(attribute.predicts, other.predicts);
    assert.deepEqual(attribute.model!.ridge, other.model!.ridge);
    assert.ok(attribute.model!.left_out.some(({ reason }) => reason.code === "computed-from"));
  });
  assert.ok(study.warnings.some((warning) => warning.includes("no further evidence")));
});

Deno.test("a computed metric is judged in its source's place", () => {
  const friction = pairOf(study, "friction-dry", "grip");
  assert.equal(friction.derived_from, "tilt-slip-dry");
  const alone = courtPrediction(bench, {
    metrics: bench.metrics.map(({ id }) => id).filter((id) => id !== "tilt-slip-dry"),
  });
  const twin = pairOf(alone, "friction-dry", "grip");
  assert.equal(twin.derived_from, null);
  // A computed metric is in no model; what the two have in common is all else.
  const told = (pair: typeof twin) => ({
    ...pair,
    sentence: null,
    derived_from: null,
    derived_from_title: null,
    out_of_sample: null,
  });
  assert.deepEqual(told(friction), told(twin));
});

Deno.test("courtPrediction() gives plain JSON, the same for the same seed, without NaN or undefined", () => {
  const first = courtPrediction(bench, quick);
  assert.deepEqual(JSON.parse(JSON.stringify(first)), first);
  assert.equal(JSON.stringify(courtPrediction(bench, quick)), JSON.stringify(first));
  const other = courtPrediction(bench, { ...quick, seed: 7 });
  assert.notEqual(other.pairs[0].spearman.lower, first.pairs[0].spearman.lower);
  assert.equal(other.pairs[0].spearman.estimate, first.pairs[0].spearman.estimate);
});

Deno.test("rank correlations do not depend on units or on the order of shoes", () => {
  const plain = courtPrediction(bench, { ...quick, models: false });
  const inches = courtPrediction(
    { ...withReadings((value) => value / 2.54), shoes: bench.shoes.toReversed() },
    { ...quick, models: false },
  );
  plain.pairs.forEach((pair, index) => {
    assertClose(inches.pairs[index].spearman.estimate, pair.spearman.estimate!, { within: 1e-12 });
    assertClose(
      inches.pairs[index].influence.lowest,
      pair.influence.lowest!,
      { within: 1e-12 },
    );
  });
});

Deno.test("influence.without_it is the rank correlation that a bench without the shoe has", () => {
  // On one court: what shoes of a court have on average moves with the shoes that are there.
  const oneCourt: Bench = {
    ...bench,
    shoes: bench.shoes.map((shoe) => ({ ...shoe, surface: "hard" })),
  };
  const pair = pairOf(courtPrediction(oneCourt, { ...quick, models: false }), "mass", "speed");
  const { influence } = pair;
  const fewer = {
    ...oneCourt,
    shoes: oneCourt.shoes.filter((shoe) => shoe.shoe_id !== influence.shoe_id),
  };
  // The panel is not told anew: the shoe is taken away from a table that stands.
  const left = pair.points.filter(({ shoe_id }) => shoe_id !== influence.shoe_id);
  assert.equal(left.length, pair.n - 1);
  const again = pairOf(courtPrediction(fewer, { ...quick, models: false }), "mass", "speed");
  assert.equal(again.n, pair.n - 1);
  assertClose(again.spearman.estimate, influence.without_it!, { within: 1e-12 });
  // It is one end of what leaving a shoe out can give, and the pair's own correlation lies between the ends.
  const each = influence.without_each.filter((rho) => rho !== null);
  const sorted = each.toSorted((a, b) => a - b);
  assert.deepEqual([influence.lowest, influence.highest], [sorted[0], sorted.at(-1)]);
  assert.ok(
    influence.lowest! < pair.spearman.estimate! && pair.spearman.estimate! < influence.highest!,
  );
});

Deno.test("a shoe's own rating never reaches what the models foretell of it", () => {
  const attribute = "grip";
  const model = courtPrediction(bench, { ...quick, attributes: [attribute] }).attributes[0].model!;
  const { shoe_id } = model.points[0];
  const lifted = {
    ...bench,
    impressions: bench.impressions.map((row) =>
      row.attribute === attribute && row.shoe_id === shoe_id && row.rating !== null
        // The same lift from every tester leaves their leniencies as they are.
        ? { ...row, rating: row.rating + 3 }
        : row
    ),
  };
  const again = courtPrediction(lifted, { ...quick, attributes: [attribute] }).attributes[0].model!;
  assertClose(again.points[0].observed, model.points[0].observed + 3, { within: 1e-9 });
  assertClose(again.points[0].ridge, model.points[0].ridge!, { within: 1e-9 });
  assertClose(again.points[0].nnls, model.points[0].nnls!, { within: 1e-9 });
  assert.ok(Math.abs(again.points[1].ridge! - model.points[1].ridge!) > 1e-6);
});

Deno.test("the ceiling is the root of both reliabilities, and its absence has a reason", () => {
  const estimate = (value: number) => ({
    estimate: value,
    estimate_reason: null,
    lower: value - 0.1,
    upper: value + 0.05,
    confidence: 0.95,
    method: "given",
    n: 48,
    warnings: [],
  });
  const reliability = {
    metrics: bench.metrics.map(({ id }) => ({ metric: id, icc_mean: estimate(0.9) })),
  };
  const panel = {
    attributes: [
      { attribute: "grip", value_reliability: estimate(0.64) },
      {
        attribute: "speed",
        value_reliability: {
          ...estimate(0),
          estimate: null,
          estimate_reason: { code: "one-tester" },
        },
      },
    ],
  };
  const found = courtPrediction(bench, { ...quick, models: false, reliability, panel });
  const grip = pairOf(found, "tilt-slip-dry", "grip");
  assertClose(grip.ceiling, Math.sqrt(0.9 * 0.64), { within: 1e-12 });
  assertClose(grip.disattenuated.estimate, grip.spearman.estimate! / grip.ceiling!, {
    within: 1e-12,
  });
  assert.ok(grip.disattenuated.lower! < grip.disattenuated.estimate!);
  assert.match(grip.disattenuated.warnings.map((one) => sayReason(one)).join(), /above 1/);
  assert.match(
    sayReason(pairOf(found, "mass", "speed").ceiling_reason!),
    /reliability of the panel is unknown$/,
  );
  assert.match(sayReason(pairOf(found, "mass", "comfort").ceiling_reason!), /panel is unknown/);
  assert.match(sayReason(study.pairs[0].ceiling_reason!), /was not given/);
});

Deno.test("a constant metric is said to be constant, and costs the others nothing", () => {
  const flat = courtPrediction(
    withReadings((value, metric) => metric === "outsole-wear" ? 0.5 : value),
    quick,
  );
  const pair = pairOf(flat, "outsole-wear", "grip");
  assert.equal(pair.spearman.estimate, null);
  assert.match(
    sayReason(pair.spearman.estimate_reason!),
    /all 48 shoes read the same on Outsole wear/,
  );
  for (const key of ["p_reason", "p_familywise_reason", "q_reason"] as const) {
    assert.equal(pair[key], pair.spearman.estimate_reason);
  }
  assert.equal(pair.claim, "can't tell");
  assert.equal(pair.settle.shoes, null);
  assert.match(pair.sentence, /can't be told: all 48 shoes/);
  const [{ model }] = flat.attributes;
  assert.ok(
    model!.left_out.some(({ reason }) => sayReason(reason) === "all 48 rated shoes read the same"),
  );
  assert.equal(pairOf(flat, "tilt-slip-dry", "grip").claim, "predicts");
});

Deno.test("three shoes give correlations and exact p, but no interval and no claim", () => {
  const rated = study.pairs[0].points.slice(0, 3).map(({ shoe_id }) => shoe_id);
  const three = courtPrediction(
    { ...bench, shoes: bench.shoes.filter(({ shoe_id }) => rated.includes(shoe_id)) },
    quick,
  );
  for (const pair of three.pairs) {
    assert.equal(pair.claim, "can't tell");
    assert.ok(pair.sentence.length > 20);
    if (pair.spearman.estimate === null) assert.ok(pair.spearman.estimate_reason);
    else {
      assert.equal(pair.spearman.lower, null);
      assert.ok(pair.p! >= 1 / 3);
      assert.match(sayReason(pair.detectable_reason!), /4 are needed/);
    }
  }
  assert.match(
    sayReason(three.attributes[0].model!.reason!),
    /only 3 shoes have every value; 8 are needed/,
  );
  assert.deepEqual(JSON.parse(JSON.stringify(three)), three);
});

Deno.test("ratings that are all tied are named as the reason", () => {
  const tied = courtPrediction({
    ...bench,
    impressions: bench.impressions.map((row) =>
      row.attribute === "grip" ? { ...row, rating: 6 } : row
    ),
  }, quick);
  const pair = pairOf(tied, "mass", "grip");
  assert.equal(pair.spearman.estimate, null);
  assert.match(sayReason(pair.spearman.estimate_reason!), /all 48 shoes rate the same on Grip/);
  const grip = tied.attributes.find(({ attribute }) => attribute === "grip")!;
  assert.match(sayReason(grip.model!.reason!), /rate the same/);
  assert.equal(grip.ordinal!.agrees, null);
  assert.match(
    grip.sentence,
    /Nothing on the bench is shown to predict grip.*can't be set against/,
  );
});

Deno.test("a metric that half the shoes lack is judged on the rest and left out of the models", () => {
  const young = pairOf(study, "forefoot-bending-stiffness", "speed");
  assert.equal(young.n, 26);
  assert.ok(young.detectable! > pairOf(study, "mass", "speed").detectable!);
  const { model } = study.attributes.find(({ attribute }) => attribute === "speed")!;
  assert.equal(model!.n, 47);
  assert.ok(!model!.metrics.includes("forefoot-bending-stiffness"));
  assert.ok(
    model!.left_out.some(({ reason }) => sayReason(reason) === "missing for 22 of 48 rated shoes"),
  );
});

Deno.test("an empty bench answers in words", () => {
  const empty = courtPrediction({ ...bench, trials: [], impressions: [] }, quick);
  assert.ok(empty.pairs.every(({ claim, n }) => claim === "can't tell" && n === 0));
  assert.match(sayReason(empty.pairs[0].spearman.estimate_reason!), /no shoe has both/);
  assert.match(empty.attributes[0].model_sentence, /nobody rated it/);
  assert.deepEqual(JSON.parse(JSON.stringify(empty)), empty);
  const none = courtPrediction({ ...bench, metrics: [] }, quick);
  assert.deepEqual(none.pairs, []);
  assert.match(none.sentence, /no metric, or no impression/);
});

Deno.test("courtPrediction() names the metrics it has when it is asked for another", () => {
  assert.throws(() => courtPrediction(bench, { metrics: ["bounce"] }), {
    name: "CantAnswer",
    message: /no metric "bounce"\. There are heel-rebound/,
  });
  assert.throws(() => courtPrediction(bench, { attributes: ["joy"] }), /no attribute "joy"/);
});

Deno.test("non-negative weights never reward the worse direction of a metric", () => {
  const better = new Map(bench.metrics.map((metric: Metric) => [metric.id, metric.better]));
  for (const { model } of study.attributes) {
    for (const { metric, per_sd, lower, upper } of model!.nnls.coefficients) {
      if (better.get(metric) === "higher") assert.ok(per_sd >= 0 && lower! >= 0, metric);
      if (better.get(metric) === "lower") assert.ok(per_sd <= 0 && upper! <= 0, metric);
      assert.ok(lower! <= upper!, metric);
    }
  }
});

Deno.test("ratings taken as an order give the same signs on the demo", () => {
  for (const { ordinal, predicts } of study.attributes) {
    if (predicts.length === 0) continue;
    assert.equal(ordinal!.agrees, true);
    assert.equal(ordinal!.testers, 6);
    assert.ok(ordinal!.tester_sd! > 0);
  }
});

testInR(
  "R has the same rank correlations within courts, and partial ones given mass",
  () => {
    const pairs = study.pairs.filter((pair) =>
      pair.attribute === "speed" && pair.n === 48 && pair.metric !== "mass"
    );
    const { points } = pairOf(study, "mass", "speed");
    const courtOf = new Map(bench.shoes.map((shoe) => [shoe.shoe_id, shoe.surface]));
    const courts = points.map(({ shoe_id }) => `"${courtOf.get(shoe_id)}"`).join(",");
    const rows = inR(
      `court <- c(${courts}); within <- function(v) rank(round(v - ave(v, court), 9))
m <- within(${rVector(points.map((point) => point.metric_value))})
` + pairs.map((pair) =>
        `x <- within(${rVector(pair.points.map((point) => point.metric_value))})
y <- within(${rVector(pair.points.map((point) => point.panel_value))})
out(c(cor(x, y), cor(resid(lm(x ~ m)), resid(lm(y ~ m)))))`
      ).join("\n"),
    );
    assert.ok(pairs[0].kin.courts > 1);
    pairs.forEach((pair, index) => {
      const [rho, partial] = rows[index];
      assertClose(pair.spearman.estimate, rho, { within: 1e-12 });
      assertClose(pair.partial_given_mass.estimate, partial, { within: 1e-12 });
    });
  },
);

Deno.test("a rated reference shoe predicts nothing, unless the bench ranks its references", async () => {
  const bench = await loadBench(new URL("../../../data-demo", import.meta.url).pathname);
  const [reference] = bench.settings.reference_shoes;
  const rated = bench.impressions.filter(({ shoe_id }) => shoe_id === "pavrico-orbinel-3")
    .map((row) => ({ ...row, shoe_id: reference }));
  const shoes = (rank_references: boolean) =>
    courtPrediction({
      ...bench,
      impressions: [...bench.impressions, ...rated],
      settings: { ...bench.settings, rank_references },
    }, {
      metrics: ["mass"],
      attributes: ["speed"],
      seed: 1,
      resamples: 200,
      permutations: 200,
      models: false,
    }).pairs[0].spearman.n;
  assert.equal(shoes(true), shoes(false) + 1);
});

Deno.test("a metric that says nothing takes 1/(n − 1) of R² by chance, n the shoes of the model", () => {
  for (const { model } of study.attributes) {
    const { shares, points } = model!;
    assert.equal(shares.by_chance, shares.r2 === null ? null : 1 / (points.length - 1));
  }
  assert.ok(study.attributes.some(({ model }) => model!.shares.by_chance !== null));
});
