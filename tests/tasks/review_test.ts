import assert from "node:assert/strict";
import { basename, join } from "node:path";
import { copyBench, kit, runTask } from "./run_task.ts";
import { assertClose } from "../assert_close.ts";

const reference = (name: string) => join(kit, "tests", "references", name);
const json = async (path: string) => JSON.parse(await Deno.readTextFile(path));

async function withOut(
  words: readonly string[],
  test: (run: Awaited<ReturnType<typeof runTask>>) => Promise<void> | void,
): Promise<void> {
  const run = await runTask(...words);
  try {
    await test(run);
  } finally {
    await Deno.remove(run.out, { recursive: true }).catch(() => {});
  }
}

/** Every sentence of a page that claims a prediction, or a part over a metric, says over how many lines and makers. */
function assertClaimsNameTheirCases(
  page: string,
  pairs: readonly {
    readonly claim: string;
    readonly derived_from: string | null;
    readonly metric_title: string;
  }[],
): void {
  const sentences = [...page.matchAll(/<(p|li|figcaption|desc)\b[^>]*>([\s\S]*?)<\/\1>/g)]
    .map(([, , html]) => html.replace(/<[^>]+>/g, "").replace(/\s+/g, " ").trim())
    .flatMap((text) => text.split(/(?<=[.!?]) (?=[A-Z0-9])/));
  const cases = /over \d+ shoes, \d+ lines and \d+ makers/i;
  const claimed = pairs.filter(({ claim, derived_from }) =>
    claim === "predicts" && derived_from === null
  );
  assert.ok(claimed.length > 0);
  for (const { metric_title } of claimed) {
    const [name] = metric_title.split(",");
    const own = sentences.filter((text) =>
      /\bpredicts? |\bpredict:|hold up/.test(text) &&
      text.toLowerCase().includes(name.toLowerCase())
    );
    assert.ok(own.length >= 2, `${metric_title} is claimed in ${own.length} sentences`);
    for (const text of own) assert.match(text, cases);
  }
  for (const text of sentences.filter((text) => /holds? up as a prediction/.test(text))) {
    assert.match(text, cases);
  }
  const parting = sentences.filter((text) => /testers part over/.test(text));
  assert.ok(parting.length > 0);
  for (const text of parting) {
    assert.match(text, /testers part over [^;]*\d+ shoes, \d+ lines and \d+ makers/);
  }
}

Deno.test("deno task review makes a page, an executed notebook, JSON and pictures of the demo, the same wherever it is made", async () => {
  await withOut(["review"], async ({ code, stderr, stdout, out }) => {
    assert.equal(code, 0, stderr);
    assert.match(stdout, /review-2026Q3\.html/);
    const names = [...Deno.readDirSync(out)].map((entry) => entry.name).sort();
    assert.deepEqual(names, [
      "figures",
      "review-2026Q3.html",
      "review-2026Q3.ipynb",
      "review-2026Q3.json",
    ]);
    const page = await Deno.readTextFile(join(out, "review-2026Q3.html"));
    assert.match(page, /Invented data/);
    const { prediction } = await json(join(out, "review-2026Q3.json"));
    assertClaimsNameTheirCases(page, prediction);
    const pictures = [...Deno.readDirSync(join(out, "figures"))];
    assert.equal(pictures.length, page.match(/<figure id="figure-/g)?.length);
    const notebook = await json(join(out, "review-2026Q3.ipynb"));
    for (
      const cell of notebook.cells.filter((c: { cell_type: string }) => c.cell_type === "code")
    ) {
      assert.notEqual(cell.execution_count, null);
    }

    // The same bench in another place, into another place: not a byte of it shows where.
    const elsewhere = await copyBench(join(kit, "data-demo"));
    await withOut(["review", "--data", elsewhere], async (again) => {
      assert.equal(again.code, 0, again.stderr);
      for (const name of names.filter((name) => name !== "figures")) {
        const [here, there] = await Promise.all(
          [out, again.out].map((folder) => Deno.readTextFile(join(folder, name))),
        );
        assert.ok(here === there, `${name} differs`);
        for (const place of [basename(elsewhere), basename(again.out), "data-demo"]) {
          assert.ok(!there.replaceAll("../data-demo", "").includes(place), `${name}: ${place}`);
        }
      }
    });
    await Deno.remove(elsewhere, { recursive: true });
  });
});

Deno.test("review.json of the gauge study holds its published variance components", async () => {
  await withOut(["review", "--data", reference("bench-gauge")], async ({ code, stderr, out }) => {
    assert.equal(code, 0, stderr);
    const [file] = [...Deno.readDirSync(out)].filter(({ name }) => name.endsWith(".json"));
    const { reliability } = await json(join(out, file.name));
    const { published, computed } = await json(join(reference("bench-gauge"), "reference.json"));
    for (const [source, variance] of Object.entries<number>(computed.components)) {
      const found = reliability[0].components.find((part: { source: string }) =>
        part.source === source
      )?.variance ?? NaN;
      assertClose(found, variance, { within: 1e-8 });
      const printed = published.components[source];
      if (printed !== undefined) assertClose(found, printed, { within: 0.5e-5 });
    }
    assert.equal(reliability[0].distinct_categories, published.distinct_categories);
  });
});

Deno.test("review.json of the cheddar panel holds R's rank correlations of three acids with taste", async () => {
  await withOut(["review", "--data", reference("bench-cheese")], async ({ code, stderr, out }) => {
    assert.equal(code, 0, stderr);
    const [file] = [...Deno.readDirSync(out)].filter(({ name }) => name.endsWith(".json"));
    const { prediction } = await json(join(out, file.name));
    const { computed } = await json(join(reference("bench-cheese"), "reference.json"));
    for (const [metric, rho] of Object.entries<number>(computed.spearman)) {
      const pair = prediction.find((row: { metric: string }) => row.metric === metric);
      assertClose(pair.spearman.estimate, rho, { within: 1e-10 });
    }
  });
});

Deno.test("a bench without impressions or rules, and one without repeats, still gets its review", async () => {
  for (const name of ["bench-resistivity", "bench-carrots"]) {
    await withOut(["review", "--data", reference(name)], ({ code, stderr }) => {
      assert.equal(code, 0, `${name}: ${stderr}`);
    });
  }
});

Deno.test("a shoe named like a script shows as text on the page", async () => {
  const data = await copyBench(join(kit, "data-demo"));
  const shoes = join(data, "shoes.csv");
  const text = await Deno.readTextFile(shoes);
  await Deno.writeTextFile(shoes, text.replace("Quillop", "<script>alert(1)</script>"));
  await withOut(["review", "--data", data], async ({ code, stderr, out }) => {
    assert.equal(code, 0, stderr);
    const page = await Deno.readTextFile(join(out, "review-2026Q3.html"));
    assert.ok(!page.includes("<script>alert(1)"));
    assert.match(page, /&lt;script&gt;alert\(1\)/);
  });
  await Deno.remove(data, { recursive: true });
});

Deno.test("a bench with errors ends with exit code 1, all of them said, and nothing written", async () => {
  const data = await copyBench(join(kit, "data-demo"));
  const trials = join(data, "trials.csv");
  const lines = (await Deno.readTextFile(trials)).split("\n");
  lines[1] = lines[1].replace(",cm,", ",g,");
  lines[2] = lines[2].replace("tolmeck-steddle-1", "no-such-shoe");
  lines[4] = lines[3];
  await Deno.writeTextFile(trials, lines.join("\n"));
  await withOut(["review", "--data", data], ({ code, stderr, out }) => {
    assert.equal(code, 1);
    assert.match(stderr, /trials\.csv line 2, column "unit"/);
    assert.match(stderr, /trials\.csv line 3, column "shoe_id": found "no-such-shoe"/);
    assert.match(stderr, /trials\.csv line 5/);
    assert.deepEqual([...Deno.readDirSync(out)], []);
  });
  await Deno.remove(data, { recursive: true });
});

Deno.test("a missing bench folder ends with exit code 1 and names the folder", async () => {
  await withOut(["review", "--data", "no-such-folder"], ({ code, stderr }) => {
    assert.equal(code, 1);
    assert.match(stderr, /no-such-folder/);
  });
});

Deno.test("an out folder that can't be written ends with exit code 2 before any work", async () => {
  const file = await Deno.makeTempFile();
  const { code, stderr } = await runTask("review", "--out", join(file, "out"));
  assert.equal(code, 2);
  assert.match(stderr, /can't be written .*--out/);
  await Deno.remove(file);
});

Deno.test("a wrong call ends with exit code 2 and says what there is", async () => {
  const unknown = await runTask("review", "--quartr", "2026Q3");
  assert.equal(unknown.code, 2);
  assert.match(unknown.stderr, /--quartr.*--quarter/s);
  const notAQuarter = await runTask("review", "--quarter", "summer");
  assert.equal(notAQuarter.code, 2);
  assert.match(notAQuarter.stderr, /--quarter: .*"summer".*2026Q3/);
  const noSeed = await runTask("review", "--seed", "lucky");
  assert.equal(noSeed.code, 2);
  assert.match(noSeed.stderr, /--seed takes a whole number/);
});

Deno.test("every task has a help text with an example, and asking for it is no error", async () => {
  for (
    const name of [
      "review",
      "inspect",
      "answer",
      "proposal",
      "recalibrate",
      "retest",
      "import",
      "start",
      "lab",
    ]
  ) {
    const { code, stdout } = await runTask(name, "--help");
    assert.equal(code, 0);
    assert.match(stdout, new RegExp(`deno task ${name}`));
    assert.match(stdout, /Example: deno task/);
  }
});

Deno.test("a review up to an earlier quarter knows nothing of later trials", async () => {
  await withOut(["review", "--quarter", "2025Q4"], async ({ code, stderr, out }) => {
    assert.equal(code, 0, stderr);
    const { coverage, index } = await json(join(out, "review-2025Q4.json"));
    assert.equal(coverage.until, "2025-12-31");
    assert.ok(
      !coverage.metrics.some(({ metric }: { metric: string }) =>
        metric === "forefoot-bending-stiffness"
      ),
    );
    assert.ok(index.length > 0);
  });
});

Deno.test("review --since holds the quarter against the review that was made then, and refuses another file", async () => {
  const before = await runTask("review", "--quarter", "2026Q2");
  assert.equal(before.code, 0, before.stderr);
  const file = join(before.out, "review-2026Q2.json");
  const after = await runTask("review", "--since", file);
  assert.equal(after.code, 0, after.stderr);
  const { changes } = JSON.parse(await Deno.readTextFile(join(after.out, "review-2026Q3.json")));
  assert.equal(changes.since, "2026Q2");
  assert.equal(changes.earlier, "read");
  assert.ok(changes.moves.length > 0);
  for (const { causes } of changes.moves) {
    assert.ok(Math.abs(causes.exclusions_or_kit) < 1e-9, "same files, same kit");
  }
  assert.deepEqual(
    [...Deno.readDirSync(after.out)].filter(({ name }) => name.startsWith(".earlier")),
    [],
  );
  const wrong = await runTask("review", "--since", join(kit, "deno.json"));
  assert.equal(wrong.code, 2);
  assert.match(wrong.stderr, /found no review, expected a review's JSON/);
  for (const { out } of [before, after]) await Deno.remove(out, { recursive: true });
});
