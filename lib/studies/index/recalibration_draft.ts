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
};

/**
 * How do new weights become a proposal that the lab can edit and judge?
 *
 * Weights are rounded to four decimals with their sum kept; multiplier, offset and bonus points carry the
 * link to the published scale. It would take effect on the first day of the next quarter. It says how far
 * its weights have seen ratings, so that a verdict judges it on others.
 */
export function draftProposal(rule: IndexRule, parts: DraftParts): RuleProposal {
  const { today, link, gain } = parts;
  const slope = link.slope ?? 1;
  const weights = roundedToSum(parts.weights, 4);
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
      max_rank_moves: 0.5,
      min_coverage: 0.9,
      confidence: parts.confidence,
    },
    fitted_until: today,
    note:
      `Draft. Gain on left-out shoes ${limits}. The criteria are the kit's defaults: set your own before anyone looks at the verdict.`,
  };
}

/** Largest remainders first, so that the parts still sum to the whole. */
function roundedToSum(values: readonly number[], decimals: number): number[] {
  const unit = 10 ** decimals;
  const whole = Math.round(values.reduce((total, value) => total + value, 0) * unit);
  const floors = values.map((value) => Math.floor(value * unit + 1e-9));
  const left = whole - floors.reduce((total, value) => total + value, 0);
  const order = [...values.keys()].toSorted((a, b) =>
    (values[b] * unit - floors[b]) - (values[a] * unit - floors[a]) || a - b
  );
  for (let k = 0; k < left; k++) floors[order[k % order.length]]++;
  return floors.map((value) => value / unit);
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
