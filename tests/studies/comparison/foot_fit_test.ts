import assert from "node:assert/strict";
import { loadBench } from "../../../lib/records/load_bench.ts";
import { footFit } from "../../../lib/studies/comparison/foot_fit.ts";

const demo = await loadBench("data-demo");
const reliability = { metrics: [] };

for (const [foot_length_mm, foot] of [[200, "far shorter"], [320, "far longer"]] as const) {
  Deno.test(`of shoes for a foot ${foot} than all of them, the one nearest to the wanted toe room comes first`, () => {
    const { shoes, wanted_toe_room_mm: [low, high] } = footFit(demo, {
      foot_length_mm,
      reliability,
    });
    const off = shoes.map(({ toe_room_mm }) =>
      toe_room_mm < low ? low - toe_room_mm : toe_room_mm > high ? toe_room_mm - high : 0
    );
    assert.ok(shoes.length > 20 && off.every((mm) => mm > 0));
    assert.deepEqual(off, off.toSorted((a, b) => a - b));
    assert.ok(off.at(-1)! - off[0] > 5);
  });
}
