import assert from "node:assert/strict";
import { drawNothing } from "../../lib/charts/draw.ts";
import { ask, askNext, showAnswer, showAnswerChart, showMore } from "../../lib/notebook/ask.ts";
import { CantAnswer } from "../../lib/records/cant_answer.ts";
import { showMarkdown } from "../../lib/notebook/in_cell.ts";

const jupyterDisplay = Symbol.for("Jupyter.display");

async function bundleOf(shown: unknown): Promise<Record<string, unknown>> {
  return await (shown as Record<symbol, () => Promise<Record<string, unknown>>>)[jupyterDisplay]();
}

Deno.test("ask() turns what a bench lacks into words, and throws any other error on", async () => {
  assert.deepEqual(await ask(() => 3), { answer: 3, reason: null });
  assert.deepEqual(await ask(() => Promise.resolve("late")), { answer: "late", reason: null });
  const lacking = await ask(() => {
    throw new CantAnswer(
      { code: "not-on-bench", what: "shoe", id: "a" },
      'There is no shoe "a". There are b',
    );
  });
  assert.deepEqual(lacking, {
    answer: null,
    reason: 'There is no shoe "a". There are b',
    unnamed: true,
  });
  const unfit = await ask(() => {
    throw new CantAnswer(
      { code: "not-fit-to-publish", metric: "Mass" },
      "Mass is not fit to publish, so no shoe is placed by it",
      [{ code: "noise-unknown" }],
    );
  });
  assert.deepEqual(unfit, {
    answer: null,
    reason:
      "Mass is not fit to publish, so no shoe is placed by it: the noise of the metric is unknown, since no shoe was read twice",
  });
  await assert.rejects(
    ask(() => {
      throw new TypeError("a fault of the kit");
    }),
    TypeError,
  );
  // A slip in a cell's own code is no lack of the bench.
  await assert.rejects(ask(() => new Array(-1)), RangeError);
});

Deno.test("showAnswer() shows an answer as told, and without one says in a sentence what is missing", async () => {
  const found = { answer: 2, reason: null };
  const text = async (shown: unknown) => (await bundleOf(shown))["text/markdown"];
  assert.equal(await text(showAnswer(found, (n) => `n is ${n}`)), "n is 2");
  assert.equal(await text(showAnswer(found, (n) => showMarkdown(`**${n}**`))), "**2**");
  const lacking = { answer: null, reason: 'There is no "a<b"', unnamed: true };
  const words = await text(showAnswer(lacking, () => assert.fail("there is no answer")));
  assert.match(
    String(words),
    /^\*\*Can't answer this\.\*\* There is no "a&lt;b"\. Name in the first cell/,
  );
  const unfit = { answer: null, reason: "Mass is not fit to publish" };
  assert.equal(
    await text(showAnswer(unfit, () => assert.fail("there is no answer"))),
    "**Can't answer this.** Mass is not fit to publish.",
    "another name in the first cell would not help",
  );
  assert.equal(await text(showMore(found, (n) => `${n} more`)), "2 more");
  assert.equal(
    await text(showMore(lacking, () => assert.fail("there is no answer"))),
    "_No more without an answer._",
  );
});

Deno.test("showAnswerChart() draws the answer, or a card that says there is none", async () => {
  const drawn = await bundleOf(
    showAnswerChart({ answer: "Drawn.", reason: null }, (words, size) => drawNothing(words, size)),
  );
  assert.equal(drawn["text/plain"], "Drawn.");
  const empty = await bundleOf(
    showAnswerChart({ answer: null, reason: "none" }, () => assert.fail("there is no answer")),
  );
  assert.match(String(empty["text/plain"]), /^Nothing to draw/);
  assert.match(String(empty["image/svg+xml"]), /<svg/);
});

Deno.test("askNext() goes on from an answer, and hands on the reason where there is none", async () => {
  const found = { answer: 2, reason: null };
  assert.deepEqual(await askNext(found, (n) => n + 1), { answer: 3, reason: null });
  const lacking = { answer: null, reason: "no shoe" };
  assert.deepEqual(await askNext(lacking, () => assert.fail("nothing to ask")), lacking);
});
