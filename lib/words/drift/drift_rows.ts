import type { ReferenceDrift } from "../../studies/drift/reference_drift.ts";
import { sayReason } from "../reasons.ts";
import { estimateInWords, type ReviewRow } from "../review/review_tables.ts";

/** How does the bench change? One row a metric and rig; a change a year only where one is claimed. */
export function driftRows({ rigs }: Pick<ReferenceDrift, "rigs">): ReviewRow[] {
  return rigs.map((rig) => ({
    metric: rig.title,
    unit: rig.unit,
    rig: rig.rig,
    sessions: rig.sessions,
    references: rig.references,
    "change a year": rig.claimed ? estimateInWords(rig.slope, rig.decimals + 1) : "none claimed",
    "p, all slopes": rig.p_familywise === null
      ? sayReason(rig.p_reason)
      : Number(rig.p_familywise.toPrecision(2)),
    verdict: rig.verdict,
  }));
}
