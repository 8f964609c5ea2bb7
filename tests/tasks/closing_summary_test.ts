import assert from "node:assert/strict";
import { closingSummary } from "../../lib/tasks/closing_summary.ts";

const cell = (tags: string[], markdown: string | string[]) => ({
  cell_type: "code",
  source: "",
  metadata: { tags },
  outputs: [{ output_type: "execute_result", data: { "text/markdown": markdown } }],
});

Deno.test("closingSummary() takes what summary cells showed, without Markdown's signs, and wraps it", () => {
  const long = "word ".repeat(30).trim();
  const lines = closingSummary({
    cells: [
      cell([], "## Not this\n\n- nor this"),
      cell(["summary"], [
        "## Three things to know\n\n",
        "- A \\[shoe\\] by \\*name\\* &lt;1 &amp; 2\n",
        `- ${long}\n`,
      ]),
    ],
  });
  assert.deepEqual(lines.slice(0, 2), ["Three things to know:", "  - A [shoe] by *name* <1 & 2"]);
  assert.equal(lines.length, 4);
  assert.ok(lines.every((line) => line.length <= 96));
  assert.ok(lines[3].startsWith("    word"));
});

Deno.test("closingSummary() of a notebook without a summary says nothing", () => {
  assert.deepEqual(closingSummary({ cells: [cell([], "- x")] }), []);
});
