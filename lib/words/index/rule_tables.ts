import type { IndexRecalibration } from "../../studies/index/index_recalibration.ts";
import type { ReviewRow } from "../review/review_tables.ts";
import { estimateInWords } from "../review/review_tables.ts";
import type { RankMoves } from "../../studies/index/rank_moves.ts";
import type { RuleHistory } from "../../studies/index/rule_history.ts";
import type { RuleVerdict } from "../../studies/proposal/rule_proposal.ts";
import { sayReason } from "../reasons.ts";

/** What was asked of a proposal, and what was found? One row a criterion. */
export function criteriaRows({ criteria }: Pick<RuleVerdict, "criteria">): ReviewRow[] {
  return criteria.map(({ title, wanted, found, outcome }) => ({
    criterion: title,
    wanted,
    found,
    outcome,
  }));
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
    why: reason,
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
    "places it buys": bonus.places_gained ?? bonus.places_reason,
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
      "gain over the rule in force": step.gain === null
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

/** Where did each shoe stand, and where does it stand now? In the old order. */
export function moveRows({ shoes }: Pick<RankMoves, "shoes">, decimals = 2): ReviewRow[] {
  return shoes.map((shoe) => ({
    shoe: shoe.name,
    "old score": round(shoe.old_score, decimals),
    "new score": round(shoe.new_score, decimals),
    "old rank": shoe.old_rank,
    "new rank": shoe.new_rank,
    moved: shoe.places > 0 ? `+${shoe.places}` : String(shoe.places).replace("-", "−"),
    "old band": shoe.old_band,
    "new band": shoe.new_band,
  }));
}

/** Which weights change, and why do the others stay? */
export function indexWeightRows({ weights }: Pick<IndexRecalibration, "weights">): ReviewRow[] {
  return weights.map((weight) => ({
    metric: weight.title,
    "in force": round(weight.old, 3),
    new: weight.new.estimate === null
      ? sayReason(weight.new.estimate_reason)
      : round(weight.new.estimate, 3),
    "best fit": weight.best_fit === null
      ? null
      : estimateInWords({ ...weight.new, estimate: weight.best_fit }, 2),
    stays: weight.kept ? "yes" : "no",
    why: sayReason(weight.kept_reason),
  }));
}

/** How do the candidates do on shoes left out? */
export function fitRows({ fits }: Pick<IndexRecalibration, "fits">): ReviewRow[] {
  return fits.map((fit) => ({
    candidate: fit.candidate,
    "rank correlation": estimateInWords(fit.rank_correlation, 2),
    "error, rating points": fit.error === null ? sayReason(fit.error_reason) : round(fit.error, 2),
    "gain over the weights in force": estimateInWords(fit.gain, 2),
  }));
}

/** What did each version say of each shoe, and when? One row a shoe. */
export function historyRows({ versions, shoes }: RuleHistory, decimals = 2): ReviewRow[] {
  const shown = (score: number | null | undefined, rank: number | null | undefined) =>
    score === null || score === undefined ? null : `${score.toFixed(decimals)} (${rank})`;
  return shoes.map(({ name, versions: own }) =>
    Object.fromEntries([
      ["shoe", name],
      ...versions.flatMap(({ version, days }, place) => [
        ...days.map((day) => {
          const at = own[place].then.find(({ date }) => date === day);
          return [`version ${version}, ${day}`, shown(at?.score, at?.rank)];
        }),
        [`version ${version}, on today's data`, shown(own[place].now?.score, own[place].now?.rank)],
      ]),
    ])
  );
}

function round(value: number, decimals: number): number {
  return Number(value.toFixed(decimals));
}

function percent(share: number | null): number | null {
  return share === null ? null : round(100 * share, 1);
}
