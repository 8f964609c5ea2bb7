import assert from "node:assert/strict";
import { join } from "node:path";
import { inspectBench } from "../../lib/records/inspect_bench.ts";
import type { Problem } from "../../lib/records/types.ts";
import { benchFolder, small } from "../records/bench_folder.ts";
import { copyBench, kit, runTask } from "../tasks/run_task.ts";

const errorsOf = async (dir: string): Promise<readonly Problem[]> =>
  (await inspectBench(dir)).problems.filter(({ severity }) => severity === "error");

/** A file outside every bench, with words that nobody should get to see. */
async function privateFile(): Promise<AsyncDisposable & { readonly path: string }> {
  const dir = await Deno.makeTempDir({ prefix: "private-" });
  const path = join(dir, "secret.json");
  await Deno.writeTextFile(path, '[{"id":"s","title":"UNDISCLOSED"}]\nUNDISCLOSED,2\n');
  return { path, [Symbol.asyncDispose]: () => Deno.remove(dir, { recursive: true }) };
}

Deno.test("a link out of the bench is refused with its file named, and shows nothing of what it leads to", async () => {
  await using secret = await privateFile();
  for (
    const file of ["bench.json", "metrics.json", "shoes.csv", "testers.csv", "rules/index-1.json"]
  ) {
    await using bench = await benchFolder({ [file]: null });
    await Deno.mkdir(join(bench.dir, "rules"), { recursive: true });
    await Deno.symlink(secret.path, join(bench.dir, file));
    const { problems } = await inspectBench(bench.dir);
    const own = problems.filter((problem) => problem.file === file);
    assert.equal(own[0]?.found, "a link that leads out of the bench folder", file);
    assert.equal(own[0]?.severity, "error");
    assert.ok(!JSON.stringify(problems).includes("UNDISCLOSED"), file);
  }
});

Deno.test("a whole folder of rules that is a link out of the bench is refused, a link within it is read", async () => {
  await using elsewhere = await benchFolder();
  await using bench = await benchFolder({ "rules/index-1.json": null });
  await Deno.symlink(join(elsewhere.dir, "rules"), join(bench.dir, "rules"));
  assert.deepEqual(
    (await errorsOf(bench.dir)).filter(({ file }) => file.startsWith("rules/")).map((p) => p.found),
    ["a link that leads out of the bench folder"],
  );
  await using within = await benchFolder({ "testers.csv": null });
  await Deno.writeTextFile(join(within.dir, "players.csv"), small["testers.csv"]);
  await Deno.symlink("players.csv", join(within.dir, "testers.csv"));
  assert.deepEqual(await errorsOf(within.dir), []);
});

Deno.test("what is no file is called what it is: a folder, a pipe, a device, a link to nothing", async () => {
  const kinds: Record<string, (path: string) => Promise<unknown>> = {
    "a folder of that name": (path) => Deno.mkdir(path),
    "a pipe": (path) => new Deno.Command("mkfifo", { args: [path] }).output(),
    "a link to nothing": (path) => Deno.symlink("nowhere.csv", path),
  };
  for (const [found, make] of Object.entries(kinds)) {
    for (const file of ["trials.csv", "testers.csv", "metrics.json"]) {
      await using bench = await benchFolder({ [file]: null });
      await make(join(bench.dir, file));
      const own = (await errorsOf(bench.dir)).filter((problem) => problem.file === file);
      assert.deepEqual(own.map((problem) => problem.found), [found], file);
    }
  }
});

Deno.test("an out folder whose figures are a link elsewhere is refused, and nothing there is touched", async () => {
  await using elsewhere = await benchFolder();
  await using out = await benchFolder();
  const before = [...Deno.readDirSync(elsewhere.dir)].map(({ name }) => name).sort();
  await Deno.symlink(elsewhere.dir, join(out.dir, "figures"));
  const run = await runTask("retest", "--slots", "2", "--out", out.dir);
  assert.equal(run.code, 2);
  assert.match(
    run.stderr,
    /figures is a link to somewhere else, where this would write and delete/,
  );
  assert.deepEqual([...Deno.readDirSync(elsewhere.dir)].map(({ name }) => name).sort(), before);
});

Deno.test("a lock file that is a link makes no file elsewhere", async () => {
  await using elsewhere = await benchFolder();
  await using out = await benchFolder();
  await Deno.symlink(join(elsewhere.dir, "made.txt"), join(out.dir, ".write-lock"));
  const { folderLock } = await import("../../lib/records/folder_lock.ts");
  await using _lock = await folderLock(out.dir, ".write-lock");
  assert.throws(() => Deno.statSync(join(elsewhere.dir, "made.txt")), Deno.errors.NotFound);
});

Deno.test("control characters in names are a warning with its line, and are read as a sign that does nothing", async () => {
  const name = "Al\u001b]0;x\u0007der\u202exe";
  await using bench = await benchFolder({
    "shoes.csv": `shoe_id,maker,model\nalder,Tarnwick,${name}\nbirch,"Tarn\nwick",Birch\n`,
    "bench.json": { ...small["bench.json"], name: "Small\u001b[2J bench" },
  });
  const { problems } = await inspectBench(bench.dir);
  const own = problems.filter(({ found }) => found.startsWith("control characters"));
  assert.deepEqual(
    own.map(({ file, line, column, severity, found }) => ({ file, line, column, severity, found })),
    [
      {
        file: "bench.json",
        line: 2,
        column: "name",
        severity: "warning",
        found: "control characters (U+001B)",
      },
      {
        file: "shoes.csv",
        line: 2,
        column: "model",
        severity: "warning",
        found: "control characters (U+001B, U+0007, U+202E)",
      },
    ],
  );
  const { loadBench } = await import("../../lib/records/load_bench.ts");
  const { settings, shoes } = await loadBench(bench.dir);
  assert.equal(settings.name, "Small\ufffd[2J bench");
  assert.deepEqual(shoes.map(({ model }) => model), ["Al\ufffd]0;x\ufffdder\ufffdxe", "Birch"]);
  assert.equal(shoes[1].maker, "Tarn wick");
});

Deno.test("no escape sequence of a bench reaches the terminal or the words of an answer", async () => {
  const name = "Al\u001b]0;x\u0007der\u202e\u009b2J";
  await using bench = await benchFolder({
    "shoes.csv": `shoe_id,maker,model\nalder,"${name}\n# heading",${name}\nbirch,${name},B\n`,
    "rules/\u001b[2J.json": "{",
    "trials.csv": "session_id,shoe_id,metric_id,trial,value,unit\n" +
      ["alder", "birch"].flatMap((shoe, s) =>
        [1, 2, 3, 4].map((trial) => `s1,${shoe},mass,${trial},${300 + 10 * s + trial},g\n`)
      ).join(""),
  });
  // deno-lint-ignore no-control-regex -- what must not be there
  const control = /[\u0000-\u0008\u000b-\u001f\u007f-\u009f\u202a-\u202e]/;
  const inspected = await runTask("inspect", "--data", bench.dir);
  assert.equal(inspected.code, 1);
  assert.match(inspected.stdout, /rules\/�\[2J\.json/);
  assert.ok(!control.test(inspected.stdout + inspected.stderr));
  await Deno.remove(join(bench.dir, "rules/\u001b[2J.json"));
  const answered = await runTask(
    ...["answer", "--data", bench.dir, "--shoes", "alder,birch", "--metrics", "mass"],
  );
  assert.equal(answered.code, 0, answered.stderr);
  const words = [...Deno.readDirSync(answered.out)].filter((e) => e.name.endsWith(".md"))
    .map((e) => Deno.readTextFileSync(join(answered.out, e.name))).join("");
  assert.ok(words.length > 200);
  assert.ok(!control.test(answered.stdout + answered.stderr + words));
  assert.ok(!/^# heading/m.test(words), words);
});

Deno.test("a key that stands twice in one object is an error with both its line and its name", async () => {
  await using bench = await benchFolder({
    "bench.json": JSON.stringify(small["bench.json"], null, 2)
      .replace('"invented": true,', '"invented": true,\n  "\\u0069nvented": false,'),
  });
  const [problem, ...others] = await errorsOf(bench.dir);
  assert.deepEqual(others, []);
  assert.equal(problem.line, 5);
  assert.equal(problem.found, 'the key "\\u0069nvented" again');
  await using good = await benchFolder({
    "bench.json": { ...small["bench.json"], about: 'a "name": {"name": 1, "name": 2}' },
  });
  assert.deepEqual(await errorsOf(good.dir), []);
});

Deno.test("a name or title of more than 500 characters is an error, a note of that length is not", async () => {
  const long = "x".repeat(501);
  await using bench = await benchFolder({
    "shoes.csv": `shoe_id,maker,model,edition,note\nalder,${long},Alder,${long},${long}\n` +
      `birch,Tarnwick,Birch,,\n`,
    "metrics.json": small["metrics.json"].map((metric, i) =>
      i === 0 ? { ...metric, title: long } : metric
    ),
    "bench.json": { ...small["bench.json"], name: long },
  });
  assert.deepEqual(
    (await errorsOf(bench.dir)).map(({ file, column, expected }) => [file, column, expected]),
    [
      ["bench.json", "name", "at most 500 characters"],
      ["metrics.json", "heel-rebound-height.title", "at most 500 characters"],
      ["shoes.csv", "maker", "at most 500 characters"],
      ["shoes.csv", "edition", "at most 500 characters"],
    ],
  );
});

Deno.test("JSON nested 100,000 deep and a table or JSON file of 2 GB are refused in words, at once", async () => {
  await using deep = await benchFolder({
    "bench.json": "[".repeat(100_000) + "]".repeat(100_000),
    "metrics.json": '{"a":'.repeat(100_000),
  });
  const found = (await errorsOf(deep.dir)).map((problem) => [problem.file, problem.found]);
  assert.ok(found.some(([file, words]) => file === "bench.json" && words === "a deeper level"));
  assert.ok(found.some(([file, words]) => file === "metrics.json" && words.length < 300));
  await using huge = await benchFolder();
  for (const file of ["trials.csv", "metrics.json"]) {
    const path = join(huge.dir, file);
    await Deno.truncate(path, 2e9); // takes no room on the disk: a hole
    const own = (await errorsOf(huge.dir)).filter((problem) => problem.file === file);
    assert.equal(own[0].found, "a file of 2,000 MB");
  }
});

Deno.test("a comma in a path is refused in words, with the path, whichever option or folder it is in", async () => {
  await using bench = await benchFolder();
  const comma = join(bench.dir, "Results, 2026");
  await Deno.mkdir(comma);
  for (
    const words of [
      ["inspect", "--data", bench.dir, "--out", comma],
      ["inspect", "--data", comma],
      ["start", "--into", comma],
      ["import", "--from", join(comma, "sheet.csv"), "--out", bench.dir],
    ]
  ) {
    const { code, stderr } = await runTask(...words);
    assert.equal(code, 2, words.join(" "));
    assert.match(
      stderr,
      /Results, 2026.* has a comma in its name/,
    );
    assert.ok(!stderr.includes("    at "), stderr);
  }
});

Deno.test("a device as a table is called a device, and a sheet that is a pipe or a folder what it is", async () => {
  await using bench = await benchFolder({ "trials.csv": null });
  const { success } = await new Deno.Command("mknod", {
    args: [join(bench.dir, "trials.csv"), "c", "1", "5"],
    stderr: "null",
  }).output();
  if (success) {
    const own = (await errorsOf(bench.dir)).filter(({ file }) => file === "trials.csv");
    assert.deepEqual(own.map(({ found }) => found), ["a device"]);
  }
  const pipe = join(bench.dir, "sheet.csv");
  await new Deno.Command("mkfifo", { args: [pipe] }).output();
  const { importWorkbook } = await import("../../lib/records/import_workbook.ts");
  await assert.rejects(importWorkbook(pipe), /sheet\.csv: found a pipe, expected a file/);
  await assert.rejects(importWorkbook(bench.dir), /found a folder/);
});

Deno.test("names that every object has are ids like others, in every table and for every task", async () => {
  const dir = await copyBench(join(kit, "data-demo"));
  const renamed: Record<string, readonly (readonly [RegExp, string])[]> = {
    csv: [
      [/tolmeck-brindlet-1/g, "constructor"],
      [/operator-1/g, "__proto__"],
      [/bench-a/g, "toString"],
      [/^t1,/gm, "constructor,"],
      [/,t1,/g, ",constructor,"],
      [/,mass,/g, ",constructor,"],
      [/,grip,/g, ",constructor,"],
      [/,heel-clip,/g, ",constructor,"],
    ],
    json: [
      [/"group": "mass"/g, '"group": "fit"'],
      [/"(mass|grip|heel-clip|tolmeck-brindlet-1)"/g, '"constructor"'],
    ],
  };
  for (const folder of ["", "rules", "proposals"]) {
    for (const { name, isFile } of Deno.readDirSync(join(dir, folder))) {
      if (!isFile || name === "truth.json") continue;
      const path = join(dir, folder, name);
      const pairs = renamed[name.split(".").at(-1)!] ?? [];
      const text = pairs.reduce(
        (text, [from, to]) => text.replace(from, to),
        Deno.readTextFileSync(path),
      );
      Deno.writeTextFileSync(path, text);
    }
  }
  for (
    const call of [
      ["inspect"],
      ["publish"],
      ["answer", "--shoes", "constructor,quenbar-morrune-1"],
      ["answer", "--kind", "catalogue", "--metrics", "constructor"],
      ["retest", "--sheet", "--cards", "constructor", "--minutes", "90", "--minutes-each", "9"],
    ]
  ) {
    const { code, stderr, stdout, out } = await runTask(...call, "--data", dir);
    assert.equal(code, 0, `${call}: ${stderr}`);
    const texts = [...Deno.readDirSync(out)].filter(({ name }) => /\.(csv|md|json)$/.test(name))
      .map(({ name }) => Deno.readTextFileSync(join(out, name)));
    assert.ok(!/native code|\[object/.test(texts.join("") + stdout), String(call));
    await Deno.remove(out, { recursive: true });
  }
  await Deno.remove(dir, { recursive: true });
});
