import assert from "node:assert/strict";
import { nestedRegression } from "../../lib/statistics/nested_regression.ts";
import { randomStream } from "../../lib/statistics/random_stream.ts";
import { tQuantile } from "../../lib/statistics/distributions.ts";
import { hasR, inR } from "./in_r.ts";
import { assertClose } from "../assert_close.ts";

const cheese = new URL("../references/bench-cheese-source.csv", import.meta.url);
const rows = (await Deno.readTextFile(cheese)).trim().split("\n").slice(1)
  .map((line) => line.split(",").map(Number));
const taste = rows.map(([value]) => value);
const acids = rows.map(([, ...values]) => values);
const each = taste.map((_, i) => i);
const strangers = { outer: each, inner: each };

const quantile = (values: readonly number[], share: number) =>
  values.toSorted((a, b) => a - b)[Math.floor(share * (values.length - 1))];

Deno.test({
  name:
    "among strangers and without a first guess the draws are least squares with its t limits, as in R",
  ignore: !hasR,
  fn: () => {
    const [numbers] = inR(`
    d <- read.csv("${cheese.pathname}")
    names(d) <- c("y", "a", "b", "c")
    s <- summary(lm(y ~ a + b + c, d))$coefficients
    out(c(s[-1, 1], s[-1, 2]))`);
    const found = nestedRegression(acids, taste, {
      groups: strangers,
      toward: null,
      seed: 5,
      draws: 20000,
    })!;
    const reach = tQuantile(0.975, taste.length - 4);
    for (let j = 0; j < 3; j++) {
      const [slope, error] = [numbers[j], numbers[3 + j]];
      assertClose(found.mean[j], slope, { within: 1e-8 * Math.abs(slope) });
      const draws = found.draws.map(({ coefficients }) => coefficients[j]);
      // Limits from 20,000 draws are off by a few hundredths of a standard error.
      assertClose(quantile(draws, 0.975), slope + reach * error, { within: 0.06 * error });
      assertClose(quantile(draws, 0.025), slope - reach * error, { within: 0.06 * error });
    }
  },
});

Deno.test({
  name:
    "with lines and makers the coefficients are near those of lme4, and the shares near its variances",
  ignore: !hasR,
  fn: () => {
    const random = randomStream(12);
    const lines = Array.from({ length: 240 }, (_, i) => Math.floor(i / 3));
    const makers = lines.map((line) => Math.floor(line / 8));
    const ofMaker = Array.from({ length: 10 }, () => random.normal());
    const ofLine = Array.from({ length: 80 }, () => random.normal());
    const X = lines.map(() => [random.normal(), random.normal()]);
    const y = X.map(([a, b], i) =>
      2 * a - b + ofMaker[makers[i]] + 1.2 * ofLine[lines[i]] + random.normal()
    );
    const table = X.map(([a, b], i) => [y[i], a, b, makers[i], lines[i]].join(",")).join("\n");
    const [[a, b, maker, line, rest]] = inR(`
    suppressMessages(library(lme4))
    d <- read.csv(text = "y,a,b,m,l\n${table}")
    f <- lmer(y ~ a + b + (1 | m) + (1 | l), d)
    v <- as.data.frame(VarCorr(f))
    out(c(fixef(f)[-1], v$vcov[v$grp == "m"], v$vcov[v$grp == "l"], v$vcov[v$grp == "Residual"]))`);
    const found = nestedRegression(X, y, {
      groups: { outer: makers, inner: lines },
      toward: null,
      seed: 5,
      draws: 500,
    })!;
    assertClose(found.mean[0], a, { within: 0.02 });
    assertClose(found.mean[1], b, { within: 0.02 });
    const whole = maker + line + rest;
    assertClose(found.shares.inner, line / whole, { within: 0.12 });
    assertClose(found.shares.outer, maker / whole, { within: 0.15 });
  },
});

Deno.test("a first guess that is right is kept more closely the noisier the rows are", () => {
  const random = randomStream(8);
  const X = Array.from({ length: 30 }, () => [random.normal(), random.normal(), random.normal()]);
  const index = X.map(([a, b, c]) => 0.6 * a + 0.3 * b + 0.1 * c);
  const off = (noise: number) => {
    const y = index.map((value) => value + noise * random.normal());
    const options = { groups: { outer: [...X.keys()], inner: [...X.keys()] }, seed: 1, draws: 200 };
    const share = (toward: readonly number[] | null) => {
      const { mean } = nestedRegression(X, y, { ...options, toward })!;
      return Math.abs(mean[0] / (mean[0] + mean[1] + mean[2]) - 0.6);
    };
    return { pulled: share([0.6, 0.3, 0.1]), free: share(null) };
  };
  const loud = off(1.5);
  assert.ok(loud.pulled < loud.free);
  assert.ok(off(0.01).pulled < 0.02);
});

Deno.test("too few rows for a free fit give null, while a first guess still carries one", () => {
  const X = [[1, 2, 4], [2, 1, 3], [3, 3, 1], [4, 5, 2], [5, 4, 6]];
  const options = { groups: { outer: [...X.keys()], inner: [...X.keys()] }, seed: 1, draws: 100 };
  assert.equal(nestedRegression(X, [1, 2, 3, 4, 5], { ...options, toward: null }), null);
  assert.notEqual(nestedRegression(X, [1, 2, 3, 4, 5], { ...options, toward: [1, 1, 1] }), null);
});
