import type { SmallVisit } from "../small_bench.ts";

/** What a drawn bench does over its two years. */
export type DriftStory = {
  /** Fall of the second rig a year, in units of the noise of a visit. */
  readonly slope?: number;
  /** How far the second rig reads off from the start. */
  readonly offset?: number;
  /** A step of every reading from the middle on, which nobody wrote down. */
  readonly step?: number;
  /** How fast the reference shoes themselves change a year. */
  readonly ageing?: number;
  readonly rigs?: 1 | 2;
};

/** A generator of its own (Park & Miller's), so that nothing is shared with the kit's streams. */
export function ownNormals(seed: number): () => number {
  let state = (seed * 7919 + 12345) % 2147483646 + 1;
  const u = () => (state = state * 48271 % 2147483647) / 2147483647;
  return () => Math.sqrt(-2 * Math.log(u())) * Math.cos(2 * Math.PI * u());
}

/**
 * Eighteen sessions over two years: two reference shoes in each, four others, twelve of which come back
 * once. True values of the shoes, read without drift, come with the visits.
 */
export function driftingBench(
  seed: number,
  { slope = 0, offset = 0, step = 0, ageing = 0, rigs = 2 }: DriftStory,
): { readonly visits: readonly SmallVisit[]; readonly truth: ReadonlyMap<string, number> } {
  const normal = ownNormals(seed);
  const truth = new Map<string, number>();
  const visits: SmallVisit[] = [];
  const level = (shoe: string) => {
    if (!truth.has(shoe)) truth.set(shoe, 50 + 3 * normal());
    return truth.get(shoe)!;
  };
  for (let s = 0; s < 18; s++) {
    const year = 2 * s / 17;
    const onB = rigs === 2 && s % 2 === 1;
    const bench = (onB ? offset - slope * year : 0) + (s >= 9 ? step : 0);
    const others = [0, 1, 2, 3].map((k) => 4 * s + k).map((i) => `s${i}`);
    const back = s >= 6 ? [`s${4 * (s - 6)}`] : [];
    for (const shoe of ["ref-1", "ref-2", ...others, ...back]) {
      const own = level(shoe) - (shoe.startsWith("ref") ? ageing * year : 0);
      const visit = 0.3 * normal();
      visits.push({
        shoe,
        session: `d${s}`,
        date: new Date(Date.UTC(2024, 0, 1 + Math.round(365.25 * year))).toISOString().slice(0, 10),
        rig: onB ? "b" : "a",
        values: [0, 1, 2].map(() => own + bench + visit + 0.5 * normal()),
      });
    }
  }
  return { visits, truth };
}
