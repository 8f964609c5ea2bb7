import assert from "node:assert/strict";
import { join } from "node:path";
import { answerName, readQuestion, readSize } from "../../lib/tasks/answer_call.ts";
import { CallError } from "../../lib/tasks/task_calls.ts";
import { copyBench, kit, runTask } from "./run_task.ts";

type Run = Awaited<ReturnType<typeof runTask>>;

async function withRun(words: readonly string[], test: (run: Run) => Promise<void> | void) {
  const run = await runTask(...words);
  try {
    await test(run);
  } finally {
    await Deno.remove(run.out, { recursive: true }).catch(() => {});
  }
}

const files = (dir: string) => [...Deno.readDirSync(dir)].map(({ name }) => name).sort();
const stem = "answer-pavrico-orbinel-3-vs-ellvarn-talvec-3-tilt-slip-dry-grip";
const question = [
  "answer",
  "--shoes",
  "pavrico-orbinel-3,ellvarn-talvec-3",
  "--metrics",
  "tilt-slip-dry",
  "--attributes",
  "grip",
];

Deno.test("deno task answer writes picture, drawing, figures and words of one comparison, twice the same", async () => {
  await withRun(question, async ({ code, stderr, out }) => {
    assert.equal(code, 0, stderr);
    // Two things compared at a size that can be read on a phone take two wide pictures.
    assert.deepEqual(
      files(out),
      ["-2.png", "-2.svg", ".json", ".md", ".png", ".svg"].map((ending) => stem + ending),
    );

    const png = await Deno.readFile(join(out, `${stem}.png`));
    const head = new DataView(png.buffer);
    assert.deepEqual([head.getUint32(16), head.getUint32(20)], [1920, 1080]);
    const svg = await Deno.readTextFile(join(out, `${stem}.svg`));
    const json = JSON.parse(await Deno.readTextFile(join(out, `${stem}.json`)));
    const words = await Deno.readTextFile(join(out, `${stem}.md`));

    assert.equal(json.kind, "answer");
    assert.equal(json.schema, 1);
    assert.match(json.data["trials.csv"], /^[0-9a-f]{64}$/);
    assert.deepEqual(json.comparisons.map(({ word }: { word: string }) => word).length, 2);
    for (const { metric, attribute, a, b, difference, mdc, word } of json.comparisons) {
      assert.ok((metric === null) !== (attribute === null));
      assert.deepEqual([a, b], ["pavrico-orbinel-3", "ellvarn-talvec-3"]);
      assert.ok(difference.lower < difference.upper && mdc > 0);
      assert.ok(["differ", "differ by enough to feel", "alike", "can't tell"].includes(word));
    }
    assert.ok(json.values.every(({ percentile }: { percentile: number }) => percentile >= 0));
    for (const text of [svg, words]) {
      assert.ok(text.replaceAll("&apos;", "'").includes(json.alt.slice(0, 60)));
      assert.match(text, /Invented data/);
    }
    assert.match(svg, /<title[^>]*>/);
    assert.match(svg, /<desc[^>]*>/);
    assert.ok(words.includes(json.data["trials.csv"]));
    assert.match(words, /no safety rating/);
    assert.match(json.foot, /rule speed-index 2 · \d+ trials and \d+ ratings to 2026-/);

    const before = await Promise.all(files(out).map((file) => Deno.readFile(join(out, file))));
    const again = await runTask(...question, "--out", out);
    assert.equal(again.code, 0, again.stderr);
    const after = await Promise.all(files(out).map((file) => Deno.readFile(join(out, file))));
    assert.deepEqual(after, before);
  });
});

const kinds: readonly (readonly [stem: string, words: readonly string[]])[] = [
  ["answer-catalogue-mass-pavrico-orbinel-3", [
    "--kind",
    "catalogue",
    "--metrics",
    "mass",
    "--shoes",
    "pavrico-orbinel-3",
  ]],
  ["answer-editions-pavrico-orbinel-2-mass-1080x1920", [
    "--kind",
    "editions",
    "--shoes",
    "pavrico-orbinel-2",
    "--metrics",
    "mass",
    "--size",
    "1080x1920",
  ]],
  ["answer-shortlist-best-third-tilt-slip-dry-at-most-mass-370-wide", [
    "--kind",
    "shortlist",
    "--best-third",
    "tilt-slip-dry",
    "--at-most",
    "mass=370",
    "--width",
    "wide",
  ]],
  ["answer-fit-272-by-104", ["--kind", "fit", "--foot-length", "272", "--foot-width", "104"]],
];

for (const [name, words] of kinds) {
  Deno.test(`deno task answer ${words[1]} writes its four files under a name made from the question`, async () => {
    await withRun(["answer", ...words], ({ code, stderr, out }) => {
      assert.equal(code, 0, stderr);
      assert.deepEqual(files(out), [".json", ".md", ".png", ".svg"].map((ending) => name + ending));
    });
  });
}

Deno.test("a call that can't be answered ends in 2, says what to do, and writes nothing", async () => {
  const two = "pavrico-orbinel-3,ellvarn-talvec-3";
  const refused: readonly (readonly [words: readonly string[], said: RegExp])[] = [
    [["--shoes", "talvec,pavrico-orbinel-3"], /"talvec" fits 3 shoes: ellvarn-talvec-1/],
    [["--shoes", "pavrico-orbinel-3"], /only pavrico-orbinel-3 was named/],
    [
      ["--shoes", "ellvarn-talvec-1,ellvarn-talvec-2", "--metrics", "forefoot-bending-stiffness"],
      /no trial on forefoot bending stiffness/,
    ],
    [["--shoes", two, "--size", "1080"], /--size takes/],
    [["--shoes", two, "--size", "200x200"], /--size takes/],
  ];
  for (const [words, said] of refused) {
    await withRun(["answer", ...words], ({ code, stderr, stdout, out }) => {
      assert.equal(code, 2, stderr);
      assert.match(stderr, said);
      assert.equal(stdout, "");
      assert.deepEqual(files(out), []);
    });
  }
});

Deno.test("a shoe with one trial is compared by the noise of the others, and the report says so", async () => {
  const data = await copyBench(join(kit, "data-demo"));
  try {
    const path = join(data, "trials.csv");
    const lines = (await Deno.readTextFile(path)).split("\n");
    const own = lines.filter((line) => line.includes(",pavrico-orbinel-3,mass,"));
    const kept = lines.filter((line) => !own.slice(1).includes(line));
    await Deno.writeTextFile(path, kept.join("\n"));
    const words = ["--shoes", "pavrico-orbinel-3,ellvarn-talvec-3", "--metrics", "mass"];
    await withRun(["answer", "--data", data, ...words], ({ code, stderr, out }) => {
      assert.equal(code, 0, stderr);
      const report = files(out).find((name) => name.endsWith(".md"))!;
      assert.match(Deno.readTextFileSync(join(out, report)), /Orbinel 3 was read once/);
    });
  } finally {
    await Deno.remove(data, { recursive: true });
  }
});

Deno.test("deno task retest writes a list to print, in which no name of the data can run as a formula", async () => {
  const data = await copyBench(join(kit, "data-demo"));
  try {
    const path = join(data, "shoes.csv");
    const shoes = await Deno.readTextFile(path);
    await Deno.writeTextFile(
      path,
      shoes.replace(",Tolmeck,Yelmar,1,", ',"=HYPERLINK(1)",Yelmar,1,'),
    );
    await withRun(["retest", "--slots", "3", "--data", data], async ({ code, stderr, out }) => {
      assert.equal(code, 0, stderr);
      assert.deepEqual(files(out), ["retest.csv", "retest.json"]);
      const csv = await Deno.readTextFile(join(out, "retest.csv"));
      const plan = JSON.parse(await Deno.readTextFile(join(out, "retest.json")));
      assert.equal(plan.visits.length, 3);
      assert.equal(csv.trim().split("\r\n").length, 4);
      assert.match(csv, /'=HYPERLINK/);
      assert.doesNotMatch(csv, /(^|,)"?=/m);
    });
  } finally {
    await Deno.remove(data, { recursive: true });
  }
});

Deno.test("retest refuses a time that is none, and minutes for a metric that isn't there", async () => {
  for (const words of [["--slots", "0"], ["--minutes", "x"], ["--minutes-each", "weightt=3"]]) {
    await withRun(["retest", ...words], ({ code, out }) => {
      assert.equal(code, 2);
      assert.deepEqual(files(out), []);
    });
  }
});

Deno.test("readQuestion() refuses options of another kind of question", () => {
  assert.throws(
    () => readQuestion({ kind: "comparison", shoes: "a,b", width: "wide" }),
    (error) =>
      error instanceof CallError && /--width belongs to --kind shortlist/.test(error.message),
  );
  assert.throws(() => readQuestion({ kind: "pair", metrics: "mass" }), /two metrics, not 1/);
  assert.throws(() => readQuestion({ kind: "shortlist" }), /at least one of/);
  assert.throws(() => readQuestion({ kind: "shortlist", "at-most": "mass" }), /= between/);
  assert.throws(() => readQuestion({ kind: "fit" }), /--foot-length/);
  assert.throws(() => readQuestion({ kind: "riddle" }), /--kind is comparison/);
});

Deno.test("answerName() names files by the question: another question, another name, and never a path", () => {
  const size = readSize("1920x1080");
  const ask = (shoes: string, metrics?: string) =>
    answerName(
      readQuestion({ kind: "comparison", shoes, ...(metrics === undefined ? {} : { metrics }) }),
      size,
    );
  assert.equal(ask("a,b"), "answer-a-vs-b");
  assert.notEqual(ask("../../a,b"), ask("..-..-a,b"));
  assert.match(ask("../../a,b"), /^[A-Za-z0-9.-]+$/);
  const many = Array.from({ length: 30 }, (_, i) => `metric-number-${i}`);
  assert.ok(ask("a,b", many.join(",")).length <= 100);
  assert.notEqual(ask("a,b", many.join(",")), ask("a,b", many.toReversed().join(",")));
});
