import assert from "node:assert/strict";
import { loadBench } from "../../../lib/records/load_bench.ts";
import { benchSheet } from "../../../lib/studies/retest/bench_sheet.ts";
import { ratingCards } from "../../../lib/studies/retest/rating_cards.ts";
import { cardsPage, sheetPage } from "../../../lib/words/retest/sheet_page.ts";

const bench = await loadBench("data-demo");
const shoes = bench.shoes.map(({ shoe_id }) => shoe_id)
  .filter((id) => !bench.settings.reference_shoes.includes(id)).slice(0, 6);
const visits = ["mass", "heel-rebound"].flatMap((metric) =>
  shoes.map((shoe_id) => ({ shoe_id, metric, trials: 3 }))
);

Deno.test("each set-up of a sheet has the references first and last, and the shoes between in a drawn order", () => {
  const { lines } = benchSheet(bench, visits, { seed: 1 });
  assert.deepEqual(lines.map(({ line }) => line), lines.map((_, i) => i + 1));
  const many = bench.settings.reference_shoes.length;
  for (const metric of ["mass", "heel-rebound"]) {
    const parts = lines.filter((line) => line.metric === metric);
    assert.deepEqual(parts.map(({ part }) => part), [
      ...Array(many).fill("reference first"),
      ...Array(6).fill("visit"),
      ...Array(many).fill("reference last"),
    ]);
    const order = parts.filter(({ part }) => part === "visit").map(({ shoe_id }) => shoe_id);
    assert.deepEqual(order.toSorted(), shoes.toSorted());
    // The last readings of a reference go on counting where its first ones ended.
    assert.deepEqual([parts[0].first_trial, parts.at(-1)!.first_trial], [1, 4]);
  }
  const drawn = (seed: number) =>
    benchSheet(bench, visits, { seed }).lines.map(({ shoe_id }) => shoe_id).join();
  assert.equal(drawn(1), drawn(1));
  assert.notEqual(drawn(1), drawn(2));
});

Deno.test("the printed sheet shows the last value only on demand, and carries the code that is entered", () => {
  const sheet = benchSheet(bench, visits, { seed: 1 });
  const about = { bench: "A <b>", invented: true };
  const page = sheetPage(sheet, { ...about, showLast: false });
  assert.ok(page.includes(sheet.code) && page.includes("A &lt;b&gt; (invented)"));
  assert.ok(!/class="last"/.test(page));
  assert.match(sheetPage(sheet, { ...about, showLast: true }), /<small class="last">last \d/);
  assert.equal(page.match(/class="box"/g)!.length, sheet.lines.length * 3);
});

Deno.test("every tester has a card with the same shoes in an order of their own", () => {
  const cards = ratingCards(bench, { testers: ["t1", "t2", "t3"], shoes, seed: 3 });
  const orders = cards.cards.map(({ shoes }) => shoes.map(({ shoe_id }) => shoe_id));
  for (const order of orders) assert.deepEqual(order.toSorted(), shoes.toSorted());
  assert.ok(new Set(orders.map(String)).size > 1);
  const page = cardsPage(cards, { bench: "B", invented: false });
  assert.equal(page.match(/<section>/g)!.length, 3);
});
