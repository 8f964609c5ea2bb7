import assert from "node:assert/strict";
import { estimateInWords } from "../../../lib/words/review/review_tables.ts";

const written = (estimate: number | null, lower: number | null, upper: number | null) =>
  estimateInWords({
    estimate,
    estimate_reason: estimate === null
      ? { code: "too-few", of: "subjects", needed: 2, found: 1 }
      : null,
    lower,
    upper,
  }, 2);

Deno.test("an estimate is written with its limits, a true minus, and no sign before a rounded zero", () => {
  assert.equal(written(0.944, 0.91, 0.96), "0.94 (0.91 to 0.96)");
  assert.equal(written(-0.5, -0.75, -0.004), "−0.50 (−0.75 to 0.00)");
  assert.equal(written(0.2, null, null), "0.20");
  assert.equal(written(null, null, null), "one shoe cannot show how shoes differ");
});
