import assert from "node:assert/strict";
import { inBackground } from "../../lib/notebook/in_background.ts";
import { loadBench } from "../../lib/records/load_bench.ts";
import { studyAudit } from "../../lib/studies/audit/study_audit.ts";
import { trialReliability } from "../../lib/studies/repeatability/trial_reliability.ts";

const bench = await loadBench(new URL("../../data-demo", import.meta.url).pathname);
const reliability = trialReliability(bench, { seed: 3, resamples: 100 });
const sizes = {
  seed: 3,
  repeatability: { simulations: 2, intervalSimulations: 1, resamples: 100 },
  prediction: { simulations: 3, powerSimulations: 2, resamples: 100, permutations: 99 },
};

Deno.test("inBackground() gives the very bytes that the study itself gives", async () => {
  const away = inBackground("studyAudit", bench, reliability, sizes);
  const here = studyAudit(bench, reliability, sizes);
  assert.equal(JSON.stringify(await away), JSON.stringify(here));
});

Deno.test("inBackground() hands a wrong call back as the error it is, and only to who awaits it", async () => {
  const failing = inBackground("studyAudit", bench, reliability, {
    ...sizes,
    repeatability: { simulations: 0 },
  });
  await new Promise((resolve) => setTimeout(resolve, 10));
  await assert.rejects(failing, (error: Error) => {
    assert.ok(error instanceof RangeError);
    assert.match(error.message, /simulations is a whole number of at least 1, was given 0/);
    return true;
  });
});

Deno.test("studies sent away together are answered each with its own result, a failing one among them", async () => {
  const few = { seed: 3, resamples: 100 };
  const failing = inBackground("trialReliability", bench, { seed: 3, resamples: 1 });
  const asked = [few, { ...few, metrics: ["heel-rebound"] }].map((options) =>
    inBackground("trialReliability", bench, options)
  );
  await assert.rejects(failing, RangeError);
  const [all, one] = await Promise.all(asked);
  assert.equal(JSON.stringify(all), JSON.stringify(trialReliability(bench, few)));
  assert.deepEqual(one.metrics.map(({ metric }) => metric), ["heel-rebound"]);
});
