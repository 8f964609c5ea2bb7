/**
 * How often do the intervals of agreement of two rigs hold the truth, and how often is a verdict false?
 *
 *     deno run -A --config tests/deno.json tests/benchmarks/agreement_coverage.ts [benches]
 *
 * Sessions of two rigs in turn, two weeks apart, by a generator of its own (`ownNormals`). One rig reads every
 * shoe higher by `apart`, and single shoes scatter about that by 0.3; sessions scatter by 0.3, visits by 0.3,
 * trials by 0.5, three trials a visit; what matters to a player is 1.
 */
import { pairedSources } from "../../lib/studies/repeatability/paired_sources.ts";
import { ownNormals } from "../studies/drift/drifting_bench.ts";
import { smallBench, type SmallVisit } from "../studies/small_bench.ts";

export type AgreementDesign =
  | "two references in every session, six others on both"
  | "24 shoes on both, in 12 sessions"
  | "12 shoes on both, one session each";

export const agreementDesigns: readonly AgreementDesign[] = [
  "two references in every session, six others on both",
  "24 shoes on both, in 12 sessions",
  "12 shoes on both, one session each",
];

const noise = { single: 0.3, session: 0.3, visit: 0.3, trial: 0.5 };
const trials = 3;

/** SD of a single shoe's difference between the rigs, as they truly scatter. */
const SD = Math.sqrt(
  noise.single ** 2 + 2 * (noise.session ** 2 + noise.visit ** 2 + noise.trial ** 2 / trials),
);

/** Which shoes are benched in which session; even sessions are on rig a. */
function plan(design: AgreementDesign): readonly (readonly string[])[] {
  const both = (shoes: number, sessions: number) =>
    Array.from(
      { length: sessions },
      (_, s) =>
        Array.from({ length: shoes }, (_, i) => `s${i}`).filter((_, i) =>
          i % (sessions / 2) === Math.floor(s / 2)
        ),
    );
  if (design === "24 shoes on both, in 12 sessions") return both(24, 12);
  if (design === "12 shoes on both, one session each") return both(12, 2);
  return both(6, 12).map((shoes) => ["ref-1", "ref-2", ...shoes]);
}

export function twoRigs(design: AgreementDesign, apart: number, seed: number, change = 0) {
  const normal = ownNormals(seed);
  const levels = new Map<string, { readonly level: number; readonly own: number }>();
  const visits: SmallVisit[] = [];
  plan(design).forEach((shoes, s) => {
    const session = noise.session * normal();
    for (const shoe of shoes) {
      if (!levels.has(shoe)) {
        levels.set(shoe, { level: 50 + 3 * normal(), own: noise.single * normal() });
      }
      const { level, own } = levels.get(shoe)!;
      const rig = s % 2 === 1 ? apart + own + change * s * 14 / 365.25 : 0;
      const visit = level + rig + session + noise.visit * normal();
      visits.push({
        shoe,
        session: `d${s}`,
        date: new Date(Date.UTC(2026, 0, 1 + 14 * s)).toISOString().slice(0, 10),
        rig: s % 2 === 1 ? "b" : "a",
        values: Array.from({ length: trials }, () => visit + noise.trial * normal()),
      });
    }
  });
  return smallBench(visits, { references: ["ref-1", "ref-2"] });
}

/** Shares of benches: intervals that hold the truth, and verdicts. */
export function agreementCoverage(
  design: AgreementDesign,
  apart: number,
  { benches, seed }: { readonly benches: number; readonly seed: number },
) {
  let [bias, low, high, may, mayNot, moves] = [0, 0, 0, 0, 0, 0];
  for (let b = 0; b < benches; b++) {
    const found = pairedSources(twoRigs(design, apart, seed + b), "height", { by: "rig" });
    const holds = (
      { lower, upper }: { readonly lower: number | null; readonly upper: number | null },
      truth: number,
    ) => lower! <= truth && truth <= upper!;
    if (holds(found.bias, apart)) bias++;
    if (holds(found.lower_limit, apart - 1.96 * SD)) low++;
    if (holds(found.upper_limit, apart + 1.96 * SD)) high++;
    if (found.verdict === "may stand beside") may++;
    if (found.verdict === "may not stand beside") mayNot++;
    if (found.moves) moves++;
  }
  return {
    bias: bias / benches,
    limits: (low + high) / 2 / benches,
    may: may / benches,
    may_not: mayNot / benches,
    moves: moves / benches,
  };
}

if (import.meta.main) {
  const benches = Number(Deno.args[0] ?? 1000);
  const percent = (share: number) => (100 * share).toFixed(1);
  for (const design of agreementDesigns) {
    for (const apart of [0, 1, 2]) {
      const { bias, limits, may, may_not, moves } = agreementCoverage(design, apart, {
        benches,
        seed: 1,
      });
      console.log(
        `| ${design} | ${apart} | ${percent(bias)} | ${percent(limits)} | ${percent(may)} | ${
          percent(may_not)
        } | ${percent(moves)} |`,
      );
    }
  }
}
