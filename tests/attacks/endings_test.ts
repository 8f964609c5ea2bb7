import assert from "node:assert/strict";
import { join } from "node:path";
import { registerKernel } from "../../lib/notebook/register_kernel.ts";
import { deadScratch } from "../../lib/notebook/scratch_folder.ts";
import { kitDir, withFolders } from "../notebook/with_kernel.ts";
import { familyOf, hasGrown, survivors } from "./processes.ts";

/** The system's temporary folder of one test, so that what is left behind can be seen. */
type Place = { readonly out: string; readonly tmp: string };

async function withPlace(test: (place: Place) => Promise<void>): Promise<void> {
  const dir = Deno.realPathSync(await Deno.makeTempDir({ prefix: "endings-" }));
  const place = { out: join(dir, "out"), tmp: join(dir, "tmp") };
  try {
    for (const folder of Object.values(place)) Deno.mkdirSync(folder);
    await test(place);
  } finally {
    await Deno.remove(dir, { recursive: true });
  }
}

function start(task: readonly string[], { out, tmp }: Place): Deno.ChildProcess {
  return new Deno.Command(Deno.execPath(), {
    args: ["task", "--quiet", ...task, "--out", out],
    cwd: kitDir,
    env: { TMPDIR: tmp, NO_COLOR: "1" },
    stdin: "null",
    stdout: "null",
    stderr: "null",
  }).spawn();
}

const names = (dir: string): readonly string[] =>
  [...Deno.readDirSync(dir)].map(({ name }) => name).sort();

const isKernel = (pid: number): boolean =>
  Deno.readTextFileSync(`/proc/${pid}/cmdline`).includes("--kernel");

const REVIEW = ["review", "--", "--data", join(kitDir, "data-demo")];

// The task, its front, the review and the kernel.
const MEMBERS = 4;

for (
  const [signal, code] of [["SIGTERM", 143], ["SIGINT", 130], ["SIGHUP", 129]] as const
) {
  Deno.test(`${signal} to a review ends all of it within two seconds, with ${code}, and leaves nothing behind`, async () => {
    for (const member of [0, 1]) {
      await withPlace(async (place) => {
        const child = start(REVIEW, place);
        assert.ok(await hasGrown(child.pid, MEMBERS));
        const family = familyOf(child.pid);
        Deno.kill(family[member], signal);
        assert.deepEqual(await survivors(family), []);
        assert.equal((await child.status).code, code);
        assert.deepEqual(names(place.tmp), []);
        assert.deepEqual(names(place.out), []);
      });
    }
  });
}

Deno.test("the kill of any one process of a review ends the others within two seconds", async () => {
  for (const member of [0, 1, 2, 3]) {
    await withPlace(async (place) => {
      const child = start(REVIEW, place);
      assert.ok(await hasGrown(child.pid, MEMBERS));
      while (!familyOf(child.pid).some(isKernel)) await new Promise((r) => setTimeout(r, 50));
      const family = familyOf(child.pid);
      const kernel = family.find(isKernel);
      if (member === 3 && kernel === undefined) throw new Error("no kernel among them");
      Deno.kill(member < 3 ? family[member] : kernel!, "SIGKILL");
      // Without its kernel the review still loads the bench, and says what happened.
      const limitMs = member < 3 ? 2_000 : 60_000;
      assert.deepEqual(await survivors(family, limitMs), [], `process ${member} of ${family}`);
      assert.notEqual((await child.status).code, 0);
      const results = names(place.out).filter((name) => !name.startsWith("."));
      assert.ok(results.every((name) => /incomplete\.ipynb$/.test(name)), String(results));
    });
  }
});

Deno.test("a kernel whose cell never ends doesn't outlive its keeper", async () => {
  const script = `
    import { startKernel } from ${JSON.stringify(`${kitDir}/lib/notebook/kernel.ts`)};
    const kernel = await startKernel(${JSON.stringify({ kitDir })});
    kernel.execute("while (true) {}");
    await new Promise((resolve) => setTimeout(resolve, 500));
    console.log(kernel.pid);
    await new Promise((resolve) => setTimeout(resolve, 60_000));`;
  const keeper = new Deno.Command(Deno.execPath(), {
    args: ["eval", "--quiet", script],
    cwd: kitDir,
    stdout: "piped",
    stderr: "null",
  }).spawn();
  const reader = keeper.stdout.getReader();
  const pid = Number(new TextDecoder().decode((await reader.read()).value));
  keeper.kill("SIGKILL");
  await keeper.status;
  await reader.cancel();
  assert.ok(pid > 0);
  assert.deepEqual(await survivors([pid]), []);
});

Deno.test("when a front end is killed, its launcher, server and kernel are gone within two seconds", async () => {
  await withFolders(async ({ dataDir, outDir, outsideDir }) => {
    const folder = await registerKernel({
      kitDir,
      dataDirs: [dataDir],
      outDir,
      jupyterDir: join(outsideDir, "jupyter"),
      tmpDir: outsideDir,
    });
    const { argv } = JSON.parse(Deno.readTextFileSync(join(folder, "kernel.json")));
    const connection = join(outsideDir, "connection.json");
    const ports = Array.from({ length: 5 }, () => Deno.listen({ hostname: "127.0.0.1", port: 0 }));
    const [shell_port, control_port, iopub_port, stdin_port, hb_port] = ports.map((listener) =>
      (listener.addr as Deno.NetAddr).port
    );
    for (const listener of ports) listener.close();
    Deno.writeTextFileSync(
      connection,
      JSON.stringify({
        ...{ ip: "127.0.0.1", transport: "tcp", key: "k", signature_scheme: "hmac-sha256" },
        ...{ shell_port, control_port, iopub_port, stdin_port, hb_port },
      }),
    );
    const words = argv.map((word: string) => word.replace("{connection_file}", connection));
    const frontEnd = new Deno.Command(Deno.execPath(), {
      args: [
        "eval",
        `await new Deno.Command(${JSON.stringify(words[0])}, {
          args: ${JSON.stringify(words.slice(1))}, stdin: "null", stdout: "null", stderr: "null",
        }).spawn().status;`,
      ],
      stdin: "null",
      stdout: "null",
      stderr: "null",
    }).spawn();
    assert.ok(await hasGrown(frontEnd.pid, 4));
    const family = familyOf(frontEnd.pid);
    frontEnd.kill("SIGKILL");
    await frontEnd.status;
    assert.deepEqual(await survivors(family), []);
    assert.deepEqual(names(outsideDir).filter((name) => name.startsWith("bench-to-court-")), []);
  });
});

Deno.test("a task takes away the scratch folders of killed runs, and leaves those of running ones", async () => {
  await withPlace(async (place) => {
    const killed = start(REVIEW, place);
    assert.ok(await hasGrown(killed.pid, MEMBERS));
    const family = familyOf(killed.pid);
    // The front would do it for a task that is killed alone.
    for (const pid of family.slice(0, 3)) Deno.kill(pid, "SIGKILL");
    assert.deepEqual(await survivors(family), []);
    await killed.status;
    const [left] = names(place.tmp);
    assert.match(left, /^bench-to-court-/);
    // A lock younger than a quarter of a second may be that of a run that begins.
    await new Promise((resolve) => setTimeout(resolve, 300));
    assert.deepEqual(deadScratch(place.tmp), [join(place.tmp, left)]);

    const running = start(REVIEW, place);
    assert.ok(await hasGrown(running.pid, MEMBERS));
    const there = names(place.tmp);
    assert.equal(there.length, 1);
    assert.notEqual(there[0], left);
    const other = start(["inspect", "--", "--data", join(kitDir, "data-demo")], place);
    assert.equal((await other.status).code, 0);
    assert.deepEqual(names(place.tmp), there);
    const all = familyOf(running.pid);
    Deno.kill(running.pid, "SIGTERM");
    assert.deepEqual(await survivors(all), []);
    await running.status;
    assert.deepEqual(names(place.tmp), []);
  });
});
