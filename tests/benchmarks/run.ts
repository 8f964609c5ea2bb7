/**
 * How fast is the kit, piece by piece, and beside R on this machine?
 *
 * `deno task bench [--only A,F] [--json FILE]`. Every work runs in a process of its own, so that its first
 * call is a first call; R does the same on the same inputs where `Rscript` is installed. The table goes
 * to the terminal, all figures into a JSON file for a comparison of two commits:
 * `deno task bench --json before.json`, later `deno task bench --against before.json`.
 */
import { parseArgs } from "node:util";
import { type Measured, milliseconds } from "./work.ts";

const { values: options } = parseArgs({
  args: Deno.args,
  options: {
    only: { type: "string" },
    json: { type: "string", default: "out/bench.json" },
    against: { type: "string" },
    help: { type: "boolean", default: false },
  },
});

if (options.help) {
  console.log(`deno task bench [options]
  --only IDS      works to run, such as A,F
  --json FILE     where all figures go; default out/bench.json
  --against FILE  an earlier run's figures to compare with`);
} else Deno.exit(await run());

async function run(): Promise<number> {
  const only = options.only?.split(",");
  const measured: Measured[] = [];
  const files = [...Deno.readDirSync(new URL(".", import.meta.url))]
    .map(({ name }) => name).filter((name) => name.endsWith(".bench.ts")).sort();
  for (const file of files) {
    const text = Deno.readTextFileSync(new URL(file, import.meta.url));
    if (!text.includes('from "./work.ts"')) continue; // a plain benchmark, for deno bench
    const ids = JSON.parse(await output(file, "list")) as string[];
    for (const id of ids) {
      if (only !== undefined && !only.includes(id) && !only.includes(id.split(" ")[0])) continue;
      console.error(`${id} …`);
      const lines = (await output(file, "measure", id)).trim().split("\n");
      measured.push(JSON.parse(lines.at(-1)!));
    }
  }
  measured.sort((a, b) => a.id < b.id ? -1 : a.id > b.id ? 1 : 0);
  const before = options.against === undefined
    ? null
    : (JSON.parse(Deno.readTextFileSync(options.against)).works as Measured[]);
  console.log(summary(measured, before));
  const folder = options.json.replace(/[^/]*$/, "");
  if (folder !== "") Deno.mkdirSync(folder, { recursive: true });
  const about = { deno: Deno.version.deno, v8: Deno.version.v8, commit: await commit() };
  Deno.writeTextFileSync(
    options.json,
    JSON.stringify({ ...about, works: measured }, null, 1) + "\n",
  );
  console.log(`\nAll figures are in ${options.json}.`);
  const apart = measured.filter(({ agreement }) => agreement.some((one) => one.gap > one.allowed));
  if (apart.length > 0) {
    console.error(`Answers do not agree: ${apart.map(({ id }) => id).join(", ")}`);
    return 1;
  }
  return 0;
}

async function output(file: string, ...args: string[]): Promise<string> {
  const { success, stdout, stderr } = await new Deno.Command(Deno.execPath(), {
    args: [
      "run",
      "--no-check",
      "--quiet",
      "--allow-all", // a process may not look at its own memory in /proc with less
      decodeURIComponent(new URL(file, import.meta.url).pathname),
      ...args,
    ],
    stdout: "piped",
    stderr: "piped",
  }).output();
  const text = new TextDecoder();
  if (!success) throw new Error(`${file} ${args.join(" ")}: ${text.decode(stderr)}`);
  return text.decode(stdout);
}

async function commit(): Promise<string | null> {
  try {
    const { success, stdout } = await new Deno.Command("git", {
      args: ["rev-parse", "HEAD"],
      stdout: "piped",
      stderr: "null",
    }).output();
    return success ? new TextDecoder().decode(stdout).trim() : null;
  } catch {
    return null;
  }
}

/** One line a work: what it took here, in R, and whether the answers agree. */
function summary(measured: readonly Measured[], before: readonly Measured[] | null): string {
  const head = [
    "",
    "work",
    "first call",
    "warm",
    "goal",
    "memory",
    "R natural",
    "R tuned",
    "R / warm",
  ];
  const rows = measured.map((work) => {
    const r = (timed: Measured["r_natural"]) =>
      timed === null ? "–" : `${milliseconds(timed.ms)}${timed.share === 1 ? "" : "*"}`;
    const fastest = Math.min(work.r_natural?.ms ?? Infinity, work.r_tuned?.ms ?? Infinity);
    const then = before?.find(({ id }) => id === work.id);
    return [
      work.id,
      work.title,
      milliseconds(work.first_ms),
      milliseconds(work.warm_ms),
      work.goal === null
        ? "–"
        : `${milliseconds(work.goal.first)} / ${milliseconds(work.goal.warm)} ${
          isMet(work) ? "met" : "MISSED"
        }`,
      work.peak_mib === null
        ? "–"
        : `${work.peak_mib.toFixed(0)} MiB${work.goal_mib === null ? "" : ` of ${work.goal_mib}`}`,
      r(work.r_natural),
      r(work.r_tuned),
      fastest === Infinity ? "–" : ratio(fastest / work.warm_ms),
      work.agreement.length === 0
        ? "–"
        : work.agreement.map(({ gap, allowed }) =>
          `${gap <= allowed ? "" : "APART "}${gap.toPrecision(1)}`
        ).join(", "),
      ...(before === null ? [] : [then === undefined ? "new" : ratio(then.warm_ms / work.warm_ms)]),
    ];
  });
  const names = [...head, "answers apart", ...(before === null ? [] : ["times as fast"])];
  const table = [names, ...rows];
  const widths = names.map((_, i) => Math.max(...table.map((row) => row[i].length)));
  const lines = table.map((row) =>
    row.map((cell, i) => cell.padEnd(widths[i])).join("  ").trimEnd()
  );
  return [
    ...lines,
    "",
    "R / warm: the faster form in R over a later call here. * from a part of the work, scaled up.",
    "Answers apart: the largest distance from the plain definition, then from R.",
  ].join("\n");
}

function isMet({ goal, first_ms, warm_ms, goal_mib, peak_mib }: Measured): boolean {
  return goal !== null && first_ms <= goal.first && warm_ms <= goal.warm &&
    (goal_mib === null || peak_mib === null || peak_mib <= goal_mib);
}

function ratio(times: number): string {
  return times >= 100 ? times.toFixed(0) : times.toPrecision(2);
}
