import assert from "node:assert/strict";
import { correlationInflation, widenedLimits } from "../../lib/statistics/correlation_inflation.ts";
import { gridPermutation } from "../../lib/statistics/grid_permutation.ts";
import { type NestedGroups, nestedShares } from "../../lib/statistics/nested_shares.ts";
import { normalScores } from "../../lib/statistics/normal_scores.ts";
import { randomStream } from "../../lib/statistics/random_stream.ts";
import { whitenNested } from "../../lib/statistics/whiten_nested.ts";
import { assertClose } from "../assert_close.ts";
import { inR, rMatrix, rVector, testInR } from "./in_r.ts";

/** Unequal groups: rows of 1 to 4 in small groups, small groups of 1 to 4 in large ones. */
function unequalGroups(seed: number, large: number): NestedGroups {
  const stream = randomStream(seed, 7);
  const outer: number[] = [];
  const inner: number[] = [];
  let small = 0;
  for (let o = 0; o < large; o++) {
    const smalls = 1 + stream.integer(4);
    for (let s = 0; s < smalls; s++, small++) {
      const rows = 1 + stream.integer(4);
      for (let r = 0; r < rows; r++) {
        outer.push(o);
        inner.push(small);
      }
    }
  }
  return { outer, inner };
}

function alike(
  { outer, inner }: NestedGroups,
  shares: { readonly outer: number; readonly inner: number },
  seed: number,
): number[] {
  const stream = randomStream(seed, 8);
  const large = outer.map(() => stream.normal());
  const small = inner.map(() => stream.normal());
  const rest = 1 - shares.outer - shares.inner;
  return outer.map((o, row) =>
    Math.sqrt(shares.outer) * large[o] + Math.sqrt(shares.inner) * small[inner[row]] +
    Math.sqrt(rest) * stream.normal()
  );
}

testInR(
  "nestedShares() finds the variances of unequal groups in groups, with and without strata, as R's lme4 does",
  () => {
    for (const seed of [1, 2, 3]) {
      const groups = unequalGroups(seed, 9);
      const values = alike(groups, { outer: 0.4, inner: 0.3 }, seed);
      const stratum = values.map((_, row) => row % 3 === 0 ? 1 : 0);
      for (const strata of [[], [stratum]]) {
        const [[outer, inner, mean]] = inR(`
          suppressMessages(library(lme4))
          y <- ${rVector(values)}; o <- factor(${rVector(groups.outer)}); i <- factor(${
          rVector(groups.inner)
        }); s <- ${rVector(stratum)}
          m <- suppressMessages(lmer(y ~ ${
          strata.length === 0 ? "1" : "s"
        } + (1|o) + (1|i), control = lmerControl(optCtrl = list(maxfun = 1e5), optimizer = "bobyqa")))
          v <- as.data.frame(VarCorr(m)); total <- sum(v$vcov)
          out(c(v$vcov[v$grp == "o"] / total, v$vcov[v$grp == "i"] / total, fixef(m)[1]))
        `);
        const found = nestedShares(values, groups, { strata });
        assertClose(found.outer, outer, { within: 2e-3 });
        assertClose(found.inner, inner, { within: 2e-3 });
        assertClose(found.fixed[0], mean, { within: 2e-3 });
      }
    }
  },
  { needs: "lme4" },
);

testInR(
  "nestedShares() gives what shoes share to their line, as R's lme4 does, where every maker has one line",
  () => {
    for (const seed of [4, 5, 6]) {
      const { outer } = unequalGroups(seed, 12);
      const values = alike({ outer, inner: outer }, { outer: 0, inner: 0.6 }, seed);
      const [[inner, mean]] = inR(`
        suppressMessages(library(lme4))
        y <- ${rVector(values)}; i <- factor(${rVector(outer)})
        m <- suppressMessages(lmer(y ~ 1 + (1|i)))
        v <- as.data.frame(VarCorr(m)); out(c(v$vcov[v$grp == "i"] / sum(v$vcov), fixef(m)))
      `);
      const found = nestedShares(values, { outer, inner: outer });
      assert.equal(found.outer, 0);
      assertClose(found.inner, inner, { within: 2e-3 });
      assertClose(found.fixed[0], mean, { within: 2e-3 });
    }
  },
  { needs: "lme4" },
);

Deno.test("nestedShares() gives no share to a level that the groups can't tell", () => {
  const values = [3, 1, 4, 1, 5, 9, 2, 6];
  const rows = values.map((_, row) => row);
  const one = values.map(() => 0);
  const alone = nestedShares(values, { outer: rows, inner: rows });
  assert.deepEqual([alone.outer, alone.inner, alone.rest], [0, 0, 1]);
  const single = nestedShares(values, { outer: one, inner: [0, 0, 1, 1, 2, 2, 3, 3] });
  assert.equal(single.outer, 0);
  assert.equal(nestedShares(values, { outer: one, inner: one }).inner, 0);
});

Deno.test("nestedShares() refuses a small group that lies in two large ones", () => {
  assert.throws(
    () => nestedShares([1, 2, 3], { outer: [0, 1, 1], inner: [5, 5, 6] }),
    /Small group 5 lies in large groups 0 and 1/,
  );
});

Deno.test("whitenNested() turns the covariance of groups in groups into that of independent rows", () => {
  const groups = unequalGroups(4, 6);
  const n = groups.outer.length;
  const shares = { outer: 0.35, inner: 0.25, rest: 0.4, fixed: [0] };
  const columns = Array.from(
    { length: n },
    (_, j) => whitenNested(Array.from({ length: n }, (_, i) => i === j ? 1 : 0), groups, shares),
  );
  const covariance = (i: number, j: number) =>
    (i === j ? shares.rest : 0) + (groups.inner[i] === groups.inner[j] ? shares.inner : 0) +
    (groups.outer[i] === groups.outer[j] ? shares.outer : 0);
  for (let i = 0; i < n; i++) {
    for (let j = 0; j < n; j++) {
      let sum = 0;
      for (let k = 0; k < n; k++) {
        for (let l = 0; l < n; l++) sum += columns[k][i] * covariance(k, l) * columns[l][j];
      }
      assertClose(sum, i === j ? 1 : 0, { within: 1e-12 });
    }
  }
});

Deno.test("whitenNested() leaves values less their mean where groups have no share", () => {
  const values = [3, 1, 4, 1, 5];
  const groups = { outer: [0, 0, 0, 1, 1], inner: [0, 0, 1, 2, 2] };
  const white = whitenNested(values, groups, { outer: 0, inner: 0, rest: 1, fixed: [2.8] });
  white.forEach((value, row) => assertClose(value, values[row] - 2.8, { within: 1e-12 }));
});

testInR(
  "gridPermutation() equals the step-down maximum over all 720 orders, worked out by hand in R, gaps included",
  () => {
    const columns = [[5, 3, 8, 1, 9, 7], [2, 2, 6, 4, 9, 1], [4, null, 1, 7, 9, 3]];
    const targets = [[4, 3, 9, 2, 8, 7], [1, 6, 3, 8, 2, 5]];
    const reply = inR(`
      X <- ${rMatrix(columns)}; Y <- ${rMatrix(targets)}
      ns <- function(v) { k <- !is.na(v); v[k] <- qnorm(rank(v[k]) / (sum(k) + 1)); v }
      X <- t(apply(X, 1, ns)); Y <- t(apply(Y, 1, ns))
      perms <- function(v) if (length(v) == 1) list(v) else do.call(c, lapply(seq_along(v), function(i)
        lapply(perms(v[-i]), function(r) c(v[i], r))))
      stat <- function(o) as.vector(t(outer(1:nrow(X), 1:nrow(Y), Vectorize(function(j, t) {
        k <- !is.na(X[j, ]) & !is.na(Y[t, o]); cor(X[j, k], Y[t, o][k]) * sqrt(sum(k) - 1) }))))
      z <- stat(1:6); all <- sapply(perms(1:6), function(o) abs(stat(o)))
      p <- rowMeans(all >= abs(z) - 1e-9)
      ord <- order(-abs(z)); adj <- numeric(length(z)); top <- 0
      for (i in seq_along(ord)) { rest <- ord[i:length(ord)]
        top <- max(top, mean(apply(all[rest, , drop = FALSE], 2, max) >= abs(z[ord[i]]) - 1e-9)); adj[ord[i]] <- top }
      out(z); out(p); out(adj)
    `);
    const cells = gridPermutation(columns, targets).flat();
    cells.forEach((cell, k) => {
      assertClose(cell.z, reply[0][k], { within: 1e-9 });
      assertClose(cell.p, reply[1][k], { within: 1e-12 });
      assertClose(cell.p_grid, reply[2][k], { within: 1e-12 });
    });
  },
);

Deno.test("gridPermutation() names the size that a claimed cell had to reach, which it does reach", () => {
  const stream = randomStream(5);
  const x = Array.from({ length: 4 }, () => Array.from({ length: 30 }, () => stream.normal()));
  const y = [x[0].map((value) => value + 0.5 * stream.normal()), x[1].map(() => stream.normal())];
  const cells = gridPermutation(x, y, { permutations: 999 });
  const claimed = cells[0][0];
  assert.ok(claimed.p_grid! < 0.05);
  assert.ok(claimed.critical! > 2 && claimed.critical! < Math.abs(claimed.z!));
  assert.equal(cells[3][1].critical, null);
  // No shuffle of 999 comes near: the order seen counts as one of 1,000.
  assert.deepEqual([claimed.p, claimed.p_grid], [0.001, 0.001]);
});

Deno.test("gridPermutation() asks more of a cell that is held to a stricter level, and names no size where it falls short", () => {
  const x = [[1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12], [5, 1, 9, 3, 12, 2, 8, 4, 11, 6, 10, 7]];
  const y = [[2, 1, 4, 3, 5, 8, 6, 7, 10, 9, 12, 11]];
  const cells = (alpha: number | number[][]) =>
    gridPermutation(x, y, { permutations: 1999, alpha }).map(([cell]) => cell);
  const [loose, strict, mixed] = [cells(0.05), cells(0.005), cells([[0.005], [0.05]])];
  assert.ok(strict[0].critical! > loose[0].critical! && strict[0].critical! <= strict[0].z!);
  assert.deepEqual(mixed, [strict[0], loose[1]]);
  assert.equal(cells(strict[0].p_grid!)[0].critical, null);
});

Deno.test("gridPermutation() claims less where strata have taken freedom", () => {
  const x = [[1, 2, 3, 4, 5, 6, 7, 8, 9, 10]];
  const y = [[2, 1, 4, 3, 6, 5, 8, 7, 10, 9]];
  const [[free]] = gridPermutation(x, y, { permutations: 99 });
  const [[taken]] = gridPermutation(x, y, { permutations: 99, lost: 3 });
  assertClose(taken.z! / free.z!, Math.sqrt(6 / 9), { within: 1e-12 });
});

testInR(
  "correlationInflation() is the trace of the centred covariances, as R multiplies them out",
  () => {
    const groups = unequalGroups(6, 7);
    const x = { outer: 0.3, inner: 0.4 };
    const y = { outer: 0.1, inner: 0.5 };
    const [[expected]] = inR(`
    o <- ${rVector(groups.outer)}; i <- ${rVector(groups.inner)}; n <- length(o)
    S <- function(a, b) (1 - a - b) * diag(n) + a * outer(o, o, "==") + b * outer(i, i, "==")
    C <- diag(n) - 1 / n
    A <- C %*% S(${x.outer}, ${x.inner}) %*% C; B <- C %*% S(${y.outer}, ${y.inner}) %*% C
    out(sum(A * B) * (n - 1) / (sum(diag(A)) * sum(diag(B))))
  `);
    assertClose(correlationInflation(groups, x, y), expected, { within: 1e-12 });
  },
);

Deno.test("correlationInflation() is 1 where one side has no likeness, and limits then stay", () => {
  const groups = unequalGroups(6, 7);
  const none = { outer: 0, inner: 0 };
  assertClose(correlationInflation(groups, none, none), 1, { within: 1e-12 });
  assert.deepEqual(widenedLimits({ estimate: 0.4, lower: 0.1, upper: 0.6 }, 1), {
    lower: 0.1,
    upper: 0.6,
  });
});

Deno.test("widenedLimits() moves limits apart by the root of the inflation on Fisher's scale", () => {
  const { lower, upper } = widenedLimits({ estimate: 0.5, lower: 0.2, upper: 0.7 }, 4);
  assertClose(Math.atanh(lower), Math.atanh(0.5) - 2 * (Math.atanh(0.5) - Math.atanh(0.2)), {
    within: 1e-12,
  });
  assertClose(Math.atanh(upper), Math.atanh(0.5) + 2 * (Math.atanh(0.7) - Math.atanh(0.5)), {
    within: 1e-12,
  });
});

testInR("normalScores() puts mid-ranks through the normal quantile as R does", () => {
  const values = [4, 1, 4, 9, -2];
  const [expected] = inR(`out(qnorm(rank(${rVector(values)}) / 6))`);
  normalScores(values).forEach((score, i) => assertClose(score, expected[i], { within: 1e-12 }));
});

Deno.test("Unrelated columns that are alike within groups are claimed in about one of twenty grids, not in half of them", () => {
  const benches = 200;
  let plain = 0, white = 0;
  for (let b = 0; b < benches; b++) {
    const groups = unequalGroups(1000 + b, 8);
    const columns = Array.from(
      { length: 10 },
      (_, k) => alike(groups, { outer: 0.3, inner: 0.4 }, 100 * b + k + 1),
    );
    const whitened = columns.map((column) => {
      const scores = normalScores(column);
      return whitenNested(scores, groups, nestedShares(scores, groups));
    });
    const claims = (grid: readonly (readonly number[])[]) =>
      gridPermutation(grid.slice(0, 6), grid.slice(6), { permutations: 199, seed: b }).flat()
        .some(({ p_grid }) => p_grid! < 0.05);
    if (claims(columns)) plain++;
    if (claims(whitened)) white++;
  }
  assert.ok(plain > 60, `${plain} of ${benches}`);
  assert.ok(white <= 20, `${white} of ${benches}`); // 5% of 200 are 10; more than 20 come by chance once in 1,000
});

Deno.test("where each large group is one small group, its rows' likeness is found, as by mean squares", () => {
  // Mean squares 14/3 between and 2 within: (14/3 − 2) / 2 of a variance of 10/3 in all, 0.4.
  const groups = [0, 0, 1, 1, 2, 2];
  const { outer, inner, rest } = nestedShares([4, 6, 7, 9, 5, 7], { outer: groups, inner: groups });
  assert.equal(outer, 0);
  assertClose(inner, 0.4, { within: 1e-3 });
  assertClose(rest, 0.6, { within: 1e-3 });
  const rows = [0, 1, 2, 3, 4, 5];
  const alone = nestedShares([4, 6, 7, 9, 5, 7], { outer: rows, inner: rows });
  assert.deepEqual([alone.outer, alone.inner], [0, 0]);
  const large = nestedShares([4, 6, 7, 9, 5, 7], { outer: groups, inner: rows });
  assertClose(large.outer, 0.4, { within: 1e-3 });
});
