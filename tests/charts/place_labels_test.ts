import assert from "node:assert/strict";
import fc from "fast-check";
import { type Box, placeLabels } from "../../lib/charts/place_labels.ts";
import { sequence, shoeNames } from "./invented_results.ts";

const bounds = { left: 0, top: 0, right: 600, bottom: 400 };

const requests = fc.array(
  fc.record({
    x: fc.integer({ min: 0, max: 600 }),
    y: fc.integer({ min: 0, max: 400 }),
    text: fc.string({ minLength: 1, maxLength: 24 }),
  }),
  { maxLength: 25 },
);

Deno.test("placeLabels() never lets a label touch another, cover another's point or leave the bounds", () => {
  fc.assert(
    fc.property(requests, (points) => {
      const { placed, unplaced } = placeLabels(points, { bounds, size: 12 });
      assert.equal(placed.length + unplaced.length, points.length);
      for (const { index, box } of placed) {
        assert.ok(box.left >= 0 && box.right <= 600 && box.top >= 0 && box.bottom <= 400);
        for (const other of placed) {
          if (other.index !== index) assert.ok(!touch(box, other.box));
        }
        points.forEach(({ x, y }, other) => {
          if (other === index) return;
          assert.ok(!touch(box, { left: x - 4, right: x + 4, top: y - 4, bottom: y + 4 }));
        });
      }
    }),
    { seed: 1, numRuns: 60 },
  );
});

Deno.test("placeLabels() gives the same places whatever the order of the requests", () => {
  const random = sequence(4);
  const points = shoeNames(30).map(({ name }) => ({
    x: 600 * random(),
    y: 400 * random(),
    text: name,
  }));
  const of = (list: typeof points) =>
    new Map(
      placeLabels(list, { bounds, size: 12 }).placed.map(({ text, x, y }) => [text, `${x} ${y}`]),
    );
  const [forth, back] = [of(points), of(points.toReversed())];
  assert.ok(forth.size > 20);
  for (const [text, place] of forth) assert.equal(back.get(text), place);
});

Deno.test("placeLabels() puts a lone label to the right of its point, without a leader", () => {
  const { placed: [label] } = placeLabels([{ x: 100, y: 100, text: "Volley" }], {
    bounds,
    size: 12,
  });
  assert.ok(label.x > 105 && label.x < 115 && label.y === 100 && label.leader === null);
});

Deno.test("placeLabels() gives up the label of lowest priority when two want the only place", () => {
  const narrow = { left: 0, top: 0, right: 60, bottom: 20 };
  const points = [
    { x: 4, y: 10, text: "Volley", priority: 1, radius: 3 },
    { x: 4, y: 10, text: "Slide A", priority: 2, radius: 3 },
  ];
  const { placed, unplaced } = placeLabels(points, { bounds: narrow, size: 12 });
  assert.deepEqual(placed.map(({ text }) => text), ["Slide A"]);
  assert.deepEqual(unplaced, [0]);
});

function touch(a: Box, b: Box): boolean {
  return Math.min(a.right, b.right) - Math.max(a.left, b.left) > 1e-9 &&
    Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top) > 1e-9;
}
