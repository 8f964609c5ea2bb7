/**
 * How do time and memory of a review grow with shoes and quarters?
 *
 * `deno run -A tests/benchmarks/growth.ts [--shoes 50,200,800] [--quarters 2,8,32] [--out FOLDER]`. Grows a
 * bench from the demo for every size, runs `deno task review` on it as a user would, and takes the wall
 * time, the processor time, which others on the machine move less, and the most memory that all its processes
 * held together (resident); these two are read from /proc, memory ten times a second, so on Linux only. The
 * table goes to the terminal; growth.json and growth.png into the folder.
 */
import { parseArgs } from "node:util";
import { fileURLToPath } from "node:url";
import * as Plot from "@observablehq/plot";
import { chartPng } from "../../lib/charts/chart_png.ts";
import { draw, type SvgElement } from "../../lib/charts/draw.ts";
import { stackCharts } from "../../lib/charts/stack_charts.ts";
import { colour, seriesColours, seriesSymbols, type as text } from "../../lib/charts/theme.ts";
import { writeGrownBench } from "./grown_bench.ts";

const kit = fileURLToPath(new URL("../..", import.meta.url)).replace(/\/$/, "");

/** Pixels between the axes' ends. */
const PLOT_HEIGHT = 200;

type Grown = {
  readonly shoes: number;
  readonly quarters: number;
  readonly trials: number;
  readonly seconds: number;
  readonly processor_seconds: number | null;
  readonly peak_mib: number | null;
};

/** Reviews one grown bench and says what that took. */
export async function measureGrowth(
  { shoes, quarters }: { readonly shoes: number; readonly quarters: number },
): Promise<Grown> {
  const dir = await Deno.makeTempDir();
  try {
    await writeGrownBench(`${kit}/data-demo`, `${dir}/bench`, { shoes, quarters });
    const lines = (await Deno.readTextFile(`${dir}/bench/trials.csv`)).trim().split("\n");
    const start = performance.now();
    const spent = spentByChildren();
    const process = new Deno.Command(Deno.execPath(), {
      args: ["task", "review", "--data", `${dir}/bench`, "--out", `${dir}/out`],
      cwd: kit,
      // A task takes relative paths from where it was called; these are whole.
      env: { INIT_CWD: kit },
      stdout: "null",
      stderr: "piped",
    }).spawn();
    let peak: number | null = null;
    const watch = setInterval(() => {
      const held = heldBy(process.pid);
      if (held !== null) peak = Math.max(peak ?? 0, held);
    }, 100);
    const { success, stderr } = await process.output();
    clearInterval(watch);
    const seconds = (performance.now() - start) / 1000;
    if (!success) throw new Error(new TextDecoder().decode(stderr));
    const after = spentByChildren();
    const processor_seconds = spent === null || after === null ? null : after - spent;
    const trials = lines.length - 1;
    return { shoes, quarters, trials, seconds, processor_seconds, peak_mib: peak };
  } finally {
    await Deno.remove(dir, { recursive: true });
  }
}

/** Processor seconds of all that this process has started and that has ended; null where the system does not tell. */
function spentByChildren(): number | null {
  try {
    // After the name, which may hold anything: fields 16 and 17 of proc(5), in hundredths.
    const fields = Deno.readTextFileSync("/proc/self/stat").replace(/^.*\) /, "").split(" ");
    return (Number(fields[13]) + Number(fields[14])) / 100;
  } catch {
    return null;
  }
}

/** MiB that a process and all it started hold; null where the system does not tell. */
function heldBy(root: number): number | null {
  const parents = new Map<number, number>();
  const held = new Map<number, number>();
  try {
    for (const { name } of Deno.readDirSync("/proc")) {
      const id = Number(name);
      if (!Number.isInteger(id)) continue;
      try {
        const status = Deno.readTextFileSync(`/proc/${name}/status`);
        parents.set(id, Number(/^PPid:\s*(\d+)/m.exec(status)?.[1]));
        held.set(id, Number(/^VmRSS:\s*(\d+)/m.exec(status)?.[1] ?? 0) / 1024);
      } catch { /* it has ended meanwhile */ }
    }
  } catch {
    return null;
  }
  const belongs = (id: number): boolean => {
    for (let at: number | undefined = id; at; at = parents.get(at)) if (at === root) return true;
    return false;
  };
  return [...held].reduce((sum, [id, size]) => belongs(id) ? sum + size : sum, 0);
}

/** Time and memory against the number of shoes, a line for each number of quarters. */
export function growthChart(grown: readonly Grown[]): SvgElement {
  const panel = (of: "seconds" | "processor_seconds" | "peak_mib", heading: string) => {
    const quarters = [...new Set(grown.map((one) => one.quarters))];
    const points = grown.filter((one) => one[of] !== null);
    const last = quarters.map((q) =>
      points.filter((one) => one.quarters === q).reduce((a, b) => a.shoes > b.shoes ? a : b)
    ).sort((a, b) => a[of]! - b[of]!);
    const largest = Math.max(...points.map((one) => one[of]!));
    const raised = apart(last.map((one) => one[of]! / largest * PLOT_HEIGHT / 1.1));
    const top = 1.1 * largest;
    const most = Math.max(...points.map(({ shoes }) => shoes));
    const least = Math.min(...points.map(({ shoes }) => shoes));
    return draw({
      heading,
      title: heading,
      alt: `${heading}: ${
        last.map((one) => `${one.shoes} shoes in ${one.quarters} quarters ${round(one[of]!)}`).join(
          ", ",
        )
      }.`,
      height: PLOT_HEIGHT + 60,
      marginLeft: 56,
      marginRight: 104,
      marginBottom: 40,
      x: {
        domain: [0, most * 1.04],
        label: "Shoes",
        labelAnchor: "center",
        labelArrow: "none",
        ticks: [...new Set(points.map(({ shoes }) => shoes))],
      },
      y: { domain: [0, top], label: null },
      marks: [
        Plot.gridY({ stroke: colour.grid, strokeOpacity: 1, ticks: 5 }),
        // What growth in proportion would be, from the smallest benches on.
        Plot.line([least, most], {
          x: (d) => d,
          y: (d) =>
            Math.min(...points.filter((p) => p.shoes === least).map((p) => p[of]!)) * d / least,
          stroke: colour.line,
          strokeDasharray: "4,3",
          clip: true,
        }),
        ...quarters.flatMap((q, i) => {
          const own = points.filter((one) => one.quarters === q);
          return [
            Plot.line(own, { x: "shoes", y: of, stroke: seriesColours[i], strokeWidth: 2 }),
            Plot.dot(own, {
              x: "shoes",
              y: of,
              fill: seriesColours[i],
              symbol: seriesSymbols[i],
              r: 4.5,
            }),
          ];
        }),
        ...last.map((one, place) =>
          Plot.text([one], {
            x: "shoes",
            y: of,
            text: () => `${one.quarters} quarters`,
            textAnchor: "start",
            dx: 9,
            dy: raised[place],
            fill: colour.ink,
            fontSize: text.small,
          })
        ),
      ],
      notes: ["Dashed: in proportion to the number of shoes."],
    });
  };
  const time = grown.every(({ processor_seconds }) => processor_seconds === null)
    ? panel("seconds", "Time of a review, s")
    : panel("processor_seconds", "Processor time of a review, s");
  return grown.every(({ peak_mib }) => peak_mib === null) ? time : stackCharts(
    [time, panel("peak_mib", "Memory of all its processes, MiB")],
    "How a review grows",
    { columns: 2 },
  );
}

/** Pixels by which names, from the lowest up, have to move to stand clear of each other. */
function apart(heights: readonly number[]): number[] {
  const least = 14;
  const placed: number[] = [];
  for (const height of heights) {
    placed.push(Math.max(height, (placed.at(-1) ?? -Infinity) + least));
  }
  // Half of what the pile has grown by goes below, so that it stands about where its lines end.
  const shift = (placed.at(-1)! - heights.at(-1)!) / 2;
  return placed.map((place, i) => heights[i] - place + shift);
}

function round(value: number): string {
  return value < 100 ? value.toFixed(1) : value.toFixed(0);
}

if (import.meta.main) {
  const { values } = parseArgs({
    args: Deno.args,
    options: {
      shoes: { type: "string", default: "50,200,800" },
      quarters: { type: "string", default: "2,8,32" },
      out: { type: "string", default: "out" },
    },
  });
  const numbers = (list: string) => list.split(",").map(Number);
  const grown: Grown[] = [];
  console.log("shoes  quarters  trials  seconds  processor  MiB");
  for (const quarters of numbers(values.quarters)) {
    for (const shoes of numbers(values.shoes)) {
      const one = await measureGrowth({ shoes, quarters });
      grown.push(one);
      console.log([
        String(shoes).padStart(5),
        String(quarters).padStart(8),
        String(one.trials).padStart(6),
        one.seconds.toFixed(1).padStart(7),
        (one.processor_seconds?.toFixed(1) ?? "–").padStart(9),
        one.peak_mib === null ? "  –" : one.peak_mib.toFixed(0).padStart(4),
      ].join("  "));
    }
  }
  await Deno.mkdir(values.out, { recursive: true });
  await Deno.writeTextFile(`${values.out}/growth.json`, JSON.stringify(grown, null, 1) + "\n");
  await Deno.writeFile(`${values.out}/growth.png`, await chartPng(growthChart(grown)));
  console.log(`The figures are in ${values.out}/growth.json, the plot in growth.png.`);
}
