import assert from "node:assert/strict";
import { krippendorffAlpha } from "../../lib/statistics/krippendorff_alpha.ts";
import { randomStream } from "../../lib/statistics/random_stream.ts";
import { assertClose } from "../assert_close.ts";
import { published } from "./outside_reference.ts";

const close = { relative: 1e-10 };
const LEVELS = ["nominal", "ordinal", "interval"] as const;

for (
  const id of ["krippendorff-c", "krippendorff-a", "krippendorff-three-coders"]
) {
  Deno.test(`krippendorffAlpha() gives all three levels of ${id} with the disagreements behind them`, () => {
    const { data, computed } = published("concordance", id);
    for (const level of LEVELS) {
      const found = krippendorffAlpha(data.units, { level, resamples: 0 });
      assertClose(found.estimate, computed[level]?.alpha, close);
      assertClose(
        found.observedDisagreement,
        computed[level].observed_disagreement,
        close,
      );
      assertClose(
        found.expectedDisagreement,
        computed[level].expected_disagreement,
        close,
      );
      assert.equal(found.units, computed[level].units_used);
      assert.equal(found.values, computed[level].pairable_values);
    }
  });
}

Deno.test("krippendorffAlpha() is 1 for perfect agreement and has no value when only one value was given", () => {
  const { data } = published("concordance", "alpha-edges");
  for (const level of LEVELS) {
    assert.equal(krippendorffAlpha(data.perfect, { level }).estimate, 1);
    const constant = krippendorffAlpha(data.constant, { level });
    assert.equal(constant.estimate, null);
    assert.deepEqual(constant.estimate_reason, {
      code: "constant",
      which: "ratings",
    });
    assert.deepEqual(
      krippendorffAlpha([[1, null], [null, 2]], { level }).estimate_reason,
      {
        code: "no-repeats",
        subjects: 2,
      },
    );
    assert.deepEqual(krippendorffAlpha([], { level }).estimate_reason, {
      code: "no-repeats",
      subjects: 0,
    });
  }
});

Deno.test("krippendorffAlpha() redraws units as a rebuilt table would be, by the same seed always", () => {
  const { data } = published("concordance", "krippendorff-c");
  const found = krippendorffAlpha(data.units, {
    level: "ordinal",
    seed: 5,
    resamples: 4000,
  });
  assert.deepEqual(
    found,
    krippendorffAlpha(data.units, {
      level: "ordinal",
      seed: 5,
      resamples: 4000,
    }),
  );
  const random = randomStream(123);
  const values: number[] = [];
  const pairable = data.units.slice(0, 11);
  for (let b = 0; b < 4000; b++) {
    const rows = pairable.map(() => pairable[random.integer(11)]);
    const { estimate } = krippendorffAlpha(rows, {
      level: "ordinal",
      resamples: 0,
    });
    if (estimate !== null) values.push(estimate);
  }
  values.sort((a, b) => a - b);
  assertClose(found.lower, values[Math.round(0.025 * values.length)], {
    within: 0.05,
  });
  assertClose(found.upper, values[Math.round(0.975 * values.length)], {
    within: 0.02,
  });
});

Deno.test("krippendorffAlpha() ordinal depends on order alone, interval on linear scale alone", () => {
  const { data } = published("concordance", "krippendorff-c");
  const map = (f: (x: number) => number) =>
    data.units.map((row: (number | null)[]) => row.map((x) => x === null ? null : f(x)));
  const at = (units: (number | null)[][], level: typeof LEVELS[number]) =>
    krippendorffAlpha(units, { level, resamples: 0 }).estimate!;
  assertClose(
    at(map((x) => x ** 3), "ordinal"),
    at(data.units, "ordinal"),
    close,
  );
  assertClose(
    at(map((x) => 1e9 + 10 * x), "interval"),
    at(data.units, "interval"),
    close,
  );
  assert.notEqual(
    at(map((x) => x ** 3), "interval"),
    at(data.units, "interval"),
  );
});

Deno.test("krippendorffAlpha() refuses a level it does not know", () => {
  assert.throws(
    () => krippendorffAlpha([[1, 2]], { level: "ratio" as "nominal" }),
    RangeError,
  );
});
