import assert from "node:assert/strict";
import { judgedSplits, panelSplits } from "../../../lib/studies/panel/panel_splits.ts";
import { assertClose } from "../../assert_close.ts";
import { smallBench } from "../small_bench.ts";
import { profilePermutation } from "../../../lib/statistics/profile_permutation.ts";
import { splitWords } from "../../../lib/words/panel/panel_words.ts";
import { judgedDivision } from "../../benchmarks/panel_division.ts";
import { inR, rMatrix, testInR } from "../../statistics/in_r.ts";

const shoes = ["a", "b", "c", "d", "e", "f"];
const testers = ["one", "two", "three"];

/** Six shoes, three testers; the third likes what the metric has more of, the first what it has less of. */
function split(scale: number) {
  const height = [1, 4, 2, 6, 3, 5];
  const level = [5, 6, 4, 5, 6, 4];
  const jitter = [[0, 1, 0, 0, 1, 0], [1, 0, 0, 1, 0, 0], [0, 0, 1, 0, 0, 1]];
  const table = shoes.map((_, i) =>
    testers.map((_, j) => level[i] + (j - 1) * (height[i] - 3.5) / 2 + jitter[j][i] / 5)
  );
  const bench = smallBench([], { ratings: shoes.map((shoe) => ["one", shoe, 5] as const) });
  const splits = panelSplits(bench, {
    table,
    shoes,
    testers,
    values: new Map([["height", new Map(shoes.map((shoe, i) => [shoe, scale * height[i]]))]]),
    confidence: 0.95,
  });
  return judgedSplits([splits], { risk: 0.05, seed: 1 })[0];
}

Deno.test("panelSplits() tells tastes apart alike whether a metric is spread over thousandths or thousands", () => {
  const found = [0.001, 1, 1000].map(split);
  for (const own of found) {
    assert.equal(own.length, 1);
    assert.equal(own[0].shoes, 6);
    assertClose(own[0].strength, found[1][0].strength, { relative: 1e-6 });
    assert.equal(own[0].p, found[1][0].p);
    const taste = new Map(own[0].tastes.map((one) => [one.tester, one.taste]));
    assert.ok(taste.get("one")! < -0.5 && taste.get("three")! > 0.5);
    assertClose(
      [...taste.values()].reduce((a, b) => a + b, 0),
      0,
      { within: 1e-9 },
    );
  }
});

Deno.test("panelSplits() has nothing to say of a metric that does not vary", () => {
  assert.deepEqual(split(0), []);
});

testInR(
  "profilePermutation() equals the step-down maximum over all 120 orders, worked out by hand in R, gaps included",
  () => {
    const columns = [[5, 3, 8, 1, 9], [2, 2.5, 6, 4, null]];
    const raters = [[4, 3, 9, 2, 8], [1, null, 3, 8, 2], [7, 5, 1, 6, 2.5]];
    const [strength, p, adjusted] = inR(`
      X <- ${rMatrix(columns)}; Y <- ${rMatrix(raters)}
      ns <- function(v) { k <- !is.na(v); v[k] <- qnorm(rank(v[k]) / (sum(k) + 1)); v }
      X <- t(apply(X, 1, ns)); Y <- t(apply(Y, 1, ns))
      perms <- function(v) if (length(v) == 1) list(v) else do.call(c, lapply(seq_along(v), function(i)
        lapply(perms(v[-i]), function(r) c(v[i], r))))
      one <- function(x, y) { k <- !is.na(x) & !is.na(y)
        if (sum(k) < 3 || sd(x[k]) == 0 || sd(y[k]) == 0) 1 else (sum(k) - 1) * cor(x[k], y[k])^2 }
      stat <- function(o) apply(X, 1, function(x) {
        q <- mean(apply(Y, 1, function(y) one(x[o], y))); (q^(1/3) - (1 - 2/27)) / sqrt(2/27) })
      z <- stat(1:5); all <- sapply(perms(1:5), stat)
      p <- rowMeans(all >= z - 1e-9)
      ord <- order(-z); adj <- numeric(2); top <- 0
      for (i in seq_along(ord)) { rest <- ord[i:length(ord)]
        top <- max(top, mean(apply(all[rest, , drop = FALSE], 2, max) >= z[ord[i]] - 1e-9)); adj[ord[i]] <- top }
      out(z); out(p); out(adj)
    `);
    const judged = profilePermutation(
      columns.map((column) => ({ column, profile: raters })),
      { permutations: 99, seed: 1 },
    );
    judged.forEach((one, k) => {
      assertClose(one.strength, strength[k], { within: 1e-9 });
      assertClose(one.p, p[k], { within: 1e-12 });
      assertClose(one.p_grid, adjusted[k], { within: 1e-12 });
    });
  },
);

const kindred = { maker: 0.3, line: 0.4, editions: 3, makers: 7 };

Deno.test("a panel that divides over something no metric measures is said to part over one in about one of twenty benches", () => {
  const row = { ...kindred, taste: 1, over: "something else" } as const;
  const benches = 40;
  let falsely = 0;
  for (let number = 0; number < benches; number++) {
    if (judgedDivision(row, number).falsely) falsely++;
  }
  // Binomial with 6% of 40: more than 8 comes about once in a thousand times.
  assert.ok(falsely <= 8, `${falsely} of ${benches}`);
});

Deno.test("a panel that parts over a metric by a point is found to on nine benches of ten", () => {
  const row = { ...kindred, taste: 1, over: "the first metric" } as const;
  const benches = 10;
  let found = 0;
  for (let number = 0; number < benches; number++) if (judgedDivision(row, number).found) found++;
  assert.ok(found >= 9, `${found} of ${benches}`);
});

Deno.test("what testers part over says over how many shoes, lines and makers, and the same seed gives the same", () => {
  const [one] = split(1);
  assert.deepEqual([one.shoes, one.lines, one.makers], [6, 6, 1]);
  assert.deepEqual(split(1), split(1));
  assert.match(
    splitWords({ ...one, found: true }),
    /testers part over height \(p [^,]*, 6 shoes, 6 lines and 1 maker\)/,
  );
});

Deno.test("what testers part over most stands first", () => {
  const order = [[1, 2, 3, 4, 5, 6], [2, 6, 1, 3, 5, 4], [1, 3, 2, 4, 6, 5], [4, 1, 6, 2, 5, 3]];
  const rater = [1, 2, 3, 4, 5, 6];
  const [judged] = judgedSplits(
    [order.map((column, k) => ({
      metric: `m${k}`,
      metric_title: `m${k}`,
      tastes: [],
      lines: 6,
      makers: 6,
      rows: shoes,
      evidence: { column, profile: [rater, rater.toReversed()] },
      traits: [],
    }))],
    { risk: 0.05, permutations: 99, seed: 1 },
  );
  const strengths = judged.map(({ strength }) => strength);
  assert.deepEqual(strengths, strengths.toSorted((a, b) => b - a));
  // Spearman's rho with the raters is 1, 0.886, 0.029 and −0.086 in turn of strength.
  assert.deepEqual(judged.map(({ metric }) => metric), ["m0", "m2", "m1", "m3"]);
});
