import assert from "node:assert/strict";
import {
  noiseAtLimit,
  trialsForDifference,
  trialsForIcc,
} from "../../../lib/studies/repeatability/trials_needed.ts";
import { assertClose } from "../../assert_close.ts";

Deno.test("trialsForIcc() is the fewest trials by hand: 4 / (4 + 1 + 6/k) is 0.5 at two and 0.667 at six", () => {
  const noise = { shoe: 4, visit: 1, trial: 6 };
  assert.deepEqual(trialsForIcc(noise, 0.5), { trials: 2, reason: null });
  assert.equal(trialsForIcc(noise, 0.51).trials, 3);
  assert.equal(trialsForIcc(noise, 4 / 6).trials, 6);
  assert.equal(trialsForIcc({ ...noise, trial: 0 }, 0.5).trials, 1);
});

Deno.test("trialsForIcc() says when visits differ too much for any number of trials, and when shoes don't differ", () => {
  // 4 / (4 + 1) = 0.8 is what no number of trials passes.
  assert.deepEqual(trialsForIcc({ shoe: 4, visit: 1, trial: 6 }, 0.8), {
    trials: null,
    reason: { code: "visits-differ", icc: 0.8 },
  });
  assert.equal(trialsForIcc({ shoe: 0, visit: 1, trial: 6 }, 0.5).reason?.code, "no-difference");
  // 4 / (4 + 800/200) is 0.5, and 200 trials are the most that are offered.
  assert.equal(trialsForIcc({ shoe: 4, visit: 0, trial: 800 }, 0.5).trials, 200);
  assert.deepEqual(trialsForIcc({ shoe: 4, visit: 0, trial: 801 }, 0.5).reason, {
    code: "too-many-trials",
    most: 200,
    icc: 0.5,
  });
});

Deno.test("trialsForDifference() is the fewest trials whose two means differ by the wanted at 1.96 SDs", () => {
  // √2 · √(1 + 6/3) · 1.959964 = 4.80091
  const noise = { visit: 1, trial: 6 };
  assert.equal(trialsForDifference(noise, 4.801, 0.95).trials, 3);
  assert.equal(trialsForDifference(noise, 4.8, 0.95).trials, 4);
  // √2 · 1.959964 = 2.77181 is left by any number of trials.
  assert.deepEqual(trialsForDifference(noise, 2.77, 0.95).reason, {
    code: "visits-differ",
    difference: 2.77,
  });
  assert.equal(trialsForDifference(noise, 2.85, 0.95).trials, 105);
});

Deno.test("noiseAtLimit() makes noise so large that the ICC of the mean is the lower limit, shoes as they are", () => {
  // Of three trials: 4 / (4 + 0.5 + 1.5/3) = 0.8. At 0.5 the noise is four times as large.
  const found = noiseAtLimit({ shoe: 4, visit: 0.5, trial: 1.5 }, { estimate: 0.8, lower: 0.5 });
  assertClose(found.visit, 2, { within: 1e-12 });
  assertClose(found.trial, 6, { within: 1e-12 });
  assertClose(found.shoe / (found.shoe + found.visit + found.trial / 3), 0.5, { within: 1e-12 });
});

Deno.test("noiseAtLimit() of an ICC of 1 changes nothing, and of a limit of 0 leaves no difference of shoes", () => {
  const noise = { shoe: 4, visit: 0, trial: 0 };
  assert.deepEqual(noiseAtLimit(noise, { estimate: 1, lower: 0.9 }), noise);
  for (const [estimate, lower] of [[0.4, 0], [0.4, -0.2], [0, -0.1], [-0.1, -0.3]]) {
    assert.equal(noiseAtLimit({ ...noise, visit: 1 }, { estimate, lower }).shoe, 0);
  }
});
