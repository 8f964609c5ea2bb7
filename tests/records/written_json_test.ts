import assert from "node:assert/strict";
import { writtenJson } from "../../lib/records/written_json.ts";

const value = {
  kind: "review",
  empty: { list: [], object: {} },
  'a "key"\n': [1.5, -0, null, true, "text with \u2028 and \\ and </script>"],
  points: [{ shoe_id: "a", value: 41.2 }, { shoe_id: "b", value: null }],
  nested: [[1, 2], [[3]], { deep: { deeper: [{ estimate: 1, interval: [0, 2] }] } }],
  long: Array.from({ length: 200 }, (_, i) => i),
};

Deno.test("writtenJson() gives back what it was given, and the same bytes again", () => {
  assert.deepEqual(JSON.parse(writtenJson(value)), JSON.parse(JSON.stringify(value)));
  assert.equal(writtenJson(JSON.parse(writtenJson(value))), writtenJson(value));
  for (const plain of [null, 3, "x", [], {}]) {
    assert.equal(writtenJson(plain), JSON.stringify(plain));
  }
});

Deno.test("writtenJson() writes a point on a line of its own, and a long list a value a line", () => {
  const lines = writtenJson(value).split("\n");
  assert.ok(lines.includes('    {"shoe_id": "a", "value": 41.2},'));
  assert.ok(lines.includes("    199"));
  assert.ok(lines.every((line) => line.length <= 340));
});
