import assert from "node:assert/strict";
import { doubts, predictionClaim } from "../../../lib/studies/prediction/prediction_claim.ts";

const sound = {
  rho: 0.6,
  lower: 0.3,
  upper: 0.8,
  q: 0.01,
  p_familywise: 0.01,
  lowest: 0.5,
  highest: 0.65,
};

Deno.test("predictionClaim() says 'predicts' only when all three conditions hold", () => {
  assert.equal(predictionClaim(sound), "predicts");
  assert.equal(predictionClaim({ ...sound, p_familywise: 0.05 }), "hint");
  assert.equal(predictionClaim({ ...sound, p_familywise: 0.055 }), "hint");
  assert.equal(predictionClaim({ ...sound, p_familywise: 0.049 }), "predicts");
  assert.equal(predictionClaim({ ...sound, lower: -0.01 }), "hint");
  assert.equal(predictionClaim({ ...sound, lowest: -0.01 }), "hint");
  assert.equal(predictionClaim({ ...sound, lower: null, upper: null }), "hint");
  const down = { ...sound, rho: -0.6, lower: -0.8, upper: -0.3, lowest: -0.65, highest: -0.5 };
  assert.equal(predictionClaim(down), "predicts");
  assert.equal(predictionClaim({ ...down, highest: 0 }), "hint");
});

Deno.test("predictionClaim() says 'no sign of it' only when the whole interval is small", () => {
  const weak = { ...sound, rho: 0.05, q: 0.6, p_familywise: 0.9, lower: -0.2, upper: 0.3 };
  assert.equal(predictionClaim(weak), "no sign of it");
  assert.equal(predictionClaim({ ...weak, upper: 0.31 }), "can't tell");
  assert.equal(predictionClaim({ ...weak, lower: null, upper: null }), "can't tell");
  assert.equal(predictionClaim({ ...weak, q: 0.09 }), "hint");
});

Deno.test("predictionClaim() can't tell without a correlation or without p", () => {
  assert.equal(predictionClaim({ ...sound, rho: null }), "can't tell");
  assert.equal(predictionClaim({ ...sound, q: null, p_familywise: null }), "can't tell");
});

Deno.test("doubts() lists every condition that fails", () => {
  assert.deepEqual(doubts(sound), []);
  assert.deepEqual(doubts({ ...sound, p_familywise: null, lower: -0.1, lowest: null }), [
    "chance among many",
    "interval holds zero",
    "one shoe",
  ]);
});
