import assert from "node:assert/strict";
import { loadBench, studies } from "bench-to-court";

const bench = await loadBench("data-demo");

/** Each study that takes names, asked by ids and asked as a person writes them. */
const ASKED: Readonly<Record<string, (by: "id" | "name") => unknown>> = {
  trialReliability: (by) =>
    studies.trialReliability(bench, {
      metrics: [by === "id" ? "heel-rebound" : "Heel Rebound"],
      resamples: 100,
      seed: 1,
    }),
  courtPrediction: (by) =>
    studies.courtPrediction(bench, {
      metrics: [by === "id" ? "heel-rebound" : "heel rebund"],
      attributes: [by === "id" ? "liveliness" : "Liveliness"],
      resamples: 100,
      seed: 1,
      permutations: 99,
    }),
  referenceDrift: (by) =>
    studies.referenceDrift(bench, { metrics: [by === "id" ? "mass" : "MASS"] }),
  panelAgreement: (by) =>
    studies.panelAgreement(bench, {
      attributes: [by === "id" ? "ventilation" : "Ventilatoin"],
      resamples: 100,
      seed: 1,
    }),
  pilotPlan: (by) =>
    studies.pilotPlan(bench, {
      shoes: [by === "id" ? "pavrico-orbinel-3" : "orbinel 3"],
      metrics: [by === "id" ? "mass" : "Mass"],
    }),
  ratingCards: (by) =>
    studies.ratingCards(bench, {
      testers: ["t1"],
      seed: 1,
      shoes: [by === "id" ? "pavrico-orbinel-3" : "Pavrico Orbinel 3"],
    }),
};

for (const [study, ask] of Object.entries(ASKED)) {
  Deno.test(`${study}() answers a name as people write it as it answers the id`, () => {
    assert.deepEqual(ask("name"), ask("id"));
  });
}

Deno.test("a study asked about what the bench lacks offers the nearest names, also where it used to leave it out silently", () => {
  const odd: readonly (() => unknown)[] = [
    () => studies.trialReliability(bench, { metrics: ["rebound"], seed: 1 }),
    () => studies.courtPrediction(bench, { attributes: ["sparkle"] }),
    () => studies.predictionAudit(bench, { metrics: ["sparkle"] }),
    () => studies.referenceDrift(bench, { metrics: ["sparkle"] }),
    () => studies.panelAgreement(bench, { attributes: ["sparkle"], seed: 1 }),
    () => studies.pilotPlan(bench, { shoes: ["sparkle"] }),
  ];
  for (const ask of odd) {
    assert.throws(ask, /(There is no (metric|attribute|shoe) "sparkle"|"rebound" fits 2 metrics)/);
  }
});
