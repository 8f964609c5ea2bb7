import assert from "node:assert/strict";
import { randomStream } from "../../lib/statistics/random_stream.ts";
import { type MixedData, varianceComponents } from "../../lib/statistics/variance_components.ts";
import { assertClose } from "../assert_close.ts";
import unbalanced from "../references/unbalanced-mixed.json" with { type: "json" };
import { csvColumns, fromR, published } from "./outside_reference.ts";
import { sayReason } from "../../lib/words/reasons.ts";

function data(path: string, terms: string[], value = "value"): MixedData {
  const { [value]: readings, ...factors } = csvColumns(path);
  return { value: readings.map(Number), factors, terms };
}

type Wanted = {
  components: Record<string, number>;
  mean: number;
  se_mean?: number;
  log_likelihood: number;
  boundary: string[];
};

function assertFit(found: ReturnType<typeof varianceComponents>, wanted: Wanted, relative = 1e-9) {
  assert.ok(found.converged);
  assert.deepEqual(new Set(found.boundary), new Set(wanted.boundary));
  for (const [name, value] of Object.entries(wanted.components)) {
    if (value === 0) assert.equal(found.components[name], 0);
    else assertClose(found.components[name], value, { relative });
  }
  assertClose(found.mean, wanted.mean, { relative });
  if (wanted.se_mean) assertClose(found.meanStandardError, wanted.se_mean, { relative });
  assertClose(found.logLikelihood, wanted.log_likelihood, { relative: 1e-9 });
}

const openData: [id: string, terms: string[]][] = [
  ["dyestuff", ["batch"]],
  ["dyestuff2", ["batch"]],
  ["pastes", ["batch", "batch:cask"]],
  ["penicillin", ["plate", "sample"]],
  ["rail", ["rail"]],
  ["bulls-unbalanced", ["bull"]],
];
for (const [id, terms] of openData) {
  Deno.test(`varianceComponents() gives the REML fit of the ${id} data to 9 digits`, () => {
    assertFit(
      varianceComponents(data(`data/${id}.csv`, terms)),
      published("mixed-models", id).computed,
    );
  });
}

Deno.test("varianceComponents() takes the machine of Pinheiro & Bates' Machines data as fixed", () => {
  const { computed } = published("mixed-models", "machines");
  const found = varianceComponents(data("data/machines.csv", ["worker", "worker:machine"]), {
    fixed: ["machine"],
  });
  assertFit(found, computed);
  assertClose(found.fixed["machine B"], computed.fixed.machineB, { relative: 1e-9 });
  assertClose(found.fixed["machine C"], computed.fixed.machineC, { relative: 1e-9 });
});

for (const id of ["gauge-20x3x2", "gauge-10x3x3"]) {
  Deno.test(`varianceComponents() holds the interaction of ${id} at 0 and gives the reduced model's mean squares`, () => {
    const { computed } = published("gauge", id);
    const found = varianceComponents(data(`data/${id}.csv`, ["part", "operator", "part:operator"]));
    assertFit(found, computed.reml);
    const { raw } = computed.reduced ?? computed.pooled;
    for (const [name, value] of Object.entries(raw)) {
      assertClose(found.components[name], value as number, { relative: 1e-9 });
    }
  });
}

Deno.test("varianceComponents() fits NIST's resistivity gauge, nested and crossed", () => {
  const { computed } = published("gauge", "resistivity-gauge");
  const everything = data("data/resistivity-gauge.csv", [], "average");
  const crossed = varianceComponents({
    ...everything,
    terms: ["wafer", "probe", "wafer:probe", "wafer:run"],
  });
  assertFit(crossed, computed.crossed_reml_all_probes.fit);
  const probe = everything.factors.probe;
  const only = (list: readonly unknown[]) => list.filter((_, i) => probe[i] === "2362");
  const nested = varianceComponents({
    value: only(everything.value) as number[],
    factors: {
      wafer: only(everything.factors.wafer) as string[],
      run: only(everything.factors.run) as string[],
    },
    terms: ["wafer", "wafer:run"],
  });
  assertFit(nested, computed.nested_reml_probe_2362.fit);
});

Deno.test("varianceComponents() fits five crossed and nested terms on unbalanced readings as dense scoring in R does", () => {
  const found = varianceComponents(
    data("../unbalanced-mixed.csv", [
      "shoe",
      "operator",
      "session",
      "shoe:operator",
      "shoe:session",
    ]),
  );
  assertFit(found, { ...unbalanced, boundary: [] });
  assertClose(found.meanStandardError, unbalanced.mean_standard_error, { relative: 1e-9 });
});

Deno.test("varianceComponents() never stops at a lower likelihood than lme4 does", async () => {
  for (const seed of [1, 2, 3]) {
    const made = madeBench(seed, 25, 3, 4);
    const list = (values: readonly unknown[]) => values.map((v) => JSON.stringify(v)).join(",");
    const reference = await fromR(`library(lme4);
      d <- data.frame(y = c(${list(made.value)}), shoe = c(${list(made.factors.shoe)}),
        operator = c(${list(made.factors.operator)}));
      m <- lmer(y ~ 1 + (1 | shoe) + (1 | operator) + (1 | shoe:operator), d);
      v <- as.data.frame(VarCorr(m)); s <- setNames(v$vcov, v$grp);
      cat(sprintf("%.15g", c(logLik(m), s[c("shoe", "operator", "shoe:operator", "Residual")])))`);
    if (reference === null) return;
    const found = varianceComponents(made);
    assert.ok(found.logLikelihood! >= reference[0] - 1e-9, `seed ${seed}`);
    assert.ok(found.logLikelihood! <= reference[0] + 1e-4, `seed ${seed}`);
    const names = ["shoe", "operator", "shoe:operator", "residual"];
    names.forEach((name, i) =>
      assertClose(found.components[name], reference[i + 1], { within: 2e-3 * reference[1] })
    );
  }
});

Deno.test("varianceComponents() does not depend on the order of readings, of terms, or on the unit", () => {
  const made = madeBench(9, 20, 3, 4);
  const order = randomStream(1).shuffle(made.value.map((_, i) => i));
  const shuffled = {
    value: order.map((i) => 10 * (made.value[i] as number)),
    factors: Object.fromEntries(
      Object.entries(made.factors).map(([name, column]) => [name, order.map((i) => column[i])]),
    ),
    terms: [...made.terms].reverse(),
  };
  const [cm, mm] = [varianceComponents(made), varianceComponents(shuffled)];
  for (const name of [...made.terms, "residual"]) {
    assertClose(mm.components[name], 100 * cm.components[name]!, { relative: 1e-8 });
  }
  assertClose(mm.mean, 10 * cm.mean!, { relative: 1e-10 });
});

Deno.test("varianceComponents() keeps its digits when every reading is offset by a billion", () => {
  const made = data("data/pastes.csv", ["batch", "batch:cask"]);
  const found = varianceComponents({ ...made, value: made.value.map((v) => v! + 1e9) });
  const { computed } = published("mixed-models", "pastes");
  // A double of 1e9 holds readings to 1e-7, which limits the variances to some 6 digits.
  for (const [name, value] of Object.entries(computed.components)) {
    assertClose(found.components[name], value as number, { relative: 1e-6 });
  }
});

Deno.test("varianceComponents() leaves out and names terms that the design cannot separate", () => {
  const factors = {
    shoe: ["a", "a", "b", "b", "c", "c"],
    operator: ["x", "x", "x", "x", "x", "x"],
    visit: ["1", "1", "2", "2", "3", "3"],
    trial: ["1", "2", "3", "4", "5", "6"],
  };
  const value = [1, 2, 4, 6, 9, 9];
  const found = varianceComponents({
    value,
    factors,
    terms: ["shoe", "operator", "visit", "trial"],
  });
  assert.deepEqual(found.dropped.map(({ term }) => term), ["operator", "visit", "trial"]);
  assert.deepEqual(Object.keys(found.components), ["shoe", "residual"]);
  assert.deepEqual(found.dropped[1].reason, { code: "same-levels", other: "shoe" });
  assert.throws(
    () =>
      varianceComponents({ value, factors, terms: ["visit", "shoe"] }, { unseparable: "refuse" }),
    { name: "RangeError", message: /"shoe" cannot be separated/ },
  );
});

Deno.test("told to refuse what can't be separated, varianceComponents() answers as ever where all can", () => {
  const factors = { shoe: ["a", "a", "b", "b", "c", "c"] };
  const { components } = varianceComponents(
    { value: [10, 12, 20, 22, 30, 32], factors, terms: ["shoe"] },
    { unseparable: "refuse" },
  );
  // By hand: the mean square of shoes is 200, that within them 2, and (200 - 2) / 2 = 99.
  assertClose(components.shoe, 99, { relative: 1e-9 });
  assertClose(components.residual, 2, { relative: 1e-9 });
});

Deno.test("varianceComponents() drops a term that is only hidden in combination with others", () => {
  // With every cell read once the cells are the residual; one repeated reading makes them a term.
  const value = [3, 5, 4, 8, 7, 9, 1, 2, 6];
  const row = ["a", "a", "a", "b", "b", "b", "c", "c", "c"];
  const column = ["x", "y", "z", "x", "y", "z", "x", "y", "z"];
  const once = varianceComponents({
    value,
    factors: { row, column },
    terms: ["row", "column", "row:column"],
  });
  assert.deepEqual(once.dropped.map(({ term }) => term), ["row:column"]);
  const twice = varianceComponents({
    value: [...value, 3.5],
    factors: { row: [...row, "a"], column: [...column, "x"] },
    terms: ["row", "column", "row:column"],
  });
  assert.deepEqual(twice.dropped, []);
  assert.ok(twice.converged);
});

Deno.test("varianceComponents() gives null and a reason, never NaN, where readings cannot answer", () => {
  const shoe = ["a", "a", "b", "b"];
  const cases: [string, (number | null)[], RegExp][] = [
    ["constant", [5, 5, 5, 5], /all readings are equal/],
    ["constant beside a large offset", [1e9, 1e9, 1e9, 1e9], /all readings are equal/],
    ["perfect agreement", [5, 5, 7, 7], /no noise was seen/],
    ["nothing", [null, null, null, null], /no reading/],
    ["one reading", [null, 3, null, null], /only 1 reading;/],
  ];
  for (const [name, value, reason] of cases) {
    const found = varianceComponents({ value, factors: { shoe }, terms: ["shoe"] });
    assert.match(sayReason(found.reason!), reason, name);
    assert.ok(Object.values(found.components).every((v) => v === null), name);
    assert.ok(!JSON.stringify(found).includes("NaN"), name);
  }
});

Deno.test("varianceComponents() reports an operator who was seen once and a missing shoe without failing", () => {
  const made = madeBench(3, 12, 2, 3);
  const once = varianceComponents({
    value: [...made.value, 12, null],
    factors: {
      shoe: [...made.factors.shoe, "s0", "gone"],
      operator: [...made.factors.operator, "visitor", "o1"],
    },
    terms: made.terms,
  });
  assert.ok(once.converged);
  assert.equal(once.levels.operator, 3);
  assert.equal(once.levels.shoe, new Set([...made.factors.shoe, "s0"]).size);
  assert.match(sayReason(once.warnings[0]), /1 of \d+ readings is missing/);
});

Deno.test("varianceComponents() gives conditional means that shrink balanced shoe means by their reliability", () => {
  const made = data("data/dyestuff.csv", ["batch"]);
  const { components, effects, mean } = varianceComponents(made, { effects: true });
  const readings = made.value.filter((_, i) => made.factors.batch[i] === "A") as number[];
  const batchMean = readings.reduce((a, b) => a + b, 0) / 5;
  const shrink = components.batch! / (components.batch! + components.residual! / 5);
  assertClose(effects!.batch.A, shrink * (batchMean - mean!), { relative: 1e-9 });
});

Deno.test("varianceComponents() has the textbook standard errors on a balanced one-way layout", () => {
  const { standardErrors } = varianceComponents(data("data/rail.csv", ["rail"]));
  // Var(MS) = 2 MS²/df: residual 16.1667 with 12 df; rail (MSB − MSW)/3 with 5 and 12 df.
  assertClose(standardErrors.residual, 16.1666666666667 * Math.sqrt(2 / 12), { relative: 1e-8 });
  const rail = Math.sqrt(2 * 1862.1 ** 2 / 5 + 2 * 16.1666666666667 ** 2 / 12) / 3;
  assertClose(standardErrors.rail, rail, { relative: 1e-8 });
});

Deno.test("varianceComponents() refuses wrong calls and says what was given", () => {
  const factors = { shoe: ["a", "a", "b"] };
  assert.throws(() => varianceComponents({ value: [1, 2], factors, terms: ["shoe"] }), {
    name: "RangeError",
    message: /has 3 entries, expected 2/,
  });
  assert.throws(() => varianceComponents({ value: [1, 2, 3], factors, terms: ["rig"] }), {
    name: "RangeError",
    message: /"rig".*expected one of "shoe"/,
  });
  assert.throws(
    () => varianceComponents({ value: [1, NaN, 3], factors, terms: ["shoe"] }),
    RangeError,
  );
});

/** Invented readings: shoes by operators, one to `most` readings a cell, some cells empty. */
function madeBench(seed: number, shoes: number, operators: number, most: number) {
  const random = randomStream(seed);
  const value: number[] = [];
  const factors: Record<"shoe" | "operator", string[]> = { shoe: [], operator: [] };
  const shift = Array.from({ length: operators }, () => random.normal());
  for (let s = 0; s < shoes; s++) {
    const shoe = 3 * random.normal();
    for (let o = 0; o < operators; o++) {
      const cell = 0.7 * random.normal();
      for (let t = random.integer(most + 1); t > 0; t--) {
        value.push(40 + shoe + shift[o] + cell + random.normal());
        factors.shoe.push(`s${s}`);
        factors.operator.push(`o${o}`);
      }
    }
  }
  return { value, factors, terms: ["shoe", "operator", "shoe:operator"] };
}
