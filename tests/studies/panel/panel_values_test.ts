import assert from "node:assert/strict";
import type { Impression } from "../../../lib/records/types.ts";
import { randomStream } from "../../../lib/statistics/random_stream.ts";
import { panelValues } from "../../../lib/studies/panel/panel_values.ts";
import { assertClose } from "../../assert_close.ts";
import { sayReason } from "../../../lib/words/reasons.ts";

const ratings: [string, string, number][] = [
  ["a", "t1", 7],
  ["a", "t2", 5.5],
  ["a", "t3", 8],
  ["b", "t1", 6],
  ["b", "t3", 7.5],
  ["c", "t2", 4],
  ["c", "t3", 6.5],
  ["c", "t4", 5],
  ["d", "t1", 8.5],
  ["d", "t4", 7],
  ["e", "t2", 6],
  ["e", "t4", 7.5],
];

function impressions(rows: readonly [string, string, number | null][]): Impression[] {
  return rows.map(([shoe_id, tester, rating], index) => ({
    date: "2026-01-05",
    tester,
    shoe_id,
    attribute: "grip",
    rating,
    surface: null,
    minutes: null,
    blind: null,
    knew_bench: null,
    note: null,
    line: index + 2,
  }));
}

Deno.test("panelValues() adjusts for testers as R's lm does on an incomplete table", () => {
  const found = panelValues({ impressions: impressions(ratings) }, "grip");
  // references/panel_values.R, R 4.2.2
  const wanted = {
    a: 6.70161290322581,
    b: 5.86290322580645,
    c: 5.29838709677419,
    d: 7.75,
    e: 7.63709677419355,
  };
  for (const [shoe, value] of Object.entries(wanted)) {
    assertClose(found.shoes.find((row) => row.shoe_id === shoe)?.value, value, { within: 1e-12 });
  }
  assertClose(found.leniency[0].shift, 0.39516129032258, { within: 1e-12 });
  assertClose(found.leniency[1].shift, -1.379032258064516, { within: 1e-12 });
  assertClose(found.rating_sd, 0.391440680629406, { within: 1e-12 });
});

Deno.test("panelValues() is not moved by a tester who rates everything three points higher", () => {
  const plain = panelValues({ impressions: impressions(ratings) }, "grip");
  const lenient = panelValues({
    impressions: impressions(
      ratings.map((
        [shoe, tester, rating],
      ) => [shoe, tester, tester === "t2" ? rating + 3 : rating]),
    ),
  }, "grip");
  const difference = (of: typeof plain) => of.shoes[0].value - of.shoes[4].value;
  assertClose(difference(lenient), difference(plain), { within: 1e-12 });
});

Deno.test("panelValues() counts a repeated rating as one opinion", () => {
  const twice = panelValues({ impressions: impressions([...ratings, ["a", "t1", 7]]) }, "grip");
  const once = panelValues({ impressions: impressions(ratings) }, "grip");
  assert.equal(twice.shoes[0].value, once.shoes[0].value);
  assert.equal(twice.shoes[0].testers, 3);
  assert.equal(twice.shoes[0].ratings, 4);
});

Deno.test("panelValues() says so when two groups of testers share no shoe", () => {
  const apart = panelValues({
    impressions: impressions([["a", "t1", 5], ["b", "t1", 6], ["c", "t2", 9], ["d", "t2", 8]]),
  }, "grip");
  assert.equal(apart.connected, false);
  assert.match(sayReason(apart.warnings[0]), /share no shoe/);
  assert.ok(apart.shoes.every((shoe) => Number.isFinite(shoe.value)));
});

Deno.test("panelValues() gives no spread of ratings when every shoe has one tester", () => {
  const lone = panelValues({ impressions: impressions([["a", "t1", 5], ["b", "t1", 6]]) }, "grip");
  assert.equal(lone.rating_sd, null);
  assert.equal(lone.shoes[0].standard_error, null);
  assert.equal(panelValues({ impressions: [] }, "grip").shoes.length, 0);
});

Deno.test("panelValues() leaves no tester a mean residual, with a few shoes or with hundreds", () => {
  for (const shoes of [4, 30, 200, 900]) {
    for (let seed = 1; seed <= 12; seed++) {
      const stream = randomStream(seed, shoes);
      const rows = Array.from({ length: shoes }, (_, shoe) => {
        const level = 6 + stream.normal();
        return Array.from({ length: 7 }, (_, tester) => tester)
          .filter(() => stream.uniform() < [0.6, 0.9, 0.99][seed % 3])
          .map((tester): [string, string, number] => [
            `shoe-${shoe}`,
            `t${tester}`,
            level + 0.3 * tester + stream.normal(),
          ]);
      }).flat();
      const { shoes: values, leniency } = panelValues({ impressions: impressions(rows) }, "grip");
      const value = new Map(values.map((shoe) => [shoe.shoe_id, shoe.value]));
      assertClose(leniency.reduce((sum, { shift }) => sum + shift, 0), 0, { within: 1e-9 });
      for (const { tester, shift, standard_error } of leniency) {
        const own = rows.filter(([, by]) => by === tester);
        const rest = own.reduce(
          (sum, [shoe, , rated]) => sum + rated - shift - value.get(shoe)!,
          0,
        );
        assertClose(rest / own.length, 0, { within: 1e-9 });
        assert.ok(standard_error === null || standard_error > 0);
      }
    }
  }
});
