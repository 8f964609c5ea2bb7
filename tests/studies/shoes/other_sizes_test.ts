import assert from "node:assert/strict";
import type { Bench } from "../../../lib/records/types.ts";
import { publishedCatalogue } from "../../../lib/studies/catalogue/published_catalogue.ts";
import { shoeComparison } from "../../../lib/studies/comparison/shoe_comparison.ts";
import { sizeChange } from "../../../lib/studies/questions/size_change.ts";
import { shoeProfile } from "../../../lib/studies/questions/shoe_profile.ts";
import { trialReliability } from "../../../lib/studies/repeatability/trial_reliability.ts";
import { otherSizes } from "../../../lib/studies/shoes/other_sizes.ts";
import { shoeValues } from "../../../lib/studies/shoes/shoe_values.ts";
import { catalogueRows } from "../../../lib/words/catalogue/catalogue_rows.ts";
import { comparisonWords } from "../../../lib/words/comparison/comparison_sentence.ts";
import { profileWords } from "../../../lib/words/questions/profile_words.ts";
import { ownNormals } from "../drift/drifting_bench.ts";
import { smallBench } from "../small_bench.ts";

/** Ten shoes of which the first has a second pair, half a size up and 9 g heavier. */
function sizedBench(): Bench {
  const normal = ownNormals(3);
  const levels = Array.from({ length: 10 }, (_, s) => 300 + 12 * s);
  const visit = (s: number, v: number, more = 0) => ({
    shoe: `s${s}`,
    session: `d${(s + 3 * v) % 5}`,
    values: [0, 1, 2].map(() => levels[s] + more + 0.5 * normal()),
  });
  const bench = smallBench(
    levels.flatMap((_, s) => [visit(s, 0), visit(s, 1)]).concat(visit(0, 4, 9)),
    { about: { unit: "g", title: "Mass", better: "lower" } },
  );
  const second = bench.trials.slice(-3).map(({ line }) => line);
  return {
    ...bench,
    shoes: bench.shoes.map((shoe) => ({ ...shoe, size: 11, size_system: "us-men" as const })),
    pairs: [1, 2].map((pair) => ({
      shoe_id: "s0",
      pair,
      size_system: "us-men" as const,
      size: 10.5 + pair / 2,
      width: null,
      acquired: null,
      note: null,
    })) as unknown as Bench["pairs"],
    trials: bench.trials.map((trial) =>
      second.includes(trial.line) ? { ...trial, pair: 2, other_size: true as const } : trial
    ),
  };
}

const bench = sizedBench();
const reliability = trialReliability(bench, { seed: 1, resamples: 100 });

Deno.test("a pair half a size up stands beside the published value and moves it by nothing", () => {
  const [value] = shoeValues(bench, "height", null);
  const without = {
    ...bench,
    trials: bench.trials.filter(({ other_size }) => other_size !== true),
  };
  assert.equal(value.value, shoeValues(without, "height", null)[0].value);
  const [other, ...more] = otherSizes(bench, "height");
  assert.equal(more.length, 0);
  assert.deepEqual([other.size, other.pair, other.readings], ["us-men 11.5", 2, 3]);
  assert.ok(Math.abs(other.value - value.value - 9) < 1);
});

Deno.test("a comparison, a profile and the table's files show it with its half size, readings and nothing for the others", () => {
  const said = /in US men's 11\.5 309\.\d g \(3 trials\)/;
  const compared = (...shoes: string[]) =>
    comparisonWords(shoeComparison(bench, { shoes, reliability })).notes.join(" ");
  assert.match(compared("s0", "s1"), said);
  assert.doesNotMatch(compared("s2", "s1"), /us-men 11\.5/);
  assert.match(
    profileWords(shoeProfile(bench, { shoe: "s0", reliability, seed: 1 })).notes.join(" "),
    said,
  );
  const { rows } = catalogueRows(publishedCatalogue(bench, { reliability, seed: 1 }));
  const cells = rows.map((row) => row["Mass: other sizes"]);
  assert.equal(cells.filter((cell) => cell !== null).length, 1);
  assert.match(String(cells.find((cell) => cell !== null)), said);
});

Deno.test("sizeChange() says that half a size changes 9 g, and can't tell of a tenth of one", () => {
  const [heavier] = sizeChange(bench, { metric: "height", reliability }).pairs;
  assert.equal(heavier.word, "changes");
  assert.ok(heavier.change.lower! > 0 && heavier.change.upper! > 9);
  const near = {
    ...bench,
    trials: bench.trials.map((trial) =>
      trial.other_size === true
        ? { ...trial, value: trial.value! - heavier.change.estimate! + 0.1 }
        : trial
    ),
  };
  const [alike] = sizeChange(near, { metric: "height", reliability }).pairs;
  assert.equal(alike.word, "can't tell");
  assert.ok(alike.change.lower! < 0 && 0 < alike.change.upper!);
});
