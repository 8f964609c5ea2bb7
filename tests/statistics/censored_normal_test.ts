import assert from "node:assert/strict";
import { censoredNormal, type CensoredReading } from "../../lib/statistics/censored_normal.ts";
import { randomStream } from "../../lib/statistics/random_stream.ts";
import { assertClose } from "../assert_close.ts";
import { inR, rVector, testInR } from "./in_r.ts";

/** Lower and upper ends as R's interval2 wants them: NA where there is none. */
function ends(readings: readonly CensoredReading[]): string {
  const low = readings.map((r) => typeof r === "number" ? r : "above" in r ? r.above : null);
  const high = readings.map((r) => typeof r === "number" ? r : "below" in r ? r.below : null);
  return `${rVector(low)}, ${rVector(high)}`;
}

function readings(seed: number, n: number, bound: number, top: number): CensoredReading[] {
  const random = randomStream(seed);
  return Array.from({ length: n }, () => {
    const value = Math.round((1.3 + 0.5 * random.normal()) * 1000) / 1000;
    return value < bound ? { below: bound } : value > top ? { above: top } : value;
  });
}

testInR("censoredNormal() has the mean, scatter, errors and likelihood of R's survreg", () => {
  for (const [seed, n, bound, top] of [[1, 20, 1, 9], [2, 60, 1.2, 1.9], [3, 8, 1.1, 9]]) {
    const own = readings(seed, n, bound, top);
    const found = inR(`library(survival)
m <- survreg(Surv(${ends(own)}, type = "interval2") ~ 1, dist = "gaussian",
  control = survreg.control(rel.tolerance = 1e-14, maxiter = 200))
out(c(coef(m), m$scale, sqrt(diag(vcov(m))), m$loglik[2]))`)[0];
    const [mean, sd, meanError, logError, logLikelihood] = found;
    const fit = censoredNormal(own);
    const spread = Math.sqrt(n / (n - 1));
    assertClose(fit.means.all.estimate, mean, { within: 1e-7 });
    assertClose(fit.sd.estimate! / spread, sd, { within: 1e-7 });
    assertClose((fit.means.all.upper! - mean) / spread / 1.959963985, meanError, { within: 1e-6 });
    assertClose(Math.log(fit.sd.upper! / fit.sd.estimate!) / 1.959963985, logError, {
      within: 1e-6,
    });
    assertClose(fit.logLikelihood, logLikelihood, { within: 1e-7 });
  }
}, { needs: "survival" });

testInR("censoredNormal() over shoes has the levels and the common scatter of R's survreg", () => {
  const random = randomStream(8);
  const group: string[] = [];
  const own: CensoredReading[] = [];
  for (let shoe = 0; shoe < 12; shoe++) {
    const level = 1.2 + 0.4 * random.normal();
    for (let k = 0; k < 4; k++) {
      const value = Math.round((level + 0.2 * random.normal()) * 1000) / 1000;
      group.push(`s${shoe}`);
      own.push(value < 1 ? { below: 1 } : value);
    }
  }
  const seen = [...new Set(group)].filter((name) =>
    own.some((reading, i) => group[i] === name && typeof reading === "number")
  );
  const kept = own.map((_, i) => i).filter((i) => seen.includes(group[i]));
  const found = inR(`library(survival)
g <- factor(c(${kept.map((i) => `"${group[i]}"`).join(",")}), levels = c(${
    seen.map((name) => `"${name}"`).join(",")
  }))
m <- survreg(Surv(${ends(kept.map((i) => own[i]))}, type = "interval2") ~ 0 + g, dist = "gaussian",
  control = survreg.control(rel.tolerance = 1e-14, maxiter = 200))
out(coef(m)); out(c(m$scale, m$loglik[2])); out(sqrt(diag(vcov(m))))`);
  const fit = censoredNormal(own, { group });
  const spread = Math.sqrt(kept.length / (kept.length - seen.length));
  seen.forEach((name, i) => {
    assertClose(fit.means[name].estimate, found[0][i], { within: 1e-6 });
    const error = (fit.means[name].upper! - fit.means[name].estimate!) / 1.959963985 / spread;
    assertClose(error, found[2][i], { relative: 1e-4 });
  });
  assertClose(fit.sd.estimate! / spread, found[1][0], { within: 1e-7 });
  assertClose(fit.logLikelihood, found[1][1], { within: 1e-6 });
}, { needs: "survival" });

Deno.test("censoredNormal() where nothing is censored is the mean and the SD", () => {
  const values = [4.1, 5.2, 4.8, 6.6, 5.9];
  const fit = censoredNormal(values);
  const mean = values.reduce((a, x) => a + x, 0) / 5;
  assertClose(fit.means.all.estimate, mean, { within: 1e-10 });
  const sd = Math.sqrt(values.reduce((a, x) => a + (x - mean) ** 2, 0) / 4);
  assertClose(fit.sd.estimate, sd, { within: 1e-10 });
});

Deno.test("half the bound in place of '<1' moves the mean of 60 readings by more than its error; censoredNormal() stays within two", () => {
  const own = readings(21, 60, 1.2, 9);
  const fit = censoredNormal(own);
  const error = (fit.means.all.upper! - fit.means.all.estimate!) / 1.96;
  const halved = own.map((r) => typeof r === "number" ? r : 0.6);
  const mean = halved.reduce((a, x) => a + x, 0) / halved.length;
  assert.ok(Math.abs(mean - 1.3) > error, `${mean}`);
  assert.ok(Math.abs(fit.means.all.estimate! - 1.3) < 2 * error, `${fit.means.all.estimate}`);
});

Deno.test("limits of a censored mean and SD hold the truth on 92 to 97.5% of benches of 30 readings, a third of them below the bound", () => {
  let [means, sds] = [0, 0];
  const benches = 1000;
  for (let b = 0; b < benches; b++) {
    const fit = censoredNormal(readings(1000 + b, 30, 1.1, 99));
    const inside = ({ lower, upper }: typeof fit.sd, truth: number) =>
      lower! <= truth && truth <= upper! ? 1 : 0;
    means += inside(fit.means.all, 1.3);
    sds += inside(fit.sd, 0.5);
  }
  for (const held of [means, sds]) {
    assert.ok(held / benches >= 0.92 && held / benches <= 0.975, `${means} ${sds}`);
  }
});

Deno.test("a shoe whose every reading lies below the bound has no mean, and the others keep theirs", () => {
  const own: CensoredReading[] = [1.4, 1.6, 1.5, { below: 1 }, { below: 1 }];
  const group = ["a", "a", "a", "b", "b"];
  const fit = censoredNormal(own, { group });
  assert.equal(fit.means.b.estimate, null);
  assertClose(fit.means.a.estimate, 1.5, { within: 1e-9 });
  assert.equal(fit.n, 5);
  assert.equal(fit.read, 3);
});

Deno.test("no numbers, equal numbers or a bound that is not finite are answered, not computed", () => {
  assert.equal(censoredNormal([{ below: 1 }, { below: 1 }]).sd.estimate, null);
  assert.equal(censoredNormal([2, 2, 2]).sd.estimate, null);
  assert.throws(() => censoredNormal([{ below: NaN }, 2]), /not finite/);
});

Deno.test("what censoredNormal() expects beyond each bound lies beyond it, and has the group's mean", () => {
  const own = readings(8, 40, 1.1, 2.2);
  const group = own.map((_, i) => i % 2 === 0 ? "a" : "b");
  const { means, expected, information } = censoredNormal(own, { group });
  for (const name of ["a", "b"]) {
    const of = expected.filter((_, i) => group[i] === name).map((value) => value!);
    assertClose(of.reduce((sum, value) => sum + value) / of.length, means[name].estimate!, {
      within: 1e-7,
    });
  }
  own.forEach((reading, i) => {
    if (typeof reading === "number") {
      assert.deepEqual([expected[i], information[i]], [reading, 1]);
    } else {
      assert.ok("below" in reading ? expected[i]! < reading.below : expected[i]! > reading.above);
      assert.ok(information[i] > 0 && information[i] < 1);
    }
  });
});
