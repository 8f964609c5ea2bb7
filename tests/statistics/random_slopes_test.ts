import assert from "node:assert/strict";
import { randomSlopes } from "../../lib/statistics/random_slopes.ts";
import { randomStream } from "../../lib/statistics/random_stream.ts";
import { assertClose } from "../assert_close.ts";
import { csvColumns, fromR, published } from "./outside_reference.ts";

const { subject, days, value } = csvColumns("data/sleepstudy.csv");
const sleep = [value.map(Number), days.map(Number), subject] as const;

Deno.test("randomSlopes() gives the sleepstudy fit of lme4, and a likelihood no lower", () => {
  const { computed } = published("mixed-models", "sleepstudy");
  const found = randomSlopes(...sleep);
  assert.ok(found.converged && !found.boundary);
  // lme4's default search stops two parts in 1e5 short of the top …
  const close = { relative: 2e-5 };
  assertClose(found.interceptVariance, computed.intercept_variance, close);
  assertClose(found.slopeVariance, computed.slope_variance, close);
  assertClose(found.correlation, computed.correlation, { within: 1e-5 });
  assertClose(found.residual, computed.residual, close);
  // … and with bobyqa at rhoend = 1e-12 (R 4.2.2, lme4 1.1-31) it comes to within one in 1e6.
  assertClose(found.interceptVariance, 612.08999760383, { relative: 1e-6 });
  assertClose(found.slopeVariance, 35.07166496887, { relative: 1e-6 });
  assertClose(found.residual, 654.9410154539, { relative: 1e-6 });
  assertClose(found.intercept, computed.fixed[0], { relative: 1e-9 });
  assertClose(found.slope, computed.fixed[1], { relative: 1e-9 });
  assertClose(-2 * found.logLikelihood!, computed.reml_criterion, { relative: 1e-10 });
  assert.ok(-2 * found.logLikelihood! <= computed.reml_criterion + 1e-8);
  // Printed by lme4's documentation, from memory: standard errors 6.825 and 1.546.
  assert.equal(found.interceptStandardError!.toFixed(3), "6.825");
  assert.equal(found.slopeStandardError!.toFixed(3), "1.546");
});

Deno.test("randomSlopes() does not depend on units, offsets or the order of readings", () => {
  const first = randomSlopes(...sleep);
  const order = randomStream(1).shuffle(sleep[0].map((_, i) => i));
  const again = randomSlopes(
    order.map((i) => 10 * sleep[0][i] + 1e6),
    order.map((i) => 24 * sleep[1][i]),
    order.map((i) => sleep[2][i]),
  );
  assertClose(again.interceptVariance, 100 * first.interceptVariance!, { relative: 1e-5 });
  assertClose(again.slopeVariance, 100 / 576 * first.slopeVariance!, { relative: 1e-5 });
  assertClose(again.residual, 100 * first.residual!, { relative: 1e-6 });
});

Deno.test("randomSlopes() finds the boundary that lme4 finds when groups share one slope", async () => {
  const random = randomStream(8);
  const [y, x, g]: [number[], number[], string[]] = [[], [], []];
  for (let s = 0; s < 12; s++) {
    const level = 2 * random.normal();
    for (let t = 0; t < 5; t++) {
      y.push(5 + level + 0.5 * t + random.normal());
      x.push(t);
      g.push(`s${s}`);
    }
  }
  const reference = await fromR(`library(lme4)
    d <- data.frame(y = c(${y}), x = c(${x}), g = c(${g.map((s) => `"${s}"`)}))
    m <- suppressMessages(lmer(y ~ x + (x | g), d))
    cat(sprintf("%.15g", c(logLik(m), fixef(m))))`);
  if (reference === null) return;
  const found = randomSlopes(y, x, g);
  assert.ok(found.logLikelihood! >= reference[0] - 1e-6);
  assertClose(found.logLikelihood, reference[0], { within: 1e-3 });
  assertClose(found.slope, reference[2], { relative: 1e-4 });
});

Deno.test("randomSlopes() gives a reason where there is no trend to fit, and refuses wrong calls", () => {
  const g = ["a", "a", "a", "b", "b", "b"];
  assert.deepEqual(randomSlopes([1, 2, 3], [1, 2, 3], ["a", "a", "a"]).reason, {
    code: "too-few",
    of: "groups",
    needed: 2,
    found: 1,
  });
  assert.deepEqual(randomSlopes([4, 4, 4, 4, 4, 4], [1, 2, 3, 1, 2, 3], g).reason, {
    code: "constant",
    which: "readings",
  });
  assert.deepEqual(randomSlopes([1, 2, 3, 4, 5, 6], [7, 7, 7, 7, 7, 7], g).reason, {
    code: "constant",
    which: "covariate",
  });
  assert.deepEqual(randomSlopes([1, 2, 3, 4, 5, 7], [1, 1, 1, 2, 2, 2], g).reason, {
    code: "constant",
    which: "covariate within groups",
  });
  assert.throws(() => randomSlopes([1], [1, 2], ["a"]), {
    name: "RangeError",
    message: /1, 2 and 1/,
  });
});
