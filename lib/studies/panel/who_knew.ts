import type { Bench, Impression } from "../../records/types.ts";

/**
 * Which ratings can't have been moved by a bench figure?
 *
 * `knew_bench` decides where it is filled. Else a rating given blind can't have been, nor one from before
 * the shoe was first benched. All others could, the more so a tester's who benched the shoe.
 *
 * @returns whether a rating was given without knowing; and who among the testers has operated the bench
 */
export function whoKnew(bench: Pick<Bench, "sessions" | "trials">): {
  readonly unknowing: (rating: Impression) => boolean;
  readonly operators: ReadonlySet<string>;
} {
  const dates = new Map(bench.sessions.map(({ session_id, date }) => [session_id, date]));
  const first = new Map<string, string>();
  for (const { session_id, shoe_id } of bench.trials) {
    const date = dates.get(session_id);
    const known = first.get(shoe_id);
    if (date !== undefined && (known === undefined || date < known)) first.set(shoe_id, date);
  }
  return {
    unknowing: ({ knew_bench, blind, date, shoe_id }) => {
      if (knew_bench !== null) return knew_bench === "no";
      const benched = first.get(shoe_id);
      return blind === "yes" || benched === undefined || date < benched;
    },
    operators: new Set(bench.sessions.map(({ operator }) => operator)),
  };
}
