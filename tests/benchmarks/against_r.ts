import { hasR, inR } from "../statistics/in_r.ts";

/** What R makes of the same work: how long it took, for all of it, and some of its numbers. */
export type InR = { readonly milliseconds: number; readonly numbers: readonly number[] };

/**
 * Runs a script of our own in R on the same inputs, and prints how many times as long it takes.
 *
 * The script prints two lines with `out()`: its seconds, and numbers to compare.
 *
 * @param share the part of the work that the script does; its time is divided by it
 */
export function compareWithR(
  work: string,
  script: string,
  { share = 1, ours, numbers }: {
    readonly share?: number;
    readonly ours: number;
    readonly numbers: readonly (number | null)[];
  },
): InR | null {
  if (!hasR) {
    console.log(`${work}: Rscript is not installed, no comparison`);
    return null;
  }
  const [[seconds], theirs] = inR(script);
  const milliseconds = seconds * 1000 / share;
  const gap = Math.max(...theirs.map((value, i) => Math.abs(value - (numbers[i] ?? NaN))));
  const of = share === 1 ? "" : ` (1/${Math.round(1 / share)} of the work timed)`;
  console.log(
    `${work}: R ${milliseconds.toFixed(0)} ms${of}, here ${ours.toFixed(1)} ms warm, ${
      (milliseconds / ours).toFixed(0)
    } times; largest difference ${gap.toPrecision(2)}`,
  );
  return { milliseconds, numbers: theirs };
}

/** Milliseconds of the first call, and the median of the calls after it. */
export function firstAndWarm(work: () => unknown, calls = 9): { first: number; warm: number } {
  const times = Array.from({ length: calls + 1 }, () => {
    const start = performance.now();
    work();
    return performance.now() - start;
  });
  const later = times.slice(1).sort((a, b) => a - b);
  return { first: times[0], warm: later[calls >> 1] };
}
