/**
 * Whole tasks, as a tester calls them: a process each, from the call to the last file; on the demo, and on
 * benches of 800 shoes grown from it.
 */
import { createHash } from "node:crypto";
import { fileURLToPath } from "node:url";
import { writeGrownBench } from "./grown_bench.ts";
import { benchmark } from "./work.ts";

const kit = fileURLToPath(new URL("../..", import.meta.url)).replace(/\/$/, "");

const demo = `${kit}/data-demo`;

/** The folder of a bench of 800 shoes, grown if this process measures the work that wants it. */
async function grown(id: string, quarters: number): Promise<string> {
  // Under `deno bench`, which measures all works, there is no command.
  const [command, asked] = Deno.args;
  if (command === "list" || (command === "measure" && asked !== id)) return "";
  const folder = await Deno.makeTempDir();
  addEventListener("unload", () => Deno.removeSync(folder, { recursive: true }));
  await writeGrownBench(demo, folder, { shoes: 800, quarters });
  return folder;
}

/** Runs a task into a folder of its own; what it wrote, file by file, is hashed. */
function run(data: string, task: string, ...options: readonly string[]): string {
  const out = Deno.makeTempDirSync();
  try {
    const { success, stderr } = new Deno.Command(Deno.execPath(), {
      args: ["task", "--quiet", task, "--", "--data", data, "--out", out, ...options],
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
  run: () => run(demo, ...call),
  agreement: () => ({
    against: "a second run, byte by byte",
    gap: run(demo, ...call) === run(demo, ...call) ? 0 : 1,
    allowed: 0,
  }),
});

/** The same with 800 shoes, where one call is long enough to be measured by itself. */
const large = async (id: string, quarters: number, seconds: number, task: string) => {
  const data = await grown(id, quarters);
  return {
    id,
    title: `deno task ${task} with 800 shoes in ${quarters} quarters`,
    goal: { first: 1000 * seconds, warm: 1000 * seconds },
    calls: 0,
    run: () => run(data, task),
  };
};

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
  await large("K", 8, 8, "publish"),
  await large("L 2", 2, 20, "review"),
  await large("L 8", 8, 25, "review"),
  await large("L 32", 32, 45, "review"),
);
