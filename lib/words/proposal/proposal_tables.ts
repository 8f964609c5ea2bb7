import type { RuleVerdict } from "../../studies/proposal/rule_proposal.ts";
import type { ReviewRow } from "../review/review_tables.ts";
import { sayReason } from "../reasons.ts";
import { criterionWords } from "./proposal_sentences.ts";

/** What was asked of a proposal, and what was found? One row a criterion. */
export function criteriaRows(
  { criteria, confidence }: Pick<RuleVerdict, "criteria" | "confidence">,
): ReviewRow[] {
  return criteria.map((criterion) => {
    const { title, wanted, found } = criterionWords(criterion, confidence);
    return { criterion: title, wanted, found, outcome: criterion.outcome };
  });
}

/** Which shoes must go back on the bench before a rule can score them? */
export function rebenchRows(
  { rebench, sensitivity = [] }:
    & Pick<RuleVerdict, "rebench">
    & Partial<Pick<RuleVerdict, "sensitivity">>,
): ReviewRow[] {
  const titles = new Map(sensitivity.map(({ metric, title }) => [metric, title]));
  return rebench.map(({ name, metrics, reason, rated, last_benched }) => ({
    shoe: name,
    metrics: metrics.map((id) => titles.get(id) ?? id).join("; "),
    why: sayReason(reason),
    "rated on court": rated ? "yes" : "no",
    "last benched": last_benched,
  }));
}

/** What does each bonus buy? */
export function bonusRows({ bonuses }: Pick<RuleVerdict, "bonuses">): ReviewRow[] {
  return bonuses.map((bonus) => ({
    feature: bonus.feature,
    points: bonus.points,
    "shoes with it": bonus.with,
    "not checked": bonus.unchecked,
    "places it buys": bonus.places_gained ?? sayReason(bonus.places_reason),
    "pairs it outweighs, %": percent(bonus.share_of_pairs),
    "outruns the bench": bonus.outruns_bench ? "yes" : "no",
  }));
}

/** Where do shoes pile up at an end of a range? */
export function pileUpRows({ pile_ups }: Pick<RuleVerdict, "pile_ups">): ReviewRow[] {
  return pile_ups.map((row) => ({
    metric: row.title,
    rule: row.table,
    shoes: row.shoes,
    "at the floor": row.at_floor,
    "at the ceiling": row.at_ceiling,
    "piled up": row.piled ? "yes" : "no",
  }));
}

/** What if a weight were a fifth lower or higher? */
export function sensitivityRows({ sensitivity }: Pick<RuleVerdict, "sensitivity">): ReviewRow[] {
  return sensitivity.flatMap(({ title, weight, lower, higher }) =>
    [lower, higher].map((step) => ({
      metric: title,
      weight: `${round(weight, 3)}\u00a0→\u00a0${round(step.weight, 3)}`,
      "shoes that move more than 3 places, %": percent(step.share_moved),
      "order as proposed (rank correlation)": step.same_order === null
        ? sayReason(step.reason)
        : round(step.same_order, 3),
      "gain, plain rank correlation": step.gain === null
        ? sayReason(step.reason)
        : round(step.gain, 3),
    }))
  );
}

/** Which shoes change places in earnest? */
export function flipRows({ flips }: Pick<RuleVerdict, "flips">): ReviewRow[] {
  return flips.real.map((flip) => ({
    "was ahead": flip.was_ahead_name,
    "by points": round(flip.old_difference, 2),
    "now ahead": flip.now_ahead_name,
    "by points now": round(flip.new_difference, 2),
  }));
}

function round(value: number, decimals: number): number {
  return Number(value.toFixed(decimals));
}

function percent(share: number | null): number | null {
  return share === null ? null : round(100 * share, 1);
}
