/** Whole tasks on the demo, as a tester calls them: a process each, from the call to the last file. */
import { createHash } from "node:crypto";
import { fileURLToPath } from "node:url";
import { benchmark } from "./work.ts";

const kit = fileURLToPath(new URL("../..", import.meta.url)).replace(/\/$/, "");

/** Runs a task into a folder of its own; what it wrote, file by file, is hashed. */
function run(task: string, ...options: readonly string[]): string {
  const out = Deno.makeTempDirSync();
  try {
    const { success, stderr } = new Deno.Command(Deno.execPath(), {
      args: ["task", "--quiet", task, "--", "--data", `${kit}/data-demo`, "--out", out, ...options],
      cwd: kit,
      env: { INIT_CWD: kit },
      stdout: "null",
      stderr: "piped",
    }).outputSync();
    if (!success) throw new Error(new TextDecoder().decode(stderr));
    const files = [...Deno.readDirSync(out)].filter(({ name }) => name.endsWith(".json"))
      .map(({ name }) => name).sort();
    const hash = createHash("sha256");
    for (const name of files) hash.update(name).update(Deno.readFileSync(`${out}/${name}`));
    return hash.digest("hex");
  } finally {
    Deno.removeSync(out, { recursive: true });
  }
}

const work = (id: string, title: string, warm: number, ...call: [string, ...string[]]) => ({
  id,
  title,
  goal: { first: warm, warm },
  calls: 4,
  run: () => run(...call),
  agreement: () => ({
    against: "a second run, byte by byte",
    gap: run(...call) === run(...call) ? 0 : 1,
    allowed: 0,
  }),
});

await benchmark(
  import.meta.main,
  work("H", "deno task review on the demo", 4000, "review"),
  work(
    "I",
    "deno task answer on the demo, one metric of all shoes",
    700,
    "answer",
    "--kind",
    "catalogue",
    "--metrics",
    "tilt-slip-dry",
  ),
  work("J", "deno task publish on the demo", 2000, "publish"),
);
