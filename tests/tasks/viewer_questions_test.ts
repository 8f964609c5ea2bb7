import assert from "node:assert/strict";
import { fileURLToPath } from "node:url";
import { answerPictures } from "../../lib/charts/answer_picture.ts";
import { frameSteps } from "../../lib/charts/build_up.ts";
import { loadBench } from "../../lib/records/load_bench.ts";
import type { Bench } from "../../lib/records/types.ts";
import { viewerWords } from "../../lib/records/viewer_words.ts";
import { readQuestion } from "../../lib/tasks/answer_call.ts";
import { answerQuestion } from "../../lib/tasks/answer_question.ts";
import type { DrawnAnswer } from "../../lib/tasks/drawn_answer.ts";
import { namedQuestion } from "../../lib/tasks/named_question.ts";
import { CallError, taskSpecs } from "../../lib/tasks/task_calls.ts";
import { answerHeadline } from "../../lib/words/comparison/headline.ts";
import { toldAnswer } from "../../lib/words/comparison/tell_answer.ts";
import { resultJson } from "../../lib/words/result_json.ts";
import { chartFaults, textBoxes } from "../charts/text_boxes.ts";
import { namesIn, unfoundNumbers } from "../words/numbers_in_words.ts";

const demo = fileURLToPath(new URL("../../data-demo", import.meta.url));

const readme = fileURLToPath(new URL("../../README.md", import.meta.url));
const known = Object.keys(taskSpecs.find(({ name }) => name === "answer")!.options);
const sizes = [{ width: 1920, height: 1080 }, { width: 1080, height: 1920 }];

/** The task's own steps from typed words to an answer. */
function asked(bench: Bench, words: readonly string[]): DrawnAnswer {
  const options: Record<string, string> = { kind: "comparison" };
  for (let at = 0; at < words.length; at += 2) {
    const option = words[at].replace(/^--/, "");
    assert.ok(known.includes(option), `deno task answer has no option ${words[at]}`);
    options[option] = words[at + 1];
  }
  return answerQuestion(bench, namedQuestion(bench, readQuestion(options)), 20260101);
}

/** Numbers of a text that are not in its answer's JSON, a shoe's own and a limit's as typed apart. */
function unfound(bench: Bench, words: readonly string[], drawn: DrawnAnswer): string[] {
  const told = toldAnswer(drawn.answer);
  const json = JSON.parse(JSON.stringify(resultJson(told)));
  delete json.sentence;
  delete json.alt;
  delete json.notes;
  const names = [
    ...namesIn(bench),
    ...bench.pairs.flatMap(({ size, size_system }) =>
      size === null ? [] : `${size_system ?? bench.settings.size_system} ${size}`
    ),
    ...bench.settings.attributes.map(({ title }) => title),
    ...words,
  ];
  return [told.sentence, answerHeadline(drawn.answer)].flatMap((text) =>
    unfoundNumbers(text, json, { names })
  );
}

/** The rows of README's table: what a viewer asks, and the words that answer it. */
async function questions(): Promise<{ readonly question: string; readonly words: string[] }[]> {
  const text = await Deno.readTextFile(readme);
  return [...text.matchAll(/^\| ([^|`]+\?) +\| `(--[^`]+)`[^|]*\|$/gm)].map((
    [, question, command],
  ) => ({
    question,
    words: [...command.matchAll(/"([^"]*)"|(\S+)/g)].map(([, quoted, bare]) => quoted ?? bare),
  }));
}

Deno.test("each command of the README's table of questions gives a sentence whose numbers are in its result, and a picture", async (t) => {
  const bench = viewerWords(await loadBench(demo));
  const all = await questions();
  assert.ok(all.length >= 20, `only ${all.length} rows were read`);
  for (const { question, words } of all) {
    await t.step(question, () => {
      const drawn = asked(bench, words);
      const { sentence, alt } = toldAnswer(drawn.answer);
      assert.match(sentence, /^\p{Lu}[^\n]*\.$/u);
      assert.doesNotMatch(`${sentence} ${alt}`, /NaN|undefined|null|Infinity|\[object/);
      assert.deepEqual(unfound(bench, words, drawn), []);
      for (const size of sizes) {
        const { things, chart, pictures = 1, breaks } = drawn;
        const made = answerPictures(chart, {
          things,
          pictures,
          breaks,
          size,
          title: answerHeadline(drawn.answer),
          alt,
          provenance: "a test",
          invented: true,
        });
        assert.ok(made.length >= 1);
        for (const picture of made) {
          assert.equal(picture.getAttribute("width"), `${size.width}`);
          assert.deepEqual(chartFaults(picture), [], `${size.width} by ${size.height}`);
          const least = Math.min(...textBoxes(picture).map((box) => box.size));
          assert.ok(least * 390 / size.width >= 9 - 1e-6, `${size.width}: ${least} px`);
        }
        // Built up in frames, each shows more than the one before; the first has no value yet.
        const marks = frameSteps(4).map((upTo) =>
          [
            ...answerPictures(chart, {
              things,
              breaks,
              size,
              pictures: 1,
              upTo,
              title: answerHeadline(drawn.answer),
              alt,
              provenance: "a test",
              invented: true,
            })[0].querySelectorAll("circle, path, line, rect, text"),
          ].length
        );
        assert.ok(marks.every((many, at) => at === 0 || many > marks[at - 1]), `${marks}`);
      }
    });
  }
});

Deno.test("a court that nobody rated on is answered with what to bench, and names no shoe", async () => {
  const bench = await loadBench(demo);
  for (
    const words of [
      "--kind best --attributes grip --played-on dusty",
      "--kind best --metrics tilt-slip-dry --played-on clay",
      "--kind best --played-on grass",
    ]
  ) {
    const { answer } = asked(bench, words.split(" "));
    assert.equal(answer.question, "court", words);
    const { sentence, alt, notes } = toldAnswer(answer);
    assert.match(sentence, /can't be told/);
    assert.ok(notes.some((note) => note.startsWith("To bench: ")), words);
    for (const { model } of bench.shoes) assert.ok(!`${sentence} ${alt}`.includes(model), model);
  }
});

Deno.test("makers under a price are set against each other on shoes that cost no more", async () => {
  const bench = await loadBench(demo);
  const words = "--kind makers --metrics mass --makers Tolmeck,Quenbar --price-below 150";
  const { answer } = asked(bench, words.split(" "));
  assert.ok(answer.question === "makers");
  const cheap = (maker: string) =>
    bench.shoes.filter((shoe) => shoe.maker === maker && shoe.price !== null && shoe.price <= 150)
      .length;
  for (const { maker, shoes } of answer.makers) {
    assert.ok(shoes > 0 && shoes <= cheap(maker), `${maker}: ${shoes} of ${cheap(maker)}`);
  }
  assert.match(toldAnswer(answer).sentence, /among shoes up to 150 EUR/);
});

Deno.test("a question that lacks something, or has too much, says what it takes", async () => {
  const bench = await loadBench(demo);
  const wrong: readonly (readonly [string, RegExp])[] = [
    ["--kind link --metrics mass", /takes one impression, not 0/],
    ["--kind link --metrics mass,outsole-wear --attributes grip", /takes one metric, not 2/],
    ["--kind link --metrics mass --attributes shine", /There is no attribute "shine"/],
    ["--kind link --metrics mass --attributes grip --first 3", /--first belongs to --kind best/],
    ["--kind best --metrics mass --attributes grip", /one metric or one impression, not 1 and 1/],
    ["--kind best --first 0", /--first takes a whole number of places from 1 to 20, not "0"/],
    ["--kind best --order up", /--order is highest or lowest, not "up"/],
    ["--kind best --price-below free", /--price-below takes a number, not "free"/],
    ["--kind best --price-below 0", /--price-below takes a price above 0/],
    ["--kind best --price-below 1", /None of \d+ shoes with a value surely meets/],
    ["--kind profile", /--kind profile takes one shoe, not 0/],
    ["--kind profile --shoes tolmeck-steddle-1", /is a reference shoe/],
    ["--kind profile --shoes nonesuch-9", /There is no shoe "nonesuch-9"/],
    ["--kind like --shoes a,b", /--kind like takes one shoe, not 2/],
    ["--kind like --shoes pavrico-orbinel-3 --metrics upper-lamp-temperature", /can't be compared/],
    ["--kind makers", /takes a metric or an impression/],
    ["--kind makers --metrics mass --makers Tolmeck", /name two or more, or none for all/],
    ["--kind makers --metrics mass --makers Tolmeck,Nonesuch", /There is no maker "Nonesuch"/],
    ["--kind makers --metrics upper-lamp-temperature", /is not fit to publish/],
    ["--kind panel --attributes shine", /There is no attribute "shine"/],
    ["--kind panel --shoes pavrico-orbinel-3", /--shoes belongs to --kind/],
    ["--kind fit --runs wide", /--runs is short or long, not "wide"/],
    ["--kind fit --runs short --foot-length 270", /goes without --foot-length/],
    ["--kind index --shoes tolmeck-steddle-1", /is a reference shoe, without a place/],
    ["--kind drift --metrics mass,outsole-wear", /takes one metric, not 2/],
    ["--kind sizes --metrics smoke-clearing", /This bench can't tell: no model has readings/],
    ["--kind best --metrics torsional-stiffness", /neither good nor bad, so no shoe is the best/],
  ];
  for (const [words, message] of wrong) {
    assert.throws(
      () => asked(bench, words.split(" ")),
      (error: unknown) => error instanceof CallError && message.test(error.message),
      words,
    );
  }
});

Deno.test("the panel's pictures show each tester's leniency once for every impression, after the shoes", async () => {
  const bench = viewerWords(await loadBench(demo));
  const drawn = asked(bench, ["--kind", "panel"]);
  const made = answerPictures(drawn.chart, {
    things: drawn.things,
    pictures: drawn.pictures ?? 1,
    breaks: drawn.breaks,
    size: { width: 1920, height: 1080 },
    title: "A test",
    alt: "A test",
    provenance: "a test",
    invented: true,
  });
  const shown = made.map((picture) =>
    [...picture.querySelectorAll("text")].map(({ textContent }) => textContent ?? "")
  );
  for (const { title } of bench.settings.attributes) {
    const label = `${title}: above the panel on the same shoes, rating points`;
    const about = shown.filter((texts) => texts.includes(label));
    for (const { tester } of bench.testers) {
      const rows = about.flat().filter((text) => text === tester);
      assert.equal(rows.length, 1, `${tester} on ${title}`);
    }
  }
});

Deno.test("makers are told apart by a figure that lies within the limits beside it, whichever reads lower", async () => {
  const bench = viewerWords(await loadBench(demo));
  for (const makers of ["Tolmeck,Quenbar", "Quenbar,Tolmeck", "Pavrico,Dhostane"]) {
    const words = ["--kind", "makers", "--makers", makers, "--metrics", "mass"];
    const { sentence } = toldAnswer(asked(bench, words).answer);
    const [, figure, low, high] = /by ([\d.]+) g \((−?[\d.]+) g to (−?[\d.]+) g\)/.exec(sentence)!
      .map((text) => Number(text.replace("−", "-")));
    assert.ok(low < figure && figure < high, sentence);
  }
});

Deno.test("of shoes like one up to a price each is known to cost no more, and the headline says the price", async () => {
  const bench = viewerWords(await loadBench(demo));
  const { answer } = asked(bench, [
    "--kind",
    "like",
    "--shoes",
    "orbinel 3",
    "--price-below",
    "120",
  ]);
  assert.ok(answer.question === "like" && answer.shoes.length > 0);
  assert.ok(answer.shoes.every(({ price }) => price !== null && price <= 120));
  assert.match(toldAnswer(answer).sentence, /up to 120 EUR/);
  assert.throws(
    () => asked(bench, ["--kind", "like", "--shoes", "orbinel 3", "--price-below", "1"]),
    /None of 49 other shoes/,
  );
});
