import assert from "node:assert/strict";
import { shoeTree } from "../../../lib/studies/shoes/shoe_tree.ts";

const shoes = [
  { shoe_id: "a1", maker: "Aster", model: "Volt 1", line: "Volt" },
  { shoe_id: "a2", maker: "aster ", model: "Volt 2", line: "volt" },
  { shoe_id: "a3", maker: "Aster", model: "Drift", line: null },
  { shoe_id: "b1", maker: "Birch", model: "Drift", line: null },
];

Deno.test("a line is what the table calls one, else the model, and models of two makers are two lines", () => {
  assert.deepEqual(shoeTree({ shoes }), {
    outer: [0, 0, 0, 1],
    inner: [0, 0, 1, 2],
    makers: 2,
    lines: 3,
  });
});

Deno.test("shoes come back in the order asked, and one that isn't there is refused", () => {
  assert.deepEqual(shoeTree({ shoes }, ["b1", "a2", "a1"]).inner, [0, 1, 1]);
  assert.throws(() => shoeTree({ shoes }, ["zz"]), /no shoe "zz"/);
});
