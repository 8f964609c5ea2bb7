/** What a benchmark measures, how it is measured alone in a process, and how R does the same. */

/** How far answers may lie apart, and how far they do. */
export type Agreement = {
  /** What they are held against: `the plain definition`, `R`. */
  readonly against: string;
  readonly gap: number;
  /** Rounding, or what draws of another generator may differ by. */
  readonly allowed: number;
};

/** The same work in R, on the same inputs. */
export type WorkInR = {
  /** File beside this one; it prints lines `natural SECONDS SHARE`, `tuned SECONDS SHARE`, `numbers …`. */
  readonly script: string;
  /** Matrices, row by row, that the script reads as `name.csv` in the folder it is given. */
  readonly inputs: Readonly<Record<string, readonly (readonly (number | string)[])[]>>;
  /** Our answers, in the order in which the script prints its own. */
  readonly numbers: () => readonly (number | null)[] | Promise<readonly (number | null)[]>;
  readonly allowed: number;
  /** How far apart two answers are; the plain difference by default. */
  readonly gap?: (ours: number, theirs: number) => number;
};

/** One piece of work with a goal. */
export type Work = {
  readonly id: string;
  readonly title: string;
  /** Milliseconds of the first call in a process and of later ones; null where there is no goal. */
  readonly goal: { readonly first: number; readonly warm: number } | null;
  /** Calls after the first; 15 by default. */
  readonly calls?: number;
  readonly run: () => unknown;
  readonly agreement?: () => Agreement | Promise<Agreement>;
  readonly inR?: WorkInR;
  /** Peak memory allowed, in MiB. */
  readonly goal_mib?: number;
};

/** What measuring a work gives. */
export type Measured = {
  readonly id: string;
  readonly title: string;
  readonly goal: Work["goal"];
  readonly first_ms: number;
  readonly warm_ms: number;
  /** The shortest call: what a busy machine hides. */
  readonly least_ms: number;
  readonly agreement: readonly Agreement[];
  /** Milliseconds that R would take for all of it, and the share of the work that was timed. */
  readonly r_natural: { readonly ms: number; readonly share: number } | null;
  readonly r_tuned: { readonly ms: number; readonly share: number } | null;
  readonly peak_mib: number | null;
  readonly goal_mib: number | null;
};

/**
 * Registers works: with `deno bench FILE` as benchmarks, with `deno run FILE` as a table, and for the
 * runner, which starts each in a process of its own, as one line of JSON (`measure ID`).
 *
 * @param isMain `import.meta.main`: false under `deno bench`
 */
export async function benchmark(isMain: boolean, ...works: readonly Work[]): Promise<void> {
  if (!isMain) {
    for (const { id, title, run } of works) {
      Deno.bench(`${id} ${title}`, async () => void await run());
    }
    return;
  }
  const [command, id] = Deno.args;
  if (command === "list") {
    console.log(JSON.stringify(works.map(({ id }) => id)));
  } else if (command === "measure") {
    const work = works.find((work) => work.id === id);
    if (work === undefined) throw new RangeError(`There is no work "${id}" here`);
    console.log(JSON.stringify(await measure(work)));
  } else {
    for (const work of works) printMeasured(await measure(work));
  }
}

async function measure(work: Work): Promise<Measured> {
  const time = async () => {
    const start = performance.now();
    await work.run();
    return performance.now() - start;
  };
  const first_ms = await time();
  const later: number[] = [];
  for (let i = 0; i < (work.calls ?? 15); i++) later.push(await time());
  later.sort((a, b) => a - b);
  const peak = peakMemory();
  const agreement = work.agreement === undefined ? [] : [await work.agreement()];
  const r = work.inR === undefined ? null : await compareWithR(work.inR);
  if (r !== null) agreement.push(r.agreement);
  return {
    id: work.id,
    title: work.title,
    goal: work.goal,
    first_ms,
    warm_ms: later.length === 0 ? first_ms : later[later.length >> 1],
    least_ms: later.length === 0 ? first_ms : later[0],
    agreement,
    r_natural: r?.natural ?? null,
    r_tuned: r?.tuned ?? null,
    peak_mib: peak,
    goal_mib: work.goal_mib ?? null,
  };
}

/** The most memory this process has held, in MiB, where the system tells. */
export function peakMemory(): number | null {
  try {
    const status = Deno.readTextFileSync("/proc/self/status");
    return Number(/VmHWM:\s*(\d+)/.exec(status)?.[1] ?? NaN) / 1024;
  } catch {
    return null;
  }
}

type RTimes = {
  readonly natural: Measured["r_natural"];
  readonly tuned: Measured["r_tuned"];
  readonly agreement: Agreement;
};

async function compareWithR(
  { script, inputs, numbers, allowed, gap = (a, b) => Math.abs(a - b) }: WorkInR,
): Promise<RTimes | null> {
  const dir = await Deno.makeTempDir();
  try {
    for (const [name, rows] of Object.entries(inputs)) {
      await Deno.writeTextFile(
        `${dir}/${name}.csv`,
        rows.map((row) => row.join()).join("\n") + "\n",
      );
    }
    const file = decodeURIComponent(new URL(script, import.meta.url).pathname);
    let output: Deno.CommandOutput;
    try {
      output = await new Deno.Command("Rscript", {
        args: ["--vanilla", file, dir],
        stdout: "piped",
        stderr: "piped",
      }).output();
    } catch (error) {
      if (error instanceof Deno.errors.NotFound) return null;
      throw error;
    }
    const text = new TextDecoder();
    if (!output.success) throw new Error(`${script}: ${text.decode(output.stderr)}`);
    const lines = new Map(
      text.decode(output.stdout).trim().split("\n").map((line) => {
        const [key, ...values] = line.trim().split(/\s+/);
        return [key, values.map(Number)] as const;
      }),
    );
    const timed = (key: string) => {
      const [seconds, share] = lines.get(key) ?? [];
      return seconds === undefined ? null : { ms: 1000 * seconds / share, share };
    };
    const theirs = lines.get("numbers") ?? [];
    const ours = await numbers();
    if (theirs.length !== ours.length || theirs.length === 0) {
      throw new Error(`${script} prints ${theirs.length} numbers, expected ${ours.length}`);
    }
    const gaps = theirs.map((value, i) => gap(ours[i] ?? NaN, value));
    return {
      natural: timed("natural"),
      tuned: timed("tuned"),
      agreement: {
        against: "R",
        gap: gaps.some(Number.isNaN) ? Infinity : Math.max(...gaps),
        allowed,
      },
    };
  } finally {
    await Deno.remove(dir, { recursive: true });
  }
}

/** A work's figures in a few lines. */
export function printMeasured(measured: Measured): void {
  const { id, title, goal, first_ms, warm_ms, agreement, r_natural, r_tuned, peak_mib } = measured;
  const r = (name: string, timed: Measured["r_natural"]) =>
    timed === null ? [] : [
      `${name} ${milliseconds(timed.ms)}, ${(timed.ms / warm_ms).toPrecision(2)} times${
        timed.share === 1 ? "" : ` (1/${Math.round(1 / timed.share)} of it timed)`
      }`,
    ];
  console.log([
    `${id}. ${title}`,
    `   first call ${milliseconds(first_ms)}, warm ${milliseconds(warm_ms)}` +
    (goal === null ? "" : `; goal ${milliseconds(goal.first)}, ${milliseconds(goal.warm)}`) +
    (peak_mib === null ? "" : `; ${Math.round(peak_mib)} MiB at most`),
    ...[...r("R natural", r_natural), ...r("R tuned", r_tuned)].map((line) => `   ${line}`),
    ...agreement.map(({ against, gap, allowed }) =>
      `   ${gap <= allowed ? "agrees" : "DOES NOT AGREE"} with ${against}: apart by ${
        gap.toPrecision(2)
      }, allowed ${allowed}`
    ),
  ].join("\n"));
}

export function milliseconds(ms: number): string {
  return ms >= 1000 ? `${(ms / 1000).toFixed(2)} s` : `${ms.toPrecision(ms < 10 ? 2 : 3)} ms`;
}

/** The largest distance between two lists of numbers; infinite where one is missing. */
export function largestGap(
  ours: readonly (number | null)[],
  wanted: readonly (number | null)[],
): number {
  return ours.reduce<number>((largest, value, i) => {
    const other = wanted[i];
    const gap = value === null || other === null || other === undefined
      ? value === other ? 0 : Infinity
      : Math.abs(value - other);
    return Math.max(largest, Number.isNaN(gap) ? Infinity : gap);
  }, 0);
}
