import assert from "node:assert/strict";
import { join } from "node:path";
import { copyBench, kit, runTask } from "./run_task.ts";

const demo = join(kit, "data-demo");
const json = async (path: string) => JSON.parse(await Deno.readTextFile(path));

async function withFolders(test: (made: (path: string) => string) => Promise<void>): Promise<void> {
  const folders: string[] = [];
  try {
    await test((path) => (folders.push(path), path));
  } finally {
    for (const folder of folders) await Deno.remove(folder, { recursive: true }).catch(() => {});
  }
}

/** A copy of the demo with one of its JSON files changed. */
async function spoilt(
  file: string,
  // deno-lint-ignore no-explicit-any -- a file on its way to being wrong has no type
  change: (content: any) => void,
): Promise<string> {
  const dir = await copyBench(demo);
  const content = await json(join(dir, file));
  change(content);
  await Deno.writeTextFile(join(dir, file), JSON.stringify(content, null, 2));
  return dir;
}

Deno.test("deno task proposal judges the demo's good proposal, twice with the same bytes", async () => {
  await withFolders(async (made) => {
    const first = await runTask("proposal", "--proposal", "weigh-what-players-feel");
    made(first.out);
    assert.equal(first.code, 0, first.stderr);
    const names = [...Deno.readDirSync(first.out)].map(({ name }) => name).sort();
    const stem = "proposal-weigh-what-players-feel";
    assert.deepEqual(names, ["figures", `${stem}.html`, `${stem}.ipynb`, `${stem}.json`]);
    const result = await json(join(first.out, `${stem}.json`));
    assert.equal(result.verdict, "adopt");
    assert.equal(result.proposal_file.file, "proposals/weigh-what-players-feel.json");
    assert.equal(result.proposal_file.sha256, result.data[result.proposal_file.file]);
    const page = await Deno.readTextFile(join(first.out, `${stem}.html`));
    assert.match(
      page.replace(/<[^>]*>/g, ""),
      /The gain stands on \d+ shoes of \d+ lines and \d+ makers/,
    );
    assert.match(page, /Invented data/);

    const before = await Deno.readFile(join(first.out, `${stem}.json`));
    const path = join(demo, "proposals", "weigh-what-players-feel.json");
    const again = await runTask("proposal", "--proposal", path, "--out", first.out);
    assert.equal(again.code, 0, again.stderr);
    assert.deepEqual(await Deno.readFile(join(first.out, `${stem}.json`)), before);
  });
});

Deno.test("deno task recalibrate writes a draft that deno task proposal can judge", async () => {
  await withFolders(async (made) => {
    const { code, stderr, stdout, out } = await runTask("recalibrate");
    made(out);
    assert.equal(code, 0, stderr);
    assert.match(stdout, /recalibration-speed-index-2\.html/);
    const result = await json(join(out, "recalibration-speed-index-2.json"));
    for (
      const key of ["advice", "weights", "fits", "link", "shoes_needed", "shoes_needed_reason"]
    ) assert.ok(key in result, key);
    const [draft] = [...Deno.readDirSync(join(out, "proposals"))];
    assert.ok(stdout.includes(draft.name));
    const judged = await runTask("proposal", "--proposal", join(out, "proposals", draft.name));
    made(judged.out);
    assert.equal(judged.code, 0, judged.stderr);
    const [file] = [...Deno.readDirSync(judged.out)].filter(({ name }) =>
      /^proposal-recalibrated-.*-29\.json$/.test(name)
    );
    assert.match((await json(join(judged.out, file.name))).gain_basis, /gives them no credit/);
  });
});

Deno.test("a proposal that is not there, or none named, is a wrong call with the names there are", async () => {
  await withFolders(async (made) => {
    const unknown = await runTask("proposal", "--proposal", "weigh-what-player-feel");
    made(unknown.out);
    assert.equal(unknown.code, 2);
    assert.match(unknown.stderr, /Did you mean weigh-what-players-feel\?/);
    const none = await runTask("proposal");
    made(none.out);
    assert.equal(none.code, 2);
    assert.match(none.stderr, /--proposal: an id or a path.*reward-the-toe-guard/);
  });
});

Deno.test("a rule that can't be right is an error that says where and what to write", async () => {
  const rule = "rules/speed-index-2.json";
  const cases = [
    [(r) => r.terms[0].metric = "heel-rebond", /terms\[0\]\.metric.*heel-rebond.*heel-rebound/],
    [(r) => r.bonuses[0].feature = "heel-clap", /bonuses\[0\]\.feature.*heel-clap.*heel-clip/],
    [(r) => r.terms[1].weight = -0.1, /terms\[1\]\.weight.*-0\.1.*at least 0/],
    // deno-lint-ignore no-explicit-any -- see above
    [(r) => r.terms.forEach((term: any) => term.weight = 0), /at least one weight above 0/],
    [(r) => r.terms[0].scaling.high = 25, /scaling\.high.*other than the low/],
    [(r) => r.target_attribute = "sped", /target_attribute.*sped.*speed/],
    // deno-lint-ignore no-explicit-any -- see above
  ] as readonly (readonly [(rule: any) => void, RegExp])[];
  await withFolders(async (made) => {
    for (const [change, words] of cases) {
      const dir = made(await spoilt(rule, change));
      const { code, stderr, out } = await runTask("recalibrate", "--data", dir);
      made(out);
      assert.equal(code, 1, stderr);
      assert.match(stderr, words);
      assert.match(stderr, /speed-index-2\.json line \d+/);
    }
  });
});

Deno.test("a proposal against no version, or without criteria, is an error at its place", async () => {
  const file = "proposals/reward-the-toe-guard.json";
  await withFolders(async (made) => {
    const against = made(await spoilt(file, (p) => p.against = "9"));
    const first = await runTask(
      "proposal",
      "--data",
      against,
      "--proposal",
      "reward-the-toe-guard",
    );
    made(first.out);
    assert.equal(first.code, 1);
    assert.match(first.stderr, /reward-the-toe-guard\.json line \d+, at "against".*"9".*1, 2/);

    const without = made(await spoilt(file, (p) => delete p.criteria.min_gain));
    // As a file of its own, with a bench that is right.
    const second = await runTask("proposal", "--proposal", join(without, file));
    made(second.out);
    assert.equal(second.code, 1);
    assert.match(second.stderr, /reward-the-toe-guard\.json line \d+, at "criteria\.min_gain"/);
  });
});

Deno.test("ratings or readings that are all missing are an error that says what to do", async () => {
  await withFolders(async (made) => {
    const dir = made(await copyBench(demo));
    const drop = async (file: string, keep: (line: string) => boolean) => {
      const [header, ...lines] = (await Deno.readTextFile(join(dir, file))).trim().split("\n");
      await Deno.writeTextFile(join(dir, file), [header, ...lines.filter(keep), ""].join("\n"));
    };
    await drop("impressions.csv", (line) => !line.includes(",speed,"));
    await drop("trials.csv", (line) => !line.includes(",mass,"));
    for (const words of [["recalibrate"], ["proposal", "--proposal", "weigh-what-players-feel"]]) {
      const { code, stderr, out } = await runTask(...words, "--data", dir);
      made(out);
      assert.equal(code, 1);
      assert.match(stderr, /"speed", which nobody has rated.*Rate speed on court/);
      assert.match(stderr, /no shoe that has a value for every term.*No trial of mass counts yet/);
    }
  });
});

Deno.test("deno task proposal runs on a folder where half the shoes lack a metric", async () => {
  await withFolders(async (made) => {
    const dir = made(await copyBench(demo));
    const path = join(dir, "trials.csv");
    const [header, ...lines] = (await Deno.readTextFile(path)).trim().split("\n");
    const shoes = (await Deno.readTextFile(join(dir, "shoes.csv"))).trim().split("\n").slice(1)
      .map((line) => line.split(",")[0]);
    const half = new Set(shoes.filter((_, index) => index % 2 === 0));
    const kept = lines.filter((line) => {
      const [, shoe, metric] = line.split(",");
      return metric !== "tilt-slip-dry" || !half.has(shoe);
    });
    assert.ok(kept.length < lines.length);
    await Deno.writeTextFile(path, [header, ...kept, ""].join("\n"));
    for (const words of [["recalibrate"], ["proposal", "--proposal", "weigh-what-players-feel"]]) {
      const { code, stderr, out } = await runTask(...words, "--data", dir);
      made(out);
      assert.equal(code, 0, stderr);
    }
  });
});
