import assert from "node:assert/strict";
import { jsonTroubles } from "../../lib/records/json_text.ts";

const again = (text: string) => jsonTroubles(text).map(({ at, found }) => [at, found]);

Deno.test("a key that stands twice in one object is named where it stands again", () => {
  assert.deepEqual(again('{"a": 1, "b": {"c": 2}, "a": 3}'), [[24, 'the key "a" again']]);
  assert.deepEqual(again('[{"a": 1}, {"b": 1, "\\u0062": 2}]'), [[20, 'the key "\\u0062" again']]);
});

Deno.test("the same key in another object, inside or beside, or as a value, is no trouble", () => {
  assert.deepEqual(
    again('{"a": {"a": 1}, "b": [{"a": 1}, {"a": 2}], "c": "a", "d": ["a", "a"]}'),
    [],
  );
  // After an inner object has closed, the outer one's keys count again.
  assert.deepEqual(again('{"a": {"b": 1}, "b": 2}'), []);
  assert.deepEqual(again('{"a": [1], "c": {"d": []}, "c": 1}'), [[27, 'the key "c" again']]);
});
