import { sum } from "simple-statistics";
import * as option from "../../options.ts";
import type { Bench, IndexRule, RuleProposal } from "../../records/types.ts";
import { noEstimate } from "../../statistics/estimate.ts";
import { estimateOf, type RankGain, rankGain } from "../../statistics/rank_gain.ts";
import { reviseWeights } from "../../statistics/revise_weights.ts";
import { panelValues } from "../panel/panel_values.ts";
import { shoeTree } from "../shoes/shoe_tree.ts";
import { applyRuleToNewcomers } from "./apply_rule.ts";
import { recalibrationData } from "./recalibration_data.ts";
import { ruleValues } from "./rule_values.ts";
import type { Reason } from "../../statistics/reason.ts";

/** How the gain of a proposal came about. */
export type GainBasis =
  /** Both rules as they stand, on all rated shoes; so many of them were first rated after the proposal was made. */
  | { readonly kind: "as-they-stand"; readonly rated: number; readonly after: number }
  /** The weights were fitted to ratings of the same terms: judged by a fit that gives them no credit for it. */
  | { readonly kind: "fitted-here"; readonly until: string }
  /** Fitted in a way that can't be judged so: only shoes first rated later count. */
  | { readonly kind: "fitted-elsewhere"; readonly until: string; readonly after: number };

/** What a proposed rule gains over the one in force, in rank correlation with the court. */
export type ProposalGain = RankGain & {
  readonly basis: GainBasis;
  /** Lines and makers of the shoes that it stands on. */
  readonly lines: number;
  readonly makers: number;
  readonly warnings: readonly Reason[];
};

/** Draws of every judgement of a gain, so that two tasks give the same numbers. */
export const GAIN_DRAWS = 2000;

/**
 * How much closer to the court does a proposed rule order the shoes?
 *
 * Neither rule may have been fitted to the ratings it is judged on: a `standard` scaling sets each shoe
 * against the catalogue without it; weights that were fitted (`fitted_until`) to the terms of the rule in
 * force are judged as `indexRecalibration` judges its own; those fitted otherwise only on shoes first rated
 * afterwards. That a person who wrote the rule had seen the ratings can't be undone by arithmetic.
 * Shoes of one line and of one maker are kin: intervals are for shoes of lines not seen yet.
 *
 * @param options `since`: judge on shoes first rated after that day alone
 */
export function proposalGain(
  bench: Bench,
  { rule, asked_on, fitted_until }: Pick<RuleProposal, "rule" | "asked_on" | "fitted_until">,
  { oldRule, confidence, seed, since = null }: {
    readonly oldRule: IndexRule;
    readonly confidence: number;
    readonly seed: number;
    readonly since?: string | null;
  },
): ProposalGain {
  option.check("studies.proposalGain", arguments[2], {
    oldRule: option.needed(option.thing),
    confidence: option.needed(option.share),
    seed: option.needed(option.seed),
    since: option.orNull(option.text),
  });
  const panel = panelValues(bench, rule.target_attribute);
  const first = firstRated(bench, rule.target_attribute);
  const later = (shoe: string, day: string) => first.get(shoe)! > day;
  if (fitted_until !== null && since === null) {
    const again = sameOrderAsWeights(oldRule, rule)
      ? fittedGain(bench, oldRule, rule, { confidence, seed })
      : null;
    if (again !== null) {
      return {
        ...again,
        basis: { kind: "fitted-here", until: fitted_until },
        warnings: panel.warnings,
      };
    }
  }
  const from = since ?? fitted_until;
  const table = ruleValues(
    bench,
    [...oldRule.terms, ...rule.terms].map(({ metric }) => metric),
    null,
  ).table;
  const scores = (one: IndexRule) =>
    new Map(applyRuleToNewcomers(bench, one, table).map((row) => [row.shoe_id, row.score]));
  const [old, updated] = [scores(oldRule), scores(rule)];
  const usable = panel.shoes.flatMap(({ shoe_id, value }) => {
    const [before, now] = [old.get(shoe_id) ?? null, updated.get(shoe_id) ?? null];
    return before === null || now === null || (from !== null && !later(shoe_id, from))
      ? []
      : [{ shoe_id, value, before, now }];
  });
  const tree = shoeTree(bench, usable.map(({ shoe_id }) => shoe_id));
  const after = (day: string) => panel.shoes.filter(({ shoe_id }) => later(shoe_id, day)).length;
  return {
    ...rankGain({
      values: usable.map(({ value }) => value),
      old: usable.map(({ before }) => before),
      updated: usable.map(({ now }) => now),
    }, { groups: tree, confidence, seed, draws: GAIN_DRAWS }),
    basis: fitted_until !== null
      ? { kind: "fitted-elsewhere", until: fitted_until, after: after(fitted_until) }
      : { kind: "as-they-stand", rated: panel.shoes.length, after: after(asked_on) },
    lines: tree.lines,
    makers: tree.makers,
    warnings: panel.warnings,
  };
}

/** The first day on which each shoe was rated. */
export function firstRated(bench: Bench, attribute: string): ReadonlyMap<string, string> {
  const first = new Map<string, string>();
  for (const row of bench.impressions) {
    if (row.attribute !== attribute || row.rating === null) continue;
    const known = first.get(row.shoe_id);
    if (known === undefined || row.date < known) first.set(row.shoe_id, row.date);
  }
  return first;
}

/** Whether a rule is another one with other weights, on whatever scale. */
function sameOrderAsWeights(old: IndexRule, rule: IndexRule): boolean {
  const scale = rule.multiplier / old.multiplier *
    sum(rule.terms.map(({ weight }) => weight)) / sum(old.terms.map(({ weight }) => weight));
  const points = new Map(rule.bonuses.map((bonus) => [bonus.feature, bonus.points]));
  return scale > 0 && rule.terms.length === old.terms.length &&
    rule.terms.every(({ metric, scaling }, j) =>
      metric === old.terms[j].metric &&
      JSON.stringify(scaling) === JSON.stringify(old.terms[j].scaling)
    ) && rule.bonuses.length === old.bonuses.length &&
    old.bonuses.every((bonus) => {
      const now = points.get(bonus.feature);
      return now !== undefined && Math.abs(now - scale * bonus.points) < 1e-4;
    });
}

/** Judges other weights of a rule's own terms by draws that know what the ratings were used for. */
function fittedGain(
  bench: Bench,
  oldRule: IndexRule,
  rule: IndexRule,
  { confidence, seed }: { readonly confidence: number; readonly seed: number },
): Omit<ProposalGain, "basis" | "warnings"> | null {
  const data = recalibrationData(bench, oldRule);
  const weights = rule.terms.map(({ weight }) => weight);
  const { candidates, also, reason } = reviseWeights(data.parts, data.ratings, {
    old: oldRule.terms.map(({ weight }) => weight),
    groups: data.tree,
    also: [weights],
    confidence,
    draws: GAIN_DRAWS,
    seed,
  });
  const about = { confidence, n: data.ratings.length, method: FITTED_METHOD };
  if (reason !== null) {
    const none = noEstimate(reason, about);
    return { gain: none, old: none, new: none, lines: data.tree.lines, makers: data.tree.makers };
  }
  const inForce = candidates.find(({ candidate }) => candidate === "weights in force")!;
  return {
    gain: estimateOf(also[0].gains, about),
    old: estimateOf(inForce.rank_correlations, about),
    new: estimateOf(also[0].rank_correlations, about),
    lines: data.tree.lines,
    makers: data.tree.makers,
  };
}

/** How gains of fitted weights are estimated, in a clause. */
export const FITTED_METHOD =
  `regression on the terms with the weights in force as first guess, shoes kin, ${GAIN_DRAWS} draws`;
