import assert from "node:assert/strict";
import type { IndexRule } from "../../../lib/records/types.ts";
import { proposalGain } from "../../../lib/studies/index/proposal_gain.ts";
import { panelValues } from "../../../lib/studies/panel/panel_values.ts";
import { assertClose } from "../../assert_close.ts";
import { demoWithPlantedNoise } from "../rule_data.ts";

const { bench } = await demoWithPlantedNoise();
const oldRule = bench.rules[0];
const attribute = oldRule.target_attribute;

/** The rule in force with half of the second weight given to the first. */
const moved = oldRule.terms[1].weight / 2;
const rule: IndexRule = {
  ...oldRule,
  version: "new",
  terms: oldRule.terms.map((term, j) => ({
    ...term,
    weight: term.weight + (j === 0 ? moved : j === 1 ? -moved : 0),
  })),
};
const days = new Map<string, string>();
for (const { shoe_id, date, attribute: rated, rating } of bench.impressions) {
  if (rated !== attribute || rating === null) continue;
  if (!days.has(shoe_id) || date < days.get(shoe_id)!) days.set(shoe_id, date);
}
const values = new Map(panelValues(bench, attribute).shoes.map((row) => [row.shoe_id, row.value]));
/** The day on or before which half of the shoes had been rated. */
const middle = [...days.values()].sort()[Math.floor(days.size / 2)];
const after = [...days].filter(([shoe, day]) => values.has(shoe) && day > middle).length;

const judged = (
  { asked_on = middle, fitted_until = null, since, to = rule, from = oldRule }: {
    asked_on?: string;
    fitted_until?: string | null;
    since?: string;
    to?: IndexRule;
    from?: IndexRule;
  },
) =>
  proposalGain(bench, { rule: to, asked_on, fitted_until }, {
    oldRule: from,
    confidence: 0.95,
    seed: 1,
    ...(since === undefined ? {} : { since }),
  });

Deno.test("a rule that was fitted to nothing is judged on all rated shoes, and how many were first rated since it was asked is told", () => {
  assert.ok(after > 3 && after < values.size - 3);
  const found = judged({});
  assert.deepEqual(found.basis, { kind: "as-they-stand", rated: values.size, after });
  assert.ok(found.gain.n > after);
});

Deno.test("other weights of the terms in force, fitted to ratings, are judged by those ratings, on whatever scale they are written", () => {
  const times = (weights: number, points: number, rule: IndexRule): IndexRule => ({
    ...rule,
    terms: rule.terms.map((term) => ({ ...term, weight: weights * term.weight })),
    bonuses: rule.bonuses.map((bonus) => ({ ...bonus, points: points * bonus.points })),
  });
  const found = judged({ fitted_until: middle });
  assert.deepEqual(found.basis, { kind: "fitted-here", until: middle });
  assert.ok(found.gain.n > after);
  const twice = judged({ fitted_until: middle, to: times(2, 2, rule) });
  assert.equal(twice.basis.kind, "fitted-here");
  assertClose(twice.gain.estimate, found.gain.estimate!, { within: 1e-9 });
  const both = judged({
    fitted_until: middle,
    to: times(3, 3, rule),
    from: times(2, 2, oldRule),
  });
  assert.equal(both.basis.kind, "fitted-here");
  assertClose(both.gain.estimate, found.gain.estimate!, { within: 1e-9 });
  // A bonus that counts twice as much beside the terms makes it another rule.
  assert.ok(rule.bonuses.length > 0);
  assert.equal(
    judged({ fitted_until: middle, to: times(1, 2, rule) }).basis.kind,
    "fitted-elsewhere",
  );
});

Deno.test("fitted weights of other terms, or asked for since a day, are judged on shoes first rated after it alone", () => {
  const fewer = { ...rule, terms: rule.terms.slice(1) };
  const elsewhere = judged({ fitted_until: middle, to: fewer });
  assert.deepEqual(elsewhere.basis, { kind: "fitted-elsewhere", until: middle, after });
  assert.ok(elsewhere.gain.n <= after);
  const since = judged({ fitted_until: middle, since: middle });
  assert.equal(since.basis.kind, "fitted-elsewhere");
  assert.equal(since.gain.n, judged({ since: middle }).gain.n);
  assert.ok(since.gain.n <= after);
});
