import type { IndexRule, ProposalCriteria, RuleProposal } from "../../records/types.ts";
import type { Estimate } from "../../statistics/estimate.ts";
import type { ScoreLink } from "./rank_moves.ts";

/** What a draft is made from. */
export type DraftParts = {
  readonly weights: readonly number[];
  readonly link: ScoreLink;
  /** Last day of the data. */
  readonly today: string;
  readonly gain: Estimate;
  readonly shoes: number;
  readonly criteria?: ProposalCriteria;
  readonly min_gain: number;
  readonly confidence: number;
  /** Share of the catalogue that the rule in force can score. */
  readonly scorable: number;
};

/**
 * How do new weights become a proposal that the lab can edit and judge?
 *
 * Multiplier, offset and bonus points carry the link to the published scale. It would take effect on the
 * first day of the next quarter. It says how far its weights have seen ratings, so that a verdict gives
 * them no credit for these. Its criteria ask for the gain alone: how many shoes may move is the lab's to say.
 */
export function draftProposal(rule: IndexRule, parts: DraftParts): RuleProposal {
  const { today, link, gain } = parts;
  const slope = link.slope ?? 1;
  const { weights } = parts;
  const limits = gain.estimate === null || gain.lower === null
    ? "unknown"
    : `${gain.estimate.toFixed(3)} (${gain.lower.toFixed(3)} to ${gain.upper!.toFixed(3)})`;
  return {
    id: `recalibrated-${rule.id}-${rule.version}-${today}`,
    title: `${rule.title}, weighed anew`,
    asked_on: today,
    asked_by: "recalibration",
    against: rule.version,
    rule: {
      ...rule,
      version: `${rule.version}-weighed-${today}`,
      title: `${rule.title}, weighed anew`,
      effective: nextQuarter(today),
      terms: rule.terms.map((term, j) => ({ ...term, weight: weights[j] })),
      multiplier: round(rule.multiplier * slope, 6),
      offset: round(rule.offset * slope + (link.intercept ?? 0), 6),
      bonuses: rule.bonuses.map(({ feature, points }) => ({
        feature,
        points: round(points * slope, 6),
      })),
      note:
        `Weights fitted to ${parts.shoes} rated shoes up to ${today}; scale linked to version ${rule.version}.`,
    },
    criteria: parts.criteria ?? {
      min_gain: parts.min_gain,
      max_rank_moves: 1,
      min_coverage: Math.floor(100 * parts.scorable) / 100,
      confidence: parts.confidence,
    },
    fitted_until: today,
    note:
      `Draft. Gain on shoes of lines not seen: ${limits}. The criteria ask for the gain alone: set your own before anyone looks at the verdict, how many shoes may move among them.`,
  };
}

function round(value: number, decimals: number): number {
  return Number(value.toFixed(decimals));
}

function nextQuarter(date: string): string {
  const [year, month] = date.split("-").map(Number);
  const next = Math.ceil(month / 3) * 3 + 1;
  return next > 12
    ? `${String(year + 1).padStart(4, "0")}-01-01`
    : `${String(year).padStart(4, "0")}-${String(next).padStart(2, "0")}-01`;
}
