import assert from "node:assert/strict";
import { intraclassCorrelation } from "../../lib/statistics/intraclass_correlation.ts";
import type { IccForm } from "../../lib/statistics/icc_form.ts";
import { intraclassCorrelationForms } from "../../lib/statistics/intraclass_correlation_forms.ts";
import { randomStream } from "../../lib/statistics/random_stream.ts";
import { varianceComponents } from "../../lib/statistics/variance_components.ts";
import { assertClose } from "../assert_close.ts";
import { csvColumns, fromR, published } from "./outside_reference.ts";
import { sayReason } from "../../lib/words/reasons.ts";

const FORMS: IccForm[] = ["ICC(1,1)", "ICC(2,1)", "ICC(3,1)", "ICC(1,k)", "ICC(2,k)", "ICC(3,k)"];

type Table = (number | null)[][];

function assertForms(table: Table, computed: Record<string, Record<string, number>>) {
  for (const form of FORMS) {
    const found = intraclassCorrelation(table, { form });
    for (const key of ["estimate", "lower", "upper", "f", "df1", "df2", "p"] as const) {
      assertClose(found[key], computed[form][key], { relative: 1e-10 });
    }
  }
}

for (const id of ["shrout-fleiss-1979", "anxiety-20x3", "rater-shift"]) {
  Deno.test(`intraclassCorrelation() gives all six forms, limits and p of ${id} to 10 digits`, () => {
    const { data, computed } = published("icc", id);
    assertForms(data.table, computed);
  });
}

Deno.test("intraclassCorrelation() tells Weir's two samples apart that share their trial noise", () => {
  const { data, computed } = published("icc", "same-noise-two-samples");
  assertForms(data.a, computed.a);
  assertForms(data.b, computed.b);
});

Deno.test("intraclassCorrelation() in ICC(1,1) of the Rail data is the share of its components", () => {
  const { rail, value } = csvColumns("data/rail.csv");
  const table = [...new Set(rail)].map((id) => value.filter((_, i) => rail[i] === id).map(Number));
  const found = intraclassCorrelation(table, { form: "ICC(1,1)" });
  assertClose(found.estimate, published("mixed-models", "rail").computed.icc_1_1, {
    relative: 1e-12,
  });
});

Deno.test("intraclassCorrelation() on a complete table gives the one-way limits that the method for gaps gives", () => {
  // An empty extra trial of one subject forces nothing: gaps are judged after empty columns go.
  const { data, computed } = published("icc", "shrout-fleiss-1979");
  const padded = data.table.map((row: number[]) => [...row, null]);
  assertForms(padded, computed);
  // One reading less must move every figure, but not far.
  const gap = data.table.map((row: number[], i: number) =>
    i === 1 ? [...row.slice(0, 3), null] : row
  );
  const found = intraclassCorrelation(gap, { form: "ICC(1,1)" });
  assert.notEqual(found.estimate, computed["ICC(1,1)"].estimate);
  assertClose(found.lower, computed["ICC(1,1)"].lower, { within: 0.1 });
  assertClose(found.upper, computed["ICC(1,1)"].upper, { within: 0.1 });
});

Deno.test("intraclassCorrelation() one-way with gaps: components by REML, F by ANOVA as for the bulls", () => {
  const { bull, value } = csvColumns("data/bulls-unbalanced.csv");
  const table = [...new Set(bull)].map((id) => value.filter((_, i) => bull[i] === id).map(Number));
  const { components, anova } = published("mixed-models", "bulls-unbalanced").computed;
  const found = intraclassCorrelation(table, { form: "ICC(1,1)" });
  assertClose(found.estimate, components.bull / (components.bull + components.residual), {
    relative: 1e-9,
  });
  assertClose(found.f, anova.ms_between / anova.ms_within, { relative: 1e-12 });
  assert.ok(found.lower! < found.estimate! && found.estimate! < found.upper!);
});

Deno.test("intraclassCorrelation() one-way with gaps covers the truth in 95% of 2,000 benches (within 4 standard errors)", () => {
  const random = randomStream(12);
  const truth = 0.6;
  let covered = 0;
  for (let bench = 0; bench < 2000; bench++) {
    const table = Array.from({ length: 10 }, (_, i) => {
      const shoe = Math.sqrt(truth) * random.normal();
      return Array.from({ length: 1 + i % 5 }, () => shoe + Math.sqrt(1 - truth) * random.normal());
    });
    const { lower, upper } = intraclassCorrelation(table, { form: "ICC(1,1)" });
    if (lower! <= truth && truth <= upper!) covered++;
  }
  assert.ok(
    Math.abs(covered / 2000 - 0.95) < 4 * Math.sqrt(0.95 * 0.05 / 2000),
    `${covered} of 2000`,
  );
});

Deno.test("intraclassCorrelation() two-way with gaps: the share of REML components, and R's F test of subjects", async () => {
  const table = withGaps(15, 4);
  const [value, subject, rater] = long(table);
  const { components } = varianceComponents({
    value,
    factors: { subject, rater },
    terms: ["subject", "rater"],
  });
  const { subject: between, rater: across, residual } = components as Record<string, number>;
  const found = intraclassCorrelation(table, { form: "ICC(2,1)", resamples: 200 });
  assertClose(found.estimate, between / (between + across + residual), { relative: 1e-9 });
  assert.ok(found.lower! < found.estimate! && found.estimate! < found.upper!);
  const reference = await fromR(`
    d <- data.frame(y = c(${value}), s = factor(c(${subject})), r = factor(c(${rater})));
    a <- anova(lm(y ~ r, d), lm(y ~ r + s, d));
    cat(sprintf("%.15g", c(a$F[2], a$Df[2], a$Res.Df[2], a$"Pr(>F)"[2])))`);
  if (reference === null) return;
  assertClose(found.f, reference[0], { relative: 1e-9 });
  assert.deepEqual([found.df1, found.df2], reference.slice(1, 3));
  assertClose(found.p, reference[3], { relative: 1e-8 });
});

Deno.test("intraclassCorrelation() with gaps gives the same bytes for the same seed and others for another", () => {
  const table = withGaps(10, 3);
  const run = (seed: number) =>
    JSON.stringify(intraclassCorrelation(table, { form: "ICC(2,k)", resamples: 200, seed }));
  assert.equal(run(4), run(4));
  assert.notEqual(run(4), run(5));
});

Deno.test("intraclassCorrelationForms() redraws subjects as a rebuilt table would be", () => {
  const { data } = published("icc", "anxiety-20x3");
  const found = intraclassCorrelationForms(data.table, { resamples: 4000, seed: 3 });
  // The plain way, with its own random numbers: 4,000 rebuilt tables.
  const random = randomStream(99);
  for (const form of FORMS) {
    const values: number[] = [];
    for (let b = 0; b < 1500; b++) {
      const rows = data.table.map(() => data.table[random.integer(20)]);
      const { estimate } = intraclassCorrelation(rows, { form });
      if (estimate !== null) values.push(estimate);
    }
    values.sort((a, b) => a - b);
    const spread = values[Math.floor(0.84 * values.length)] -
      values[Math.floor(0.16 * values.length)];
    const at = (share: number) => values[Math.round(share * (values.length - 1))];
    assertClose(found[form].bootstrapLower, at(0.025), { within: 0.15 * spread });
    assertClose(found[form].bootstrapUpper, at(0.975), { within: 0.15 * spread });
    assert.deepEqual(found[form].lower, intraclassCorrelation(data.table, { form }).lower);
  }
});

Deno.test("intraclassCorrelation() does not depend on the order of rows or on the unit", () => {
  const { data, computed } = published("icc", "shrout-fleiss-1979");
  assertForms(
    [...data.table].reverse().map((row: number[]) => row.map((x) => 10 * x + 3)),
    computed,
  );
});

Deno.test("intraclassCorrelation() keeps its digits when every reading is offset by a billion", () => {
  const { data, computed } = published("icc", "shrout-fleiss-1979");
  assertForms(data.table.map((row: number[]) => row.map((x) => x + 1e9)), computed);
});

Deno.test("intraclassCorrelation() gives null and a reason, never NaN, where readings cannot answer", () => {
  const cases: [string, Table, RegExp][] = [
    ["empty", [], /no reading/],
    ["all missing", [[null, null], [null, null]], /no reading/],
    ["one shoe", [[1, 2, 3]], /one shoe cannot/],
    ["one trial each", [[1], [2], [3]], /no shoe was read twice/],
    ["one trial each among gaps", [[1, null], [null, 2], [3, null]], /no shoe was read twice/],
    ["constant", [[5, 5], [5, 5]], /all readings are equal/],
    ["perfect agreement", [[5, 5], [7, 7], [9.1, 9.1]], /agree perfectly/],
    [
      "perfect agreement with gaps",
      [[5, 5, 5], [7, 7, null], [9.1, 9.1, 9.1]],
      /agree perfectly|no noise/,
    ],
  ];
  for (const [name, table, reason] of cases) {
    for (const form of FORMS) {
      const found = intraclassCorrelation(table, { form });
      assert.equal(found.estimate, null, `${name} ${form}`);
      assert.match(sayReason(found.estimate_reason!), reason, `${name} ${form}`);
      assert.ok(!/NaN|Infinity/.test(JSON.stringify(found)), `${name} ${form}`);
    }
  }
});

Deno.test("intraclassCorrelation() names a subject without readings and goes on with the others", () => {
  const { data, computed } = published("icc", "shrout-fleiss-1979");
  const table = [...data.table, [null, null, null, null]];
  assertForms(table, computed);
  assert.match(
    sayReason(intraclassCorrelation(table, { form: "ICC(2,1)" }).warnings[0]),
    /1 of 7 shoes has no reading/,
  );
});

Deno.test("intraclassCorrelation() survives heavy ties and raters who agree better than chance", () => {
  for (
    const table of [[[1, 2], [2, 1], [1, 2], [2, 1]], [[1, 1], [1, 1], [1, 2]], [[1, 2], [1, 2], [
      2,
      2,
    ]]]
  ) {
    for (const form of FORMS) {
      const found = intraclassCorrelation(table, { form });
      for (const key of ["estimate", "lower", "upper", "f", "p"] as const) {
        assert.ok(
          found[key] === null || Number.isFinite(found[key]),
          `${form} ${key} ${found[key]}`,
        );
      }
      if (found.lower !== null && found.upper !== null) assert.ok(found.lower <= found.upper, form);
    }
  }
});

Deno.test("intraclassCorrelation() refuses wrong calls and says what was given", () => {
  const wrong = (table: Table, form = "ICC(2,1)") => () =>
    intraclassCorrelation(table, { form: form as IccForm });
  assert.throws(wrong([[1, 2], [3]]), {
    name: "RangeError",
    message: /Row 2 has 1 entries, expected 2/,
  });
  assert.throws(wrong([[1, NaN], [3, 4]]), { name: "RangeError", message: /column 2 is NaN/ });
  assert.throws(wrong([[1, 2], [3, 4]], "ICC(4,1)"), { name: "RangeError", message: /ICC\(4,1\)/ });
});

function withGaps(subjects: number, raters: number): Table {
  const random = randomStream(31);
  const shift = Array.from({ length: raters }, () => 0.5 * random.normal());
  return Array.from({ length: subjects }, (_, i) => {
    const level = 2 * random.normal();
    return Array.from(
      { length: raters },
      (_, j) => (3 * i + j) % 5 === 0 ? null : 10 + level + shift[j] + random.normal(),
    );
  });
}

function long(table: Table): [number[], string[], string[]] {
  const cells = table.flatMap((row, i) => row.map((x, j) => [x, String(i), String(j)] as const))
    .filter((cell) => cell[0] !== null);
  return [cells.map((c) => c[0]!), cells.map((c) => c[1]), cells.map((c) => c[2])];
}

Deno.test("intraclassCorrelation() says what an ICC below 0 means", () => {
  // Readings of a subject are further apart than subjects are: mean squares 0.5 and 8 give (0.5 − 8)/(0.5 + 8).
  const found = intraclassCorrelation([[1, 5], [5, 1], [2, 6], [6, 2]], { form: "ICC(1,1)" });
  assert.ok(found.estimate! < 0);
  assert.deepEqual(found.warnings, [{ code: "below-zero" }]);
  assert.match(sayReason(found.warnings[0]), /^below 0: shoes differ less than noise/);
});

Deno.test("intraclassCorrelation() says that rows can't be redrawn where readings are missing", () => {
  const table = [[1, 2], [4, 3], [6, 7], [9, null]];
  for (const form of ["ICC(1,1)", "ICC(2,1)"] as const) {
    const found = intraclassCorrelation(table, {
      form,
      interval: "cluster-bootstrap",
      resamples: 100,
    });
    assert.ok(found.warnings.some(({ code }) => code === "not-redrawn"), form);
    assert.doesNotMatch(found.method, /resamples of subjects/);
    assert.ok(
      !intraclassCorrelation(table, { form, resamples: 100 }).warnings
        .some(({ code }) => code === "not-redrawn"),
    );
  }
});

Deno.test("two subjects are enough for an estimate: mean squares of 16 and 0.5 by hand give 15.5/16.5", () => {
  const { estimate } = intraclassCorrelation([[1, 2], [5, 6]], { form: "ICC(1,1)" });
  assertClose(estimate, 15.5 / 16.5, { relative: 1e-12 });
});

// Spearman 1910, Brown 1910: of the mean of m readings the share is m r / (1 + (m - 1) r).
Deno.test("with gaps, limits of the mean of raters are those of a single one, stepped up by Spearman and Brown", () => {
  const stream = randomStream(5);
  const raters = [0.4, -0.2, 0, 0.3];
  const table = Array.from({ length: 15 }, (_, row) => {
    const level = 2 * stream.normal();
    return raters.map((rater, column) =>
      (row + column) % 7 === 0 ? null : level + rater + stream.normal()
    );
  });
  const options = { resamples: 200, seed: 3 };
  const single = intraclassCorrelation(table, { form: "ICC(2,1)", ...options });
  const mean = intraclassCorrelation(table, { form: "ICC(2,k)", ...options });
  const m = mean.averaged;
  assert.ok(m > 3 && m < 4);
  for (const key of ["estimate", "lower", "upper"] as const) {
    const r = single[key]!;
    assertClose(mean[key], m * r / (1 + (m - 1) * r), { relative: 1e-9 });
  }
});
