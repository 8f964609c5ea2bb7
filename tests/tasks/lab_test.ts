import assert from "node:assert/strict";
import { join } from "node:path";
import { kit } from "./run_task.ts";

type LabRun = { readonly code: number; readonly stdout: string; readonly stderr: string };

/** Runs `deno task lab` as somebody whose programs lie in one folder and whose Jupyter data in another. */
async function withLab(
  test: (place: string, lab: (...words: string[]) => Promise<LabRun>) => Promise<void>,
): Promise<void> {
  const place = Deno.realPathSync(await Deno.makeTempDir({ prefix: "lab-" }));
  await Deno.mkdir(join(place, "bin"));
  const lab = async (...words: string[]) => {
    const { code, stdout, stderr } = await new Deno.Command(Deno.execPath(), {
      args: ["task", "--quiet", "lab", "--", "--out", join(place, "out"), ...words],
      cwd: kit,
      env: { NO_COLOR: "1", PATH: join(place, "bin"), JUPYTER_DATA_DIR: join(place, "jupyter") },
    }).output();
    const text = (bytes: Uint8Array) => new TextDecoder().decode(bytes);
    return { code, stdout: text(stdout), stderr: text(stderr) };
  };
  try {
    await test(place, lab);
  } finally {
    await Deno.remove(place, { recursive: true });
  }
}

Deno.test("deno task lab registers a kernel for one bench and one out folder, and says how to get Jupyter where it is not", async () => {
  await withLab(async (place, lab) => {
    const { code, stdout, stderr } = await lab();
    assert.equal(code, 0, stderr);
    const file = join(place, "jupyter", "kernels", "bench-to-court", "kernel.json");
    const { argv, display_name } = JSON.parse(await Deno.readTextFile(file));
    assert.equal(display_name, "Bench to Court");
    assert.ok(argv.includes(`--data=${join(kit, "data-demo")}`));
    assert.ok(argv.includes(`--out=${join(place, "out")}`));
    assert.match(stdout, /Jupyter is not installed here.*pip install jupyterlab/s);
    assert.match(stdout, /VS Code.*"Bench to Court"/s);
    assert.deepEqual([...Deno.readDirSync(join(place, "out"))], []);
  });
});

Deno.test("deno task lab starts the front end it finds in the notebooks' folder, and not with --register-only", async () => {
  await withLab(async (place, lab) => {
    const program = join(place, "bin", "jupyter-notebook");
    await Deno.writeTextFile(program, `#!/bin/sh\necho "started in $PWD"\n`, { mode: 0o755 });
    const opened = await lab();
    assert.equal(opened.code, 0, opened.stderr);
    assert.ok(opened.stdout.includes(`started in ${join(kit, "notebooks")}`), opened.stdout);
    const registered = await lab("--register-only");
    assert.equal(registered.code, 0);
    assert.doesNotMatch(registered.stdout, /started in|not installed/);
  });
});

Deno.test("deno task lab --help says what cells may read and write, with an example", async () => {
  await withLab(async (_place, lab) => {
    const { code, stdout } = await lab("--help");
    assert.equal(code, 0);
    assert.match(stdout, /cells may read besides the kit/);
    assert.match(stdout, /only folder that cells may write/);
    assert.match(stdout, /Example: deno task lab/);
    assert.doesNotMatch(stdout, /--seed/);
  });
});
