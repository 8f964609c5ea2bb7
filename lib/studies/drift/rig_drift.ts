import type { Visit } from "../../records/selection.ts";
import type { Metric } from "../../records/types.ts";
import { type Estimate, noEstimate } from "../../statistics/estimate.ts";
import type { Reason } from "../../statistics/reason.ts";
import {
  type WeightedRegression,
  weightedRegression,
} from "../../statistics/weighted_regression.ts";
import type { ReferenceCorrection } from "./reference_correction.ts";
import { referencesDiffer } from "./references_differ.ts";
import { type MethodChange, rigOf, yearsFromMiddle } from "./rig_time.ts";
import { type SessionLevel, sessionLevels } from "./session_levels.ts";

/**
 * What may be said of one metric on one rig. "bench or references": all reference shoes move alike, and
 * no shoe that rests between sessions says whether the bench moves or they all age.
 */
export type DriftVerdict =
  | "the bench drifts"
  | "bench or references"
  | "bench or reference"
  | "the references disagree"
  | "the references age"
  | "no drift"
  | "can't tell";

/** One metric on one rig, over all reference shoes. */
export type RigDrift = {
  readonly metric: string;
  readonly title: string;
  readonly unit: string;
  readonly decimals: number;
  /** Smallest difference that matters to a player, in the metric's unit. */
  readonly smallest_difference: number | null;
  readonly rig: string | null;
  readonly references: number;
  readonly sessions: number;
  /** First and last day of a reference shoe on this rig. */
  readonly from: string | null;
  readonly to: string | null;
  /**
   * Change a year that all reference shoes share, in the metric's unit. A page prints it only where a
   * drift is claimed.
   */
  readonly slope: Estimate;
  readonly p: number | null;
  readonly p_reason: Reason | null;
  /** Holm's, over all metrics and rigs. */
  readonly p_familywise: number | null;
  readonly claimed: boolean;
  /** Whether the reference shoes change at different rates, on whichever rig. */
  readonly references_differ_p: number | null;
  readonly references_differ_reason: Reason | null;
  /** Where a drift is claimed: what shoes that rest between sessions say of it; null without such shoes. */
  readonly resting: {
    readonly slope: number;
    readonly standard_error: number;
    /** It goes the same way, surely, and the reference shoes change no faster. */
    readonly agrees: boolean;
    /** The reference shoes change faster, surely, and the others not surely at all. */
    readonly ages: boolean;
  } | null;
  readonly verdict: DriftVerdict;
};

/** How far readings jump where something about the bench changes. */
export type BenchStep = {
  readonly metric: string;
  readonly title: string;
  readonly unit: string;
  readonly decimals: number;
  readonly kind: "rig" | "operator" | "method";
  readonly from: string;
  readonly to: string;
  /** `to` minus `from`, on the same shoes; for rigs, at the middle of the time benched. */
  readonly difference: Estimate;
  readonly p: number | null;
  readonly p_reason: Reason | null;
  /** Holm's, over all metrics and changes. */
  readonly p_familywise: number | null;
  readonly found: boolean;
};

/** A rig's drift before all metrics' tests are looked at together. */
type TestedRig = Omit<RigDrift, "verdict" | "claimed" | "p_familywise" | "resting">;
/** A step before all metrics' tests are looked at together. */
type TestedStep = Omit<BenchStep, "found" | "p_familywise">;

/** Sessions on a rig before a slope is put to the test; common practice, as for a run on a chart. */
const FEWEST_SESSIONS = 8;
const METHOD = "least squares over sessions, Student's t interval";

/**
 * How do rigs, operators and changes of method shift what the reference shoes read, tested one by one?
 *
 * @param visits of reference shoes
 */
export function testRigs(
  metric: Metric,
  visits: readonly Visit[],
  { confidence, changes }: {
    readonly confidence: number;
    readonly changes: readonly MethodChange[];
  },
): { readonly rigs: TestedRig[]; readonly steps: TestedStep[] } {
  const { id, title, unit, decimals, smallest_difference } = metric;
  const about = { metric: id, title, unit, decimals };
  const sessions = sessionLevels(visits);
  const rigs = [...new Set(sessions.map(({ rig }) => rig))]
    .sort((a, b) => (a ?? "") < (b ?? "") ? -1 : (a ?? "") > (b ?? "") ? 1 : 0);
  const operators = [...new Set(sessions.map(({ operator }) => operator))].sort();
  const regression = regressionOf(sessions, rigs, operators, changes);
  const differ = referencesDiffer(visits);
  return {
    rigs: rigs.map((rig, i): TestedRig => {
      const own = visits.filter((visit) => visit.rig === rig);
      const count = sessions.filter((session) => session.rig === rig).length;
      const days = own.map(({ date }) => date).sort();
      return {
        ...about,
        smallest_difference,
        rig,
        references: new Set(own.map(({ shoe_id }) => shoe_id)).size,
        sessions: count,
        from: days[0] ?? null,
        to: days.at(-1) ?? null,
        ...slopeOf(regression, i, count, confidence),
        references_differ_p: differ.p,
        references_differ_reason: differ.reason,
      };
    }),
    steps: [
      ...rigs.slice(1).map((rig, i) =>
        ["rig", rigOf({ rig: rigs[0] }), rigOf({ rig }), `rig ${i + 1}`] as const
      ),
      ...operators.slice(1).map((operator, i) =>
        ["operator", operators[0], operator, `operator ${i + 1}`] as const
      ),
      ...changes.map(({ date, what }, i) =>
        ["method", `before ${date}`, what, `change ${i}`] as const
      ),
    ].map(([kind, from, to, column]): TestedStep => {
      const { estimate, p } = regression.test(column, confidence);
      return {
        ...about,
        kind,
        from,
        to,
        difference: { ...estimate, method: METHOD },
        p,
        p_reason: estimate.estimate_reason,
      };
    }),
  };
}

function regressionOf(
  sessions: readonly SessionLevel[],
  rigs: readonly (string | null)[],
  operators: readonly string[],
  changes: readonly MethodChange[],
): WeightedRegression {
  const indicator = (holds: (session: SessionLevel) => boolean) =>
    sessions.map((session) => holds(session) ? 1 : 0);
  const time = yearsFromMiddle(sessions.map(({ date }) => date));
  const columns: Record<string, readonly number[]> = { level: sessions.map(() => 1) };
  rigs.slice(1).forEach((rig, i) => columns[`rig ${i + 1}`] = indicator((s) => s.rig === rig));
  rigs.forEach((rig, i) => {
    columns[`slope ${i}`] = time.map((t, j) => sessions[j].rig === rig ? t : 0);
  });
  operators.slice(1).forEach((operator, i) =>
    columns[`operator ${i + 1}`] = indicator((s) => s.operator === operator)
  );
  changes.forEach(({ date }, i) => columns[`change ${i}`] = indicator((s) => s.date >= date));
  return weightedRegression(columns, sessions.map(({ value }) => value), {
    weights: sessions.map(({ references }) => references),
  });
}

function slopeOf(
  regression: WeightedRegression,
  rig: number,
  sessions: number,
  confidence: number,
): Pick<RigDrift, "slope" | "p" | "p_reason"> {
  const { estimate, p } = regression.test(`slope ${rig}`, confidence);
  const slope = { ...estimate, method: METHOD };
  if (sessions < 3) {
    const reason = { code: "few-sessions-on-rig", needed: 3, found: sessions };
    return { slope: noEstimate(reason, slope), p: null, p_reason: reason };
  }
  if (estimate.estimate !== null && sessions < FEWEST_SESSIONS) {
    const reason = { code: "few-sessions-on-rig", needed: FEWEST_SESSIONS, found: sessions };
    return { slope, p: null, p_reason: reason };
  }
  return { slope, p, p_reason: estimate.estimate_reason };
}

/**
 * What may be said of a rig once all metrics' tests are adjusted together?
 *
 * @param correction of the metric over all its shoes, for what resting shoes say; null where unknown
 */
export function judgeRig(
  rig: TestedRig & Pick<RigDrift, "p_familywise">,
  confidence: number,
  correction: ReferenceCorrection | null,
): RigDrift {
  const risk = 1 - confidence;
  const { slope, smallest_difference: margin } = rig;
  const claimed = rig.p_familywise !== null && rig.p_familywise < risk;
  const resting = claimed ? restingOf(rig, correction) : null;
  const verdict = (): DriftVerdict => {
    if (slope.estimate === null || slope.lower === null || slope.upper === null) {
      return "can't tell";
    }
    if (claimed) {
      if (resting?.ages) return "the references age";
      if (rig.references < 2 && !resting?.agrees) return "bench or reference";
      if (rig.references_differ_p !== null && rig.references_differ_p < risk) {
        return "the references disagree";
      }
      return resting?.agrees ? "the bench drifts" : "bench or references";
    }
    return margin !== null && slope.lower > -margin && slope.upper < margin
      ? "no drift"
      : "can't tell";
  };
  return { ...rig, claimed, resting, verdict: verdict() };
}

/** What shoes that rest between sessions say of a rig's slope. */
function restingOf(
  { rig, slope }: TestedRig,
  correction: ReferenceCorrection | null,
): RigDrift["resting"] {
  const resting = correction?.resting ?? null;
  if (correction === null || resting === null) return null;
  const name = rigOf({ rig });
  const at = correction.terms.findIndex((term) => term.kind === "slope" && term.rig === name);
  if (at < 0) return null;
  const { coefficient, standard_error, reach } = resting[at];
  const sure = Math.abs(coefficient) > reach && coefficient * slope.estimate! > 0;
  const ageing = correction.ageing?.taken_out === true;
  return { slope: coefficient, standard_error, agrees: sure && !ageing, ages: ageing && !sure };
}

/** What may be said of a step once all metrics' tests are adjusted together? */
export function judgeStep(
  step: TestedStep & Pick<BenchStep, "p_familywise">,
  confidence: number,
): BenchStep {
  return { ...step, found: step.p_familywise !== null && step.p_familywise < 1 - confidence };
}
