import assert from "node:assert/strict";
import { join } from "node:path";
import { knownReasons, sayReason } from "../../lib/words/reasons.ts";
import { resultJson } from "../../lib/words/result_json.ts";
import { lib, sources } from "../sources.ts";

Deno.test("every reason code that lib makes has words, and every code with words is made somewhere", async () => {
  const made = new Set<string>();
  for (const file of await sources(lib)) {
    const text = await Deno.readTextFile(file);
    // Records check their files by schemas whose issues carry a code too; no page says those.
    if (file.startsWith(join(lib, "records")) && !text.includes("new CantAnswer")) continue;
    for (const [, code] of text.matchAll(/\bcode: "([a-z-]+)"/g)) made.add(code);
  }
  const known = new Set(knownReasons());
  assert.ok(made.size >= 20, `only ${made.size} codes were found`);
  assert.deepEqual([...made].filter((code) => !known.has(code)), []);
  assert.deepEqual([...known].filter((code) => !made.has(code)), []);
});

Deno.test("sayReason() counts in the page's terms and refuses a code it has no words for", () => {
  assert.equal(sayReason({ code: "no-repeats", subjects: 3 }), "no shoe was read twice");
  assert.equal(
    sayReason({ code: "no-repeats", subjects: 3, kind: "rating" }),
    "nobody rated a shoe twice",
  );
  assert.equal(
    sayReason({ code: "too-few", of: "rows", needed: 4, found: 1 }),
    "there is only 1 shoe; 4 are needed",
  );
  assert.equal(
    sayReason({ code: "too-few", of: "raters", needed: 2, found: 0 }, { rater: "tester" }),
    "there are no testers; 2 are needed",
  );
  assert.equal(
    sayReason({ code: "too-few", of: "pairs", needed: 3, found: 2 }),
    "only 2 shoes have both values; 3 are needed",
  );
  assert.equal(sayReason(null), null);
  for (const code of ["gone", "toString"]) {
    assert.throws(() => sayReason({ code }), { name: "RangeError", message: new RegExp(code) });
  }
});

Deno.test("resultJson() says every reason, keeps its code beside it and copies all else", () => {
  const reason = { code: "no-repeats", subjects: 2 } as const;
  const result = {
    estimate: null,
    estimate_reason: reason,
    deep: [{ p: 0.5, p_reason: null, warnings: ["said", reason] }],
    reason,
    season: reason,
  };
  const before = structuredClone(result);
  assert.deepEqual(resultJson(result), {
    estimate: null,
    estimate_reason: "no shoe was read twice",
    estimate_reason_code: reason,
    deep: [{ p: 0.5, p_reason: null, warnings: ["said", "no shoe was read twice"] }],
    reason: "no shoe was read twice",
    reason_code: reason,
    season: reason,
  });
  assert.deepEqual(result, before);
});

Deno.test("resultJson() refuses what a file can't hold, and says where it stands", () => {
  for (
    const [value, shown] of [
      [NaN, "NaN"],
      [Infinity, "Infinity"],
      [undefined, "undefined"],
      [() => 1, "function"],
      [new Map(), "Map"],
    ] as const
  ) {
    assert.throws(() => resultJson({ rows: [1, { value }] }), {
      name: "RangeError",
      message: new RegExp(`rows\\[1\\]\\.value is ${shown}`),
    });
  }
});
