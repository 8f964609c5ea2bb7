import assert from "node:assert/strict";
import { loadBench, studies, words } from "../../lib/mod.ts";
import { publishedCatalogue } from "../../lib/studies/catalogue/published_catalogue.ts";
import { catalogueRows } from "../../lib/words/catalogue/catalogue_rows.ts";
import {
  columnDecimals,
  decimalsOf,
  scoreDecimals,
  tellingDecimals,
} from "../../lib/words/digits.ts";
import { comparedValueRows } from "../../lib/words/comparison/answer_rows.ts";
import { smallBench } from "../studies/small_bench.ts";
import { withSign } from "../../lib/words/phrases.ts";
import { valueInUnit } from "../../lib/words/unit_words.ts";

type Rows = readonly Readonly<Record<string, unknown>>[];

const demo = await loadBench("data-demo");
/** A tester who writes every reading to four decimals, whatever the test is worth. */
const bench = { ...demo, metrics: demo.metrics.map((metric) => ({ ...metric, decimals: 4 })) };
const reliability = studies.trialReliability(bench, { seed: 1, resamples: 100 });

/** More than two significant digits of half the interval, counted from what is printed. */
function tooFine(lower: string, upper: string): boolean {
  const [from, to] = [lower, upper].map((text) => Number(text.replace("−", "-")));
  const decimals = lower.split(".")[1]?.length ?? 0;
  return decimals > 0 && Math.round(Math.abs(to - from) / 2 * 10 ** decimals) > 100;
}

const LIMITS = /(−?\d+(?:\.\d+)?)\D{0,12}\((−?\d+(?:\.\d+)?)[^\d()]* to (−?\d+(?:\.\d+)?)/;

function checkCells(table: string, rows: Rows): number {
  let seen = 0;
  for (const cell of rows.flatMap((row) => Object.values(row))) {
    const found = LIMITS.exec(String(cell));
    if (found === null) continue;
    const [, value, lower, upper] = found;
    seen++;
    assert.ok(!tooFine(lower, upper), `${table}: ${cell}`);
    const places = [value, lower, upper].map((text) => text.split(".")[1]?.length ?? 0);
    assert.equal(new Set(places).size, 1, `${table}: ${cell} ends where its limits do`);
  }
  return seen;
}

Deno.test("a value ends where the second digit of its noise does: 41.2 beside an MDC of 1.3", () => {
  assert.equal(valueInUnit(41.238, { unit: "deg", decimals: 2 }, 1.3), "41.2°");
  assert.equal(
    valueInUnit(-0.04, { unit: "cm", decimals: 3 }, { lower: -1.5, upper: 1.4 }),
    "0.0 cm",
  );
  assert.equal(valueInUnit(412.4, { unit: "g", decimals: 0 }, 0.2), "412 g");
  assert.equal(decimalsOf({ lower: 2.17, upper: 2.43 }, 6), 2);
  assert.equal(decimalsOf(null, 3), 3);
});

Deno.test("values of a column stand below each other: the middle interval says to how many decimals", () => {
  const limits = [0.02, 0.3, 40].map((half) => ({ lower: 5 - half, upper: 5 + half }));
  assert.equal(columnDecimals(limits, 4), 2);
  assert.equal(columnDecimals([], 3), 3);
  assert.equal(scoreDecimals([{ lower: 61.2, upper: 84.9 }]), 0);
});

Deno.test("no cell of the review's tables is finer than its interval, though metrics are written to four decimals", () => {
  const panel = studies.panelAgreement(bench, { seed: 1, resamples: 100 });
  const drift = studies.referenceDrift(bench);
  const scores = studies.indexScores(bench, { reliability, seed: 1 });
  const tables: readonly (readonly [string, Rows, number])[] = [
    ["index", words.index.rows(scores), 40],
    ["repeatability", words.repeatability.rows(reliability), 40],
    ["panel", words.panel.rows(panel), 20],
    ["steps", words.drift.stepRows(drift), 1],
    ["drift", words.drift.rows(drift), 1],
  ];
  for (const [name, rows, least] of tables) {
    const seen = checkCells(name, rows);
    assert.ok(seen >= least, `${name}: ${seen} cells with an interval`);
  }
  for (const row of words.drift.weatherRows(studies.weatherEffects(bench))) {
    assert.ok(
      !tooFine(String(row.from), String(row.to)),
      `${row.metric}: ${row.from} to ${row.to}`,
    );
  }
});

Deno.test("no cell of an answer's tables is finer than its interval or its MDC", () => {
  const comparison = studies.shoeComparison(bench, {
    shoes: ["pavrico-orbinel-3", "ellvarn-talvec-3"],
    reliability,
  });
  const rows = words.comparison.rows(comparison) as Rows;
  let seen = 0;
  for (const { difference, interval, MDC, on } of rows) {
    const limits = /^(−?[\d.]+)\D* to (−?[\d.]+)/.exec(String(interval));
    if (limits === null) continue;
    seen++;
    assert.ok(!tooFine(limits[1], limits[2]), `${on}: ${difference} (${interval})`);
    const places = (text: unknown) => /\.(\d+)/.exec(String(text))?.[1].length ?? 0;
    assert.equal(places(difference), places(limits[1]), `${on}: ${difference} (${interval})`);
    if (MDC !== null) {
      assert.ok(/[\d.]+/.exec(String(MDC))![0].replace(/^[0.]+|\./g, "").length <= 3);
    }
  }
  assert.ok(seen >= 10, `${seen} differences with an interval`);
});

Deno.test("no number of the published table is finer than its interval", () => {
  const catalogue = publishedCatalogue(bench, { reliability, seed: 1 });
  const { rows } = catalogueRows(catalogue);
  for (
    const column of [
      "index",
      ...Object.keys(rows[0]).filter((name) => name.endsWith("lower limit")),
    ]
  ) {
    const base = column.replace(/, lower limit$/, "");
    const halves = rows.flatMap((row) => {
      const [lower, upper] = [row[`${base}, lower limit`], row[`${base}, upper limit`]];
      return typeof lower === "number" && typeof upper === "number" ? [(upper - lower) / 2] : [];
    }).sort((a, b) => a - b);
    const middle = halves[Math.floor(halves.length / 2)];
    const places = Math.max(
      ...rows.map((row) => /\.(\d+)/.exec(String(row[base]))?.[1].length ?? 0),
    );
    assert.ok(
      places === 0 || middle * 10 ** places <= 100,
      `${base}: ±${middle}, ${places} decimals`,
    );
  }
});

Deno.test("values whose intervals lie apart never read alike in a column, and values that may be one are not told apart", () => {
  const column = (half: number) =>
    [0.75, 0.81].map((value) => ({ value, lower: value - half, upper: value + half }));
  assert.equal(tellingDecimals(column(0.02), 1), 2);
  assert.equal(tellingDecimals(column(0.05), 1), 1);
  const near = smallBench(
    ["a", "b"].flatMap((session) =>
      [0.75, 0.81, 1.4, 2.1, 1.9, 2.6, 1.1, 3].map((value, i) => ({
        shoe: `s${i}`,
        session,
        values: [value - 0.001, value + 0.001],
      }))
    ),
    { about: { unit: "mm", decimals: 1, smallest_difference: null } },
  );
  const noise = studies.trialReliability(near, { seed: 1, resamples: 100 });
  const compared = studies.shoeComparison(near, { shoes: ["s0", "s1"], reliability: noise });
  const [row] = comparedValueRows(compared);
  const shown = Object.values(row).slice(1).map((text) => /[\d.]+/.exec(String(text))![0]);
  assert.deepEqual(shown, ["0.75", "0.81"]);
  const { rows } = catalogueRows(publishedCatalogue(near, { reliability: noise, seed: 1 }));
  const published = rows.map((line) => line["Height (mm)"]);
  assert.deepEqual([published[0], published[1]], [0.75, 0.81]);
});

Deno.test("a value finer than its unit's decimals gets more of them only where its noise, or its limits, leave 0 out", () => {
  const stiffness = { unit: "N.m/deg", decimals: 2 };
  assert.equal(valueInUnit(-0.0042, stiffness, { lower: -0.36, upper: 0.35 }), "0.00 N·m/°");
  assert.equal(valueInUnit(0.11, { unit: "g", decimals: 0 }, { lower: -1.2, upper: 1.6 }), "0 g");
  // The limit says on which side of 0 it lies.
  assert.equal(
    valueInUnit(-0.012, { unit: "mm", decimals: 1 }, { lower: -0.6, upper: -0.012 }),
    "−0.012 mm",
  );
  assert.equal(
    valueInUnit(0.0042, stiffness, { lower: -0.001, upper: 0.008 }),
    "0.0042 N·m/°",
  );
});

Deno.test("a change that rounds to 0 has no sign, and any other has one", () => {
  assert.deepEqual(
    [0.004, -0.004, 0, 0.006, -0.006].map((value) => withSign(value)),
    ["0.00", "0.00", "0.00", "+0.01", "−0.01"],
  );
  assert.equal(withSign(-1.25, 1), "−1.3");
});
