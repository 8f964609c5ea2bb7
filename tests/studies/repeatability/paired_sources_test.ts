import assert from "node:assert/strict";
import { pairedSourcesChart } from "../../../lib/charts/paired_sources_chart.ts";
import { loadBench } from "../../../lib/records/load_bench.ts";
import { limitsOfAgreement } from "../../../lib/statistics/limits_of_agreement.ts";
import {
  pairedSources,
  sourceAgreement,
} from "../../../lib/studies/repeatability/paired_sources.ts";
import {
  agreementFinding,
  agreementRows,
  pairedSentence,
} from "../../../lib/words/repeatability/source_sentences.ts";
import { assertClose } from "../../assert_close.ts";
import { agreementCoverage, twoRigs } from "../../benchmarks/agreement_coverage.ts";
import { inR, rVector, testInR } from "../../statistics/in_r.ts";
import { lostValues, smallBench, type SmallVisit } from "../small_bench.ts";

const demoPath = new URL("../../../data-demo", import.meta.url).pathname;
const demo = await loadBench(demoPath);
const truth = JSON.parse(await Deno.readTextFile(`${demoPath}/truth.json`));

/** Shoes on two rigs, each visit one reading: `rig session date shoe value`. */
function benchOf(rows: readonly string[], operators: Readonly<Record<string, string>> = {}) {
  return smallBench(rows.map((row): SmallVisit => {
    const [rig, session, date, shoe, value] = row.split(" ");
    return { rig, session, date, shoe, values: [Number(value)], operator: operators[rig] ?? "one" };
  }));
}

Deno.test("where every shoe counts once, mean and limits are those of Bland and Altman, with their intervals", () => {
  const bench = twoRigs("12 shoes on both, one session each", 0.5, 3);
  const found = pairedSources(bench, "height", { by: "rig" });
  const [a, b] = [-0.5, 0.5].map((side) =>
    found.pairs.map(({ mean, difference }) => mean + side * difference)
  );
  const plain = limitsOfAgreement(b, a);
  assert.equal(found.pairs.length, 12);
  for (
    const [own, theirs] of [
      [found.bias, plain.bias],
      [found.lower_limit, plain.lower],
      [found.upper_limit, plain.upper],
    ]
  ) {
    for (const  of of["estimate", "lower", "upper"] as const) {
      assertClose(own[of], theirs[of]!, { within: 1e-9 });
    }
  }
});

testInR(
  "mean difference and scatter of a single one are those of R's lmer with shoe and occasion random",
  () => {
    const bench = twoRigs("two references in every session, six others on both", 0.5, 7);
    const found = pairedSources(bench, "height", { by: "rig" });
    assert.equal(found.occasions, 6);
    // The generator has rig a on even and rig b on odd sessions: an occasion is the two that follow.
    const mean = (shoe: string, session: string) => {
      const own = bench.trials.filter((t) => t.shoe_id === shoe && t.session_id === session);
      return own.reduce((sum, { value }) => sum + value!, 0) / own.length;
    };
    const rows = [0, 1, 2, 3, 4, 5].flatMap((k) => {
      const shoes = new Set(
        bench.trials.filter(({ session_id }) => session_id === `d${2 * k}`).map((t) => t.shoe_id),
      );
      return [...shoes].map((shoe) => ({
        shoe,
        k,
        d: mean(shoe, `d${2 * k + 1}`) - mean(shoe, `d${2 * k}`),
      }));
    });
    const [[bias], [sd]] = inR(`suppressMessages(library(lme4))
d <- data.frame(y = ${rVector(rows.map(({ d }) => d))}, shoe = factor(c(${
      rows.map(({ shoe }) => `"${shoe}"`).join(",")
    })), occasion = factor(${rVector(rows.map(({ k }) => k))}))
m <- suppressMessages(lmer(y ~ 1 + (1 | shoe) + (1 | occasion), d,
  control = lmerControl(check.conv.singular = "ignore", optCtrl = list(xtol_abs = 1e-12, ftol_abs = 1e-14))))
out(fixef(m)); out(sqrt(sum(as.data.frame(VarCorr(m))$vcov)))`);
    assertClose(found.bias.estimate, bias, { within: 2e-4 });
    assertClose(found.upper_limit.estimate! - found.lower_limit.estimate!, 2 * 1.959964 * sd, {
      within: 1e-3,
    });
  },
);

Deno.test("intervals hold a true mean difference on 91% of 300 benches or more, and no verdict is false on more than 6%", () => {
  const design = "two references in every session, six others on both";
  const at = (apart: number) => agreementCoverage(design, apart, { benches: 300, seed: 50 });
  const [same, edge, far] = [at(0), at(1), at(2)];
  assert.ok(same.bias >= 0.91 && same.limits >= 0.91, JSON.stringify(same));
  assert.equal(same.may_not, 0);
  // A rig off by exactly what matters is called neither, but for one in 40 to each side.
  assert.ok(edge.may <= 0.06 && edge.may_not <= 0.06, JSON.stringify(edge));
  assert.equal(far.may, 0);
  assert.ok(same.may > 0.5 && far.may_not > 0.7);
});

Deno.test("the demo's drifting rig may not stand beside the other, by a difference that changes as planted; no other metric's does", () => {
  const found = sourceAgreement(demo);
  assert.deepEqual(lostValues(found), []);
  const rigs = found.filter(({ by }) => by === "rig");
  assert.deepEqual(
    rigs.filter(({ moves }) => moves).map(({ metric }) => metric),
    [truth.drift.metric],
  );
  const drifting = rigs.find(({ metric }) => metric === truth.drift.metric)!;
  assert.equal(drifting.verdict, "may not stand beside");
  const planted = truth.drift.slope_per_year;
  assert.ok(drifting.change.lower! < planted && planted < drifting.change.upper!);
  assert.match(
    pairedSentence(drifting),
    /the difference falls by 1\.\d+ cm a year.*reference shoes/,
  );
  assert.deepEqual(
    found.filter(({ verdict }) => verdict === "may not stand beside").map(({ by }) => by),
    ["rig"],
  );
  assert.match(
    agreementFinding(found),
    /bench-a and bench-b on \d+ of 12 metrics \(not on heel rebound/,
  );
  assert.equal(agreementRows(found).length, found.length);
});

Deno.test("a difference that changes is drawn against the month, with its interval where it stood last; a steady one against the mean", () => {
  const drawn = (metric: string, by: "rig" | "operator") =>
    pairedSourcesChart(pairedSources(demo, metric, { by })).outerHTML;
  const moving = drawn(truth.drift.metric, "rig");
  assert.match(moving, />Month</);
  assert.match(moving, />2026-0\d</);
  assert.doesNotMatch(drawn("mass", "operator"), />Month</);
});

for (
  const [name, rows, said] of [
    ["one rig", ["a s1 2026-01-01 x 1", "a s2 2026-01-02 y 2"], /no two rigs/],
    [
      "no shoe on both rigs",
      ["a s1 2026-01-01 x 1", "b s2 2026-01-02 y 2"],
      /can't be told: no shoe was benched on both/,
    ],
    [
      "the same shoes in other seasons",
      [
        "a s1 2026-01-01 x 1",
        "a s1 2026-01-01 y 2",
        "b s2 2026-07-01 x 1",
        "b s2 2026-07-01 y 2.1",
      ],
      /can't be told: 2 shoes were benched by both, none within 28 days/,
    ],
    [
      "one occasion",
      [
        "a s1 2026-01-01 x 1",
        "a s1 2026-01-01 y 2",
        "b s2 2026-01-05 x 1.2",
        "b s2 2026-01-05 y 2.1",
      ],
      /side by side can't be told: they met on one occasion.*bench the same shoes on both again/,
    ],
  ] as const
) {
  Deno.test(`${name}: whether two rigs agree can't be told, and the sentence says why`, () => {
    const found = pairedSources(benchOf(rows), "height", { by: "rig" });
    assert.equal(found.verdict, "can't tell");
    assert.match(pairedSentence(found), said);
    assert.deepEqual(lostValues(found), []);
  });
}

Deno.test("an operator who changed with the rig every time is named, as nobody can say which of the two it is", () => {
  const rows = ["x 10 10.1", "y 12 12.3", "z 14 14.2"].flatMap((line, i) => {
    const [shoe, on_a, on_b] = line.split(" ");
    const day = (d: number) => `2026-0${i + 1}-${String(d).padStart(2, "0")}`;
    return [`a s${i}a ${day(1)} ${shoe} ${on_a}`, `b s${i}b ${day(8)} ${shoe} ${on_b}`];
  });
  const alone = pairedSources(benchOf(rows), "height", { by: "rig" });
  const mixed = pairedSources(benchOf(rows, { a: "ann", b: "ben" }), "height", { by: "rig" });
  assert.equal(alone.mixed_with, null);
  assert.equal(mixed.mixed_with, "operator");
  assert.match(pairedSentence(mixed), /operator changed with the rig every time/);
});

Deno.test("visits farther apart than the weeks asked for are set against nothing, and each visit counts once", () => {
  const rows = [
    "a s1 2026-01-01 x 10",
    "b s2 2026-01-08 x 11",
    "b s3 2026-01-20 x 12",
    "a s4 2026-05-01 x 10",
    "b s5 2026-06-15 x 12",
  ];
  const within = (within_days: number) =>
    pairedSources(benchOf(rows), "height", { by: "rig", within_days }).pairs
      .map(({ difference, days_apart }) => [difference, days_apart]);
  assert.deepEqual(within(28), [[1, 7]]);
  assert.deepEqual(within(60), [[1, 7], [2, 45]]);
});

Deno.test("one shoe read by both once is one match that is too few, not one occasion of several", () => {
  const found = pairedSources(
    benchOf(["a d0 2026-01-01 s0 10", "b d1 2026-01-02 s0 11", "b d1 2026-01-02 s1 12"]),
    "height",
    { by: "rig" },
  );
  assert.equal(found.verdict, "can't tell");
  assert.deepEqual(found.verdict_reason, { code: "weeks-apart", both: 1, found: 1, days: 28 });
  const two = pairedSources(
    benchOf([
      "a d0 2026-01-01 s0 10",
      "a d0 2026-01-01 s1 12",
      "b d1 2026-01-02 s0 11",
      "b d1 2026-01-02 s1 12",
    ]),
    "height",
    { by: "rig" },
  );
  assert.deepEqual(two.verdict_reason, { code: "one-occasion" });
});
