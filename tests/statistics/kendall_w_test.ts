import assert from "node:assert/strict";
import { kendallW } from "../../lib/statistics/kendall_w.ts";
import { assertClose } from "../assert_close.ts";
import { csvColumns, published } from "./outside_reference.ts";
import { sayReason } from "../../lib/words/reasons.ts";

const close = { relative: 1e-10 };

Deno.test("kendallW() gives Hollander & Wolfe's ball players with ties", () => {
  const { data, computed } = published("concordance", "rounding-times");
  const things = [0, 1, 2].map((i) => data.table.map((row: number[]) => row[i]));
  const found = kendallW(things, { resamples: 200 });
  assertClose(found.estimate, computed.w, close);
  assertClose(found.chiSquared, computed.chi_squared, close);
  assertClose(found.p, computed.p_chi_squared, close);
  assertClose(found.meanRankCorrelation, computed.mean_rank_correlation, close);
  assert.deepEqual([found.things, found.raters, found.df], [3, 22, 2]);
});

Deno.test("kendallW() gives Conover's grasses, and a permutation p close to the large-sample one", () => {
  const { computed } = published("concordance", "grass-conover");
  const { homeowner: _, ...grasses } = csvColumns("data/grass-conover.csv");
  const found = kendallW(
    Object.values(grasses).map((column) => column.map(Number)),
  );
  assertClose(found.estimate, computed.w, close);
  assertClose(found.chiSquared, computed.chi_squared, close);
  assertClose(found.p, computed.p_chi_squared, close);
  assertClose(found.pPermutation, computed.p_chi_squared, { within: 0.012 });
  assert.ok(found.lower! <= found.estimate! && found.estimate! <= found.upper!);
});

Deno.test("kendallW() counts permutations exactly where all can be listed", () => {
  // Two raters, three things, same order: 1 of 6 pairings is as concordant.
  const found = kendallW([[1, 10], [2, 20], [3, 30]], { permutations: 60_000 });
  assert.equal(found.estimate, 1);
  assertClose(found.pPermutation, 1 / 6, { within: 0.007 });
});

Deno.test("kendallW() leaves out and names things that not all have rated", () => {
  const full = kendallW([[1, 2, 1], [2, 1, 2], [3, 3, 3], [4, 4, 5]]);
  const gaps = kendallW([[1, 2, 1], [2, 1, 2], [9, null, 9], [3, 3, 3], [
    4,
    4,
    5,
  ]]);
  assert.equal(gaps.estimate, full.estimate);
  assert.match(sayReason(gaps.warnings[0]), /1 of 5 things/);
});

Deno.test("kendallW() gives null and a reason where ratings cannot answer, and refuses wrong calls", () => {
  assert.deepEqual(kendallW([]).estimate_reason, {
    code: "too-few",
    of: "raters",
    needed: 2,
    found: 0,
  });
  assert.deepEqual(kendallW([[1], [2]]).estimate_reason, {
    code: "too-few",
    of: "raters",
    needed: 2,
    found: 1,
  });
  assert.deepEqual(kendallW([[1, 2]]).estimate_reason, {
    code: "too-few",
    of: "complete rows",
    needed: 2,
    found: 1,
  });
  assert.deepEqual(kendallW([[1, 2], [1, 2]]).estimate_reason, {
    code: "constant",
    which: "ratings of every rater",
  });
  assert.deepEqual(kendallW([[1, null], [null, 2]]).estimate_reason, {
    code: "too-few",
    of: "complete rows",
    needed: 2,
    found: 0,
  });
  assert.throws(() => kendallW([[1, 2], [1]]), {
    name: "RangeError",
    message: /Row 2 has 1/,
  });
});

Deno.test("kendallW() says that a rater who gave everything the same keeps W below 1", () => {
  const found = kendallW([[1, 1, 3], [2, 2, 3], [3, 3, 3]], { resamples: 100, permutations: 99 });
  // Two of three rank alike: (2m)² over m·2m of the squared ranks, which is two thirds.
  assertClose(found.estimate, 2 / 3, { within: 1e-12 });
  assert.deepEqual(found.warnings, [{ code: "raters-without-order", raters: 1, of: 3 }]);
  assert.match(sayReason(found.warnings[0]), /^1 of 3 raters gave all shoes the same rating/);
});
