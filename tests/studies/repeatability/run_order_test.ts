import assert from "node:assert/strict";
import { runOrder } from "../../../lib/studies/repeatability/run_order.ts";
import { runOrderSentence } from "../../../lib/words/repeatability/source_sentences.ts";
import { assertClose } from "../../assert_close.ts";
import { inR, rVector, testInR } from "../../statistics/in_r.ts";
import { ownNormals } from "../drift/drifting_bench.ts";
import { lostValues, smallBench, type SmallVisit } from "../small_bench.ts";

type Plan = "references first" | "drawn anew" | "references first and last";

/** Ten sessions of two references and four shoes seen once; readings rise by `slope` a place. */
function orderedBench(seed: number, plan: Plan, slope: number) {
  const normal = ownNormals(seed);
  const levels = new Map<string, number>();
  const visits: (SmallVisit & { readonly place: number; readonly first: number })[] = [];
  for (let s = 0; s < 10; s++) {
    const session = 0.3 * normal();
    const others = [0, 1, 2, 3].map((k) => `s${4 * s + k}`);
    const references = ["ref-1", "ref-2"];
    const order = plan === "references first"
      ? [...references, ...others]
      : plan === "references first and last"
      ? [...references, ...others, ...references]
      : [...references, ...others].map((shoe) => ({ shoe, at: normal() }))
        .sort((a, b) => a.at - b.at).map(({ shoe }) => shoe);
    const seen = new Map<string, number>();
    order.forEach((shoe, i) => {
      if (!levels.has(shoe)) levels.set(shoe, 50 + 3 * normal());
      const first = seen.get(shoe) ?? 0;
      seen.set(shoe, first + 3);
      const level = levels.get(shoe)! + session + slope * (i + 1) + 0.2 * normal();
      visits.push({
        shoe,
        session: `d${s}`,
        place: i + 1,
        first,
        values: [0, 1, 2].map(() => level + 0.3 * normal()),
      });
    });
  }
  const bench = smallBench(visits, { references: ["ref-1", "ref-2"] });
  const first = visits.flatMap(({ first, values }) => values.map(() => first));
  return {
    visits,
    bench: {
      ...bench,
      trials: bench.trials.map((trial, i) => ({ ...trial, trial: trial.trial + first[i] })),
    },
  };
}

Deno.test("with the same shoes always first, order and shoe can't be told apart: said, with what to do, and not estimated", () => {
  const found = runOrder(orderedBench(3, "references first", 0.5).bench, "height");
  assert.equal(found.slope.estimate, null);
  assert.deepEqual([found.telling, found.p, found.found], [0, null, false]);
  assert.deepEqual(lostValues(found), []);
  assert.match(
    runOrderSentence(found),
    /^Run order and shoe can't be told apart on height: every shoe .* same place.*retest --sheet/,
  );
});

Deno.test("shoes that never come back tell no order either", () => {
  const { bench } = orderedBench(3, "drawn anew", 0.5);
  const once = {
    ...bench,
    trials: bench.trials.filter(({ shoe_id }) => !shoe_id.startsWith("ref")),
  };
  assert.equal(runOrder(once, "height").slope.estimate, null);
});

for (const plan of ["drawn anew", "references first and last"] as const) {
  Deno.test(`a change of 0.5 a place is found in its size where the order is ${plan}, and none where there is none`, () => {
    let held = 0;
    let claimed = 0;
    for (let seed = 1; seed <= 60; seed++) {
      const planted = runOrder(orderedBench(seed, plan, 0.5).bench, "height");
      assert.ok(planted.found && planted.telling === 2);
      if (planted.slope.lower! <= 0.5 && 0.5 <= planted.slope.upper!) held++;
      if (runOrder(orderedBench(seed, plan, 0).bench, "height").found) claimed++;
    }
    // 95% and 5% of 60, each within two Monte Carlo errors.
    assert.ok(held >= 54, `${held} of 60 held`);
    assert.ok(claimed <= 6, `${claimed} of 60 claimed`);
    assert.match(
      runOrderSentence(runOrder(orderedBench(1, plan, 0.5).bench, "height")),
      /^Readings rise with the place .* told by 2 pairs read at more than one place/,
    );
  });
}

testInR(
  "the change a place and its standard error are those of R's lmer with a level for each shoe",
  () => {
    const { bench, visits } = orderedBench(5, "drawn anew", 0.2);
    const found = runOrder(bench, "height");
    const mean = (values: readonly (number | null)[]) =>
      values.reduce((sum: number, value) => sum + value!, 0) / values.length;
    const text = (labels: readonly string[]) =>
      `factor(c(${labels.map((label) => `"${label}"`).join(",")}))`;
    const [[slope, error]] = inR(`suppressMessages(library(lme4))
d <- data.frame(y = ${rVector(visits.map(({ values }) => mean(values)))}, place = ${
      rVector(visits.map(({ place }) => place))
    }, shoe = ${text(visits.map(({ shoe }) => shoe))}, session = ${
      text(visits.map(({ session }) => session))
    })
m <- suppressMessages(lmer(y ~ shoe + place + (1 | session), d,
  control = lmerControl(check.conv.singular = "ignore", optCtrl = list(xtol_abs = 1e-12, ftol_abs = 1e-14))))
out(c(fixef(m)[["place"]], sqrt(as.matrix(vcov(m))["place", "place"])))`);
    assertClose(found.slope.estimate, slope, { within: 2e-4 });
    assert.ok(found.slope.upper! - slope > 1.9 * error && found.slope.upper! - slope < 2.6 * error);
  },
);
