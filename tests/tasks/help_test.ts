import assert from "node:assert/strict";
import { help } from "../../lib/tasks/help.ts";
import { taskSpecs } from "../../lib/tasks/task_calls.ts";
import { tasksFor } from "../../lib/tasks/task_questions.ts";
import { stateScript } from "../../lib/tasks/watch.ts";

Deno.test("help names the task that answers a question in a person's own words", () => {
  const asked: readonly (readonly [question: string, task: string])[] = [
    ["which shoe is grippier", "answer"],
    ["who has the best rebound", "answer"],
    ["can I trust my rebound test", "review"],
    ["does stiffness predict comfort on court", "review"],
    ["are my friends agreeing", "review"],
    ["put my old spreadsheet in", "import"],
    ["what should I measure next", "retest"],
    ["print a sheet for the bench", "retest"],
    ["type in the filled sheet", "enter"],
    ["is there a mistake in my folder", "inspect"],
    ["how do I begin", "start"],
    ["verdict on a new formula", "proposal"],
    ["a web page for my audience", "publish"],
    ["open a notebook", "lab"],
    ["see the page while typing", "watch"],
  ];
  const wrong = asked.filter(([question, task]) => tasksFor(question.split(" "))[0]?.name !== task);
  assert.deepEqual(wrong, []);
});

Deno.test("help alone lists every task once, in the order of a year; nonsense gets the list too", () => {
  const all = help([]);
  const places = taskSpecs.map(({ name }) => all.indexOf(`\n  ${name} `));
  assert.ok(places.every((at) => at > 0), all);
  assert.ok(all.indexOf("  start ") < all.indexOf("  enter "));
  assert.ok(all.indexOf("  enter ") < all.indexOf("  review "));
  assert.match(help(["zzzz", "qqqq"]), /No task fits "zzzz qqqq"\. There are:\n {2}start/);
  assert.match(help(["retest"]), /--slots N/);
});

Deno.test("what the watched page reads holds no tag and no line end of a script, whatever a cell says", () => {
  const script = stateScript({ made: 1, page: null, errors: "</script><script>alert(1)\u2028" });
  assert.ok(!script.includes("<") && !script.includes("\u2028"));
  let state: unknown;
  new Function("show", script)((one: unknown) => state = one);
  assert.deepEqual(state, { made: 1, page: null, errors: "</script><script>alert(1)\u2028" });
});
