import { smallBench } from "../small_bench.ts";
import assert from "node:assert/strict";
import { predictionAuditSentence } from "../../../lib/words/audit/audit_words.ts";
import { loadBench } from "../../../lib/records/load_bench.ts";
import { courtShare, shoeKin } from "../../../lib/studies/shoes/shoe_kin.ts";
import { assertClose } from "../../assert_close.ts";
import { benchRecords } from "../../benchmarks/tree_bench_records.ts";
import { plainDesign, treeBench } from "../../benchmarks/tree_benches.ts";
import { predictionAudit } from "../../../lib/studies/audit/prediction_audit.ts";

const bench = await loadBench(new URL("../../../data-demo", import.meta.url).pathname);
const quick = { simulations: 120, powerSimulations: 36, resamples: 200, permutations: 199 };
const audit = predictionAudit(bench, quick);

Deno.test("predictionAudit() finds few false predictions and more of the stronger truths", () => {
  // Binomial with 5% of 120: more than 14 comes about once in a thousand times.
  assert.ok(audit.false_predicts.estimate! * 120 <= 14, predictionAuditSentence(audit));
  const [weak, middle, strong] = audit.power.map(({ found }) => found.estimate!);
  assert.ok(weak < middle && middle < strong && strong > 0.8, predictionAuditSentence(audit));
  for (const { rho, seen_as, ranked_first } of audit.power) {
    assert.ok(seen_as! > 0.5 * rho && seen_as! < rho + 0.1, `${rho} is seen as ${seen_as}`);
    if (rho === 0.7) assert.ok(ranked_first.estimate! > 0.8);
  }
  assert.equal(audit.shoes, 48);
  assert.equal(audit.metrics, 12);
  assert.equal(audit.testers, 6);
});

Deno.test("a noisier bench finds less of the same truth", () => {
  const poor = { ...audit.false_predicts, estimate: 0.3 };
  const noisy = predictionAudit(bench, {
    ...quick,
    simulations: 0,
    reliability: {
      metrics: bench.metrics.map(({ id }) => ({ metric: id, icc_mean: poor })),
    },
  });
  assert.ok(noisy.power[1].found.estimate! < audit.power[1].found.estimate!);
  assert.ok(noisy.power[2].seen_as! < 0.7 * audit.power[2].seen_as!);
  assert.deepEqual(noisy.warnings, []);
  assert.deepEqual(audit.warnings, [{ code: "no-reliability-given" }]);
});

Deno.test("predictionAudit() is plain JSON and the same for the same seed", () => {
  const small = { ...quick, simulations: 10, powerSimulations: 5 };
  const once = predictionAudit(bench, small);
  assert.deepEqual(JSON.parse(JSON.stringify(once)), once);
  assert.deepEqual(predictionAudit(bench, small), once);
  assert.notDeepEqual(predictionAudit(bench, { ...small, seed: 3 }).power, once.power);
});

Deno.test("predictionAudit() says why a bench can't be audited", () => {
  for (
    const [without, reason] of [
      [{ trials: [] }, /no metric/],
      [{ impressions: [] }, /nobody has rated a shoe yet/],
      [{ metrics: [] }, /no metric/],
    ] as const
  ) {
    const none = predictionAudit({ ...bench, ...without }, quick);
    assert.equal(none.false_predicts.estimate, null);
    assert.match(predictionAuditSentence(none), reason);
    assert.deepEqual(JSON.parse(JSON.stringify(none)), none);
  }
});

Deno.test("courts that differ on bench and court alike make no more false claims, since shoes are compared within theirs", () => {
  const design = {
    ...plainDesign,
    ...{ maker: 0.1, line: 0.2, editions: 3, makers: 7, court: 0.5, courts: 3 },
    ...{ metrics: 8, impressions: 4 },
  };
  const apart = predictionAudit(benchRecords(treeBench(design, 1), design), {
    ...quick,
    simulations: 80,
    powerSimulations: 5,
  });
  assert.equal(apart.courts, 3);
  // Binomial with 6% of 80: more than 12 comes about once in a thousand times.
  assert.ok(apart.false_predicts.estimate! * 80 <= 12, predictionAuditSentence(apart));
  assert.match(predictionAuditSentence(apart), /their gaps, makers, lines and courts/);
  const one = { ...design, court: 0, courts: 1 };
  const same = predictionAudit(benchRecords(treeBench(one, 1), one), {
    ...quick,
    simulations: 2,
    powerSimulations: 2,
  });
  assert.equal(same.courts, 1);
  assert.match(predictionAuditSentence(same), /their gaps, makers and lines, a first/);
});

Deno.test("courtShare() is what the mean squares between and within courts leave of the variance", () => {
  const shoes = bench.shoes.slice(0, 12).map((shoe, row) => ({
    ...shoe,
    surface: row < 6 ? "hard" as const : "clay" as const,
  }));
  const kin = shoeKin(shoes, shoes.map(() => true));
  const values = [1, 2, 3, 4, 5, 6, 11, 12, 13, 14, 15, null];
  // Total: 11 values about 86/11; within: 17.5 + 10 over 9 degrees of freedom.
  const mean = 86 / 11;
  const total = values.reduce<number>((s, v) => v === null ? s : s + (v - mean) ** 2, 0) / 10;
  assertClose(courtShare(values, kin), 1 - 27.5 / 9 / total, { within: 1e-12 });
  // The share is the same in any unit.
  const small = values.map((value) => value === null ? null : value / 1000);
  assertClose(courtShare(small, kin), 1 - 27.5 / 9 / total, { within: 1e-9 });
  assert.equal(courtShare(values, { ...kin, courts: 1 }), 0);
  assert.equal(courtShare([1, 2, 3, null, null, null, 1, 2, 3, null, null, null], kin), 0);
});

Deno.test("a metric of two values on the rated shoes is none to predict by, one of three is", () => {
  const shoes = ["a", "b", "c", "d", "e", "f"];
  const of = (values: readonly number[]) =>
    predictionAudit(
      smallBench(shoes.map((shoe, i) => ({ shoe, session: "s", values: [values[i]] })), {
        ratings: ["t1", "t2", "t3"].flatMap((tester, j) =>
          shoes.map((shoe, i) => [tester, shoe, 1 + (3 * i + j * i + j) % 7] as const)
        ),
      }),
      { simulations: 0, powerSimulations: 0 },
    );
  const two = of([1, 1, 2, 2, 1, 2]);
  assert.deepEqual([two.shoes, two.metrics, two.testers], [6, 0, 3]);
  assert.deepEqual(two.false_predicts.estimate_reason, { code: "no-metric-varies" });
  assert.equal(two.false_predicts.n, 0);
  assert.equal(of([1, 1, 2, 3, 1, 2]).metrics, 1);
});

Deno.test("benches of four rated shoes can be simulated, of three they can't", () => {
  const few = (count: number) => {
    const kept = bench.shoes.filter(({ shoe_id }) =>
      bench.impressions.filter((row) => row.shoe_id === shoe_id).length > 20
    ).slice(0, count).map(({ shoe_id }) => shoe_id);
    const own = <Row extends { readonly shoe_id: string }>(rows: readonly Row[]) =>
      rows.filter(({ shoe_id }) => kept.includes(shoe_id));
    return predictionAudit({
      ...bench,
      shoes: own(bench.shoes),
      trials: own(bench.trials),
      impressions: own(bench.impressions),
    }, { seed: 1, simulations: 2, powerSimulations: 0, resamples: 100, permutations: 19 });
  };
  assert.equal(few(4).shoes, 4);
  assert.notEqual(few(4).false_predicts.estimate, null);
  assert.deepEqual(few(3).false_predicts.estimate_reason, {
    code: "too-few",
    of: "rows",
    needed: 4,
    found: 3,
  });
});
