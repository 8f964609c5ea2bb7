import { createHash } from "node:crypto";
import { sum } from "simple-statistics";
import * as option from "../../options.ts";
import { CantAnswer } from "../../records/cant_answer.ts";
import { ruleInForce } from "../../records/selection.ts";
import type {
  Bench,
  FiledProposal,
  IndexRule,
  ProposalCriteria,
  RuleProposal,
} from "../../records/types.ts";
import type { Estimate } from "../../statistics/estimate.ts";
import type { Reason } from "../../statistics/reason.ts";
import { spearman } from "../../statistics/spearman.ts";
import { applyRule, applyRuleToNewcomers, type RuleScore } from "../index/apply_rule.ts";
import {
  type DrawnIndexScores,
  drawnIndexScores,
  type IndexScores,
} from "../index/index_scores.ts";
import type { RuleAdvice } from "../index/index_recalibration.ts";
import { type GainBasis, proposalGain } from "../index/proposal_gain.ts";
import { type RankMoves, rankMoves, type ScoreLink, scoreLink } from "../index/rank_moves.ts";
import { withWeights } from "../index/recalibration_data.ts";
import { lastDay, type RuleValues, ruleValues } from "../index/rule_values.ts";
import { type ShoesToSettle, shoesToSettle } from "../index/shoes_to_settle.ts";
import { panelValues } from "../panel/panel_values.ts";
import { type TrialReliability, trialReliability } from "../repeatability/trial_reliability.ts";
import { type BonusWorth, bonusWorth } from "./bonus_worth.ts";
import { type OrderFlips, orderFlips } from "./order_flips.ts";
import { type PileUp, pileUps } from "./pile_ups.ts";
import {
  type ProposalRegistration,
  proposalRegistration,
  type TriedProposal,
  triedProposals,
} from "./proposal_registration.ts";
import { type RuleCoverage, ruleCoverage } from "./rule_coverage.ts";

/** One criterion of a proposal, judged. */
export type JudgedCriterion = {
  readonly name: "min_gain" | "max_rank_moves" | "min_coverage";
  /** As the proposal sets it. */
  readonly wanted: number;
  /** A gain, or a share; null where there is none. */
  readonly found: number | null;
  /** Of a gain; a count has none. */
  readonly lower: number | null;
  readonly upper: number | null;
  /** How many shoes of how many a share counts; the shoes that a gain stands on, of themselves. */
  readonly shoes: number;
  readonly of: number;
  /** Why nothing was found. */
  readonly found_reason: Reason | null;
  readonly outcome: "passes" | "fails" | "can't be judged";
  /** What would settle it, where it can't be judged. */
  readonly settles: Settles | null;
};

/** What would settle a criterion. */
export type Settles =
  /** More shoes with a rating and both scores; `waiting` rated ones lack nothing but the bench. */
  | { readonly kind: "more-shoes"; readonly settle: ShoesToSettle; readonly waiting: number }
  | { readonly kind: "bench-the-listed" };

/** What one weight does to the verdict. */
export type WeightSensitivity = {
  readonly metric: string;
  readonly title: string;
  readonly weight: number;
  /** The weight a fifth lower and a fifth higher, the others moved so that the sum stays. */
  readonly lower: WeightStep;
  readonly higher: WeightStep;
};

/** A rule with one weight moved. */
export type WeightStep = {
  readonly weight: number;
  /** Shoes that move more than three places from the proposal's own table, as a share. */
  readonly share_moved: number | null;
  /** Rank correlation with the proposal's own table. */
  readonly same_order: number | null;
  /** Rank correlation with the court, less that of the rule in force. */
  readonly gain: number | null;
  readonly reason: Reason | null;
};

/** A verdict on a proposed rule, and everything behind it. */
export type RuleVerdict = {
  readonly proposal:
    & Pick<RuleProposal, "id" | "title" | "asked_on" | "asked_by" | "against" | "note">
    & { readonly rule: IndexRule };
  readonly verdict: RuleAdvice;
  readonly criteria: readonly JudgedCriterion[];
  readonly confidence: number;
  /** SHA-256 of the four criteria; what binds is the code of a registration. */
  readonly criteria_sha256: string;
  readonly attribute_title: string;
  /** When and as what it was registered; null for one that never was. */
  readonly registered: ProposalRegistration | null;
  /** Apart, on shoes first rated after it was registered. */
  readonly since_registered: {
    readonly gain: Estimate;
    readonly verdict: RuleAdvice;
  } | null;
  /** Other proposals registered so far. */
  readonly tried: readonly TriedProposal[];
  /** The version under which this very rule is in force, if it is. */
  readonly in_force: { readonly version: string; readonly effective: string } | null;
  /** The version in force, where the proposal is against an older one. */
  readonly superseded_by: string | null;
  readonly gain: Estimate;
  readonly gain_old: Estimate;
  readonly gain_new: Estimate;
  /** How the scores came to know nothing of the ratings they are judged on. */
  readonly gain_basis: GainBasis;
  readonly lines: number;
  readonly makers: number;
  readonly coverage: RuleCoverage["coverage"];
  readonly rebench: RuleCoverage["rebench"];
  readonly rank_moves: RankMoves;
  readonly link: ScoreLink;
  readonly pile_ups: readonly PileUp[];
  readonly bonuses: readonly BonusWorth[];
  readonly sensitivity: readonly WeightSensitivity[];
  readonly flips: OrderFlips;
  readonly scores_old: IndexScores;
  readonly scores_new: IndexScores;
  readonly warnings: readonly Reason[];
};

/** On whose noise, and how it is simulated. */
export type RuleProposalOptions = {
  readonly seed: number;
  /** Noise for the score tables; studied here unless given. */
  readonly reliability?: Pick<TrialReliability, "metrics">;
};

/**
 * Does a proposed rule meet what was asked of it before anyone looked?
 *
 * The verdict follows from the proposal's criteria alone: *adopt* when all pass, *keep* when any fails, else
 * *not enough evidence*. The gain (`proposalGain`) passes when its whole interval reaches `min_gain` and fails
 * when none of it does; the two counts just pass or fail. All else (pile-ups, bonuses, sensitivity, flips)
 * is there for people to weigh, and changes nothing.
 *
 * @param bench as of the date in question; the proposal may come from elsewhere
 * @throws {RangeError} if the bench has no rule that the proposal may stand against, or lacks a metric it names
 */
export function ruleProposal(
  bench: Bench,
  proposal: RuleProposal & Partial<FiledProposal>,
  { seed, reliability: known }: RuleProposalOptions,
): RuleVerdict {
  option.check("studies.ruleProposal", arguments[2], {
    seed: option.needed(option.seed),
    reliability: option.thing,
    resamples: option.resamples,
  });
  const oldRule = ruleAgainst(bench, proposal);
  const newRule = proposal.rule;
  const { criteria } = proposal;
  const { confidence } = criteria;
  const metrics = [...new Set([...oldRule.terms, ...newRule.terms].map(({ metric }) => metric))];
  const reliability = known ?? trialReliability(bench, { seed, metrics });
  const values = ruleValues(bench, metrics, reliability);
  const shared = { reliability, confidence, seed };
  const old = drawnIndexScores(bench, { rule: oldRule, ...shared });
  const updated = drawnIndexScores(bench, { rule: newRule, ...shared });

  const ratings = new Map(
    panelValues(bench, newRule.target_attribute).shoes.map((
      { shoe_id, value },
    ) => [shoe_id, value]),
  );
  const judged = proposalGain(bench, proposal, { oldRule, confidence, seed });
  const flips = orderFlips(old, updated);
  const moves = withFlips(rankMoves(old.scores, updated.scores), flips);
  const { coverage, rebench } = ruleCoverage(bench, {
    old: old.scores,
    updated: updated.scores,
    rule: newRule,
    rated: new Set(ratings.keys()),
  });
  const shapes = { moves, coverage, rebench };
  const list = judgeCriteria(criteria, { gain: judged.gain, ...shapes });
  const registered = proposalRegistration(bench, proposal);
  const later = registered === null ? null : proposalGain(bench, proposal, {
    oldRule,
    confidence,
    seed,
    since: registered.on,
  }).gain;
  const attribute = bench.settings.attributes.find(({ id }) => id === newRule.target_attribute);
  const { id, title, asked_on, asked_by, against, note } = proposal;
  return {
    proposal: { id, title, asked_on, asked_by, against, note, rule: newRule },
    verdict: verdictOf(list),
    criteria: list,
    confidence,
    criteria_sha256: createHash("sha256").update(criteriaText(criteria)).digest("hex"),
    attribute_title: attribute?.title ?? newRule.target_attribute,
    registered,
    since_registered: later === null ? null : {
      gain: later,
      verdict: verdictOf(judgeCriteria(criteria, { gain: later, ...shapes })),
    },
    tried: triedProposals(bench, proposal),
    ...standing(bench, newRule, oldRule),
    gain: judged.gain,
    gain_old: judged.old,
    gain_new: judged.new,
    gain_basis: judged.basis,
    lines: judged.lines,
    makers: judged.makers,
    coverage,
    rebench,
    rank_moves: moves,
    link: scoreLink(moves),
    pile_ups: [
      ...pileUps(bench, oldRule, old.scores, "in force"),
      ...pileUps(bench, newRule, updated.scores, "proposed"),
    ],
    bonuses: bonusWorth(newRule, updated.scores),
    sensitivity: sensitivityOf(bench, newRule, {
      values,
      ratings,
      oldScores: applyRuleToNewcomers(bench, oldRule, values.table),
      updated,
    }),
    flips,
    scores_old: old.scores,
    scores_new: updated.scores,
    warnings: judged.warnings,
  };
}

/** Moves in rank with the flips of the pairs that both tables tell apart, so that picture and text count alike. */
function withFlips(moves: RankMoves, { real }: OrderFlips): RankMoves {
  return {
    ...moves,
    shoes: moves.shoes.map((shoe) => ({
      ...shoe,
      flips:
        real.filter(({ was_ahead, now_ahead }) =>
          was_ahead === shoe.shoe_id || now_ahead === shoe.shoe_id
        ).length,
    })),
  };
}

/** The four criteria as JSON, in the order of the data contract, without blanks. */
export function criteriaText(
  { min_gain, max_rank_moves, min_coverage, confidence }: ProposalCriteria,
): string {
  return JSON.stringify({ min_gain, max_rank_moves, min_coverage, confidence });
}

/** Whether the rule is in force already, or another is by now than the one it stands against. */
function standing(
  bench: Bench,
  rule: IndexRule,
  old: IndexRule,
): Pick<RuleVerdict, "in_force" | "superseded_by"> {
  const today = lastDay(bench) ?? "9999-12-31";
  const now = ruleInForce(bench, today, rule.id);
  const same = now !== null && content(now) === content(rule);
  return {
    in_force: same ? { version: now.version, effective: now.effective } : null,
    superseded_by: now === null || now.version === old.version ? null : now.version,
  };
}

/** What makes a score, without names and days. */
function content(rule: IndexRule): string {
  const { title: _title, note: _note, version: _version, effective: _effective, ...rest } = rule;
  return JSON.stringify(rest);
}

function ruleAgainst(bench: Bench, { id, against, rule }: RuleProposal): IndexRule {
  const own = bench.rules.filter((one) => one.id === rule.id);
  const found = own.find(({ version }) => version === against);
  if (found === undefined) {
    const others = own.map(({ version }) => version).join(", ") ||
      `rules of ${[...new Set(bench.rules.map((one) => one.id))].join(", ") || "no"} id`;
    throw new CantAnswer(
      { code: "not-on-bench", what: "rule", id: against },
      `Proposal "${id}" is against version "${against}" of "${rule.id}", which is not there; the bench has ${others}`,
    );
  }
  if (found.target_attribute !== rule.target_attribute) {
    throw new CantAnswer(
      { code: "another-index", attribute: rule.target_attribute, other: found.target_attribute },
      `Proposal "${id}" stands for "${rule.target_attribute}", version "${against}" for "${found.target_attribute}": give it an id of its own, as another index`,
    );
  }
  const ids = bench.metrics.map((metric) => metric.id);
  const unknown = rule.terms.find(({ metric }) => !ids.includes(metric));
  if (unknown !== undefined) {
    throw new CantAnswer(
      { code: "not-on-bench", what: "metric", id: unknown.metric },
      `Proposal "${id}" weighs "${unknown.metric}", which is no metric of the bench; there are ${
        ids.join(", ")
      }`,
    );
  }
  return found;
}

function judgeCriteria(
  criteria: ProposalCriteria,
  { gain, moves, coverage, rebench }: {
    readonly gain: Estimate;
    readonly moves: RankMoves;
    readonly coverage: RuleCoverage["coverage"];
    readonly rebench: RuleCoverage["rebench"];
  },
): JudgedCriterion[] {
  const { min_gain, max_rank_moves, min_coverage } = criteria;
  const gainOutcome = gain.lower === null || gain.upper === null
    ? "can't be judged"
    : gain.lower >= min_gain
    ? "passes"
    : gain.upper < min_gain
    ? "fails"
    : "can't be judged";
  const count = (meets: boolean | null) =>
    meets === null ? "can't be judged" : meets ? "passes" : "fails";
  const plain = { lower: null, upper: null };
  return [
    {
      name: "min_gain",
      wanted: min_gain,
      found: gain.estimate,
      lower: gain.lower,
      upper: gain.upper,
      shoes: gain.n,
      of: gain.n,
      found_reason: gain.estimate_reason,
      outcome: gainOutcome,
      settles: gainOutcome !== "can't be judged" ? null : {
        kind: "more-shoes",
        settle: shoesToSettle(gain, min_gain),
        waiting: rebench.filter(({ rated }) => rated).length,
      },
    },
    {
      name: "max_rank_moves",
      wanted: max_rank_moves,
      found: moves.share,
      ...plain,
      shoes: moves.more_than_three,
      of: moves.compared,
      found_reason: moves.share_reason,
      // A share of whole shoes may miss a limit by rounding alone.
      outcome: count(moves.share === null ? null : moves.share <= max_rank_moves + 1e-12),
      settles: moves.share === null ? { kind: "bench-the-listed" } : null,
    },
    {
      name: "min_coverage",
      wanted: min_coverage,
      found: coverage.share_new,
      ...plain,
      shoes: coverage.scorable_new,
      of: coverage.shoes,
      found_reason: coverage.share_reason,
      outcome: count(
        coverage.share_new === null ? null : coverage.share_new >= min_coverage - 1e-12,
      ),
      settles: null,
    },
  ];
}

/** From the criteria alone. */
function verdictOf(criteria: readonly JudgedCriterion[]): RuleAdvice {
  if (criteria.some(({ outcome }) => outcome === "fails")) return "keep";
  return criteria.every(({ outcome }) => outcome === "passes") ? "adopt" : "not enough evidence";
}

function sensitivityOf(
  bench: Bench,
  rule: IndexRule,
  { values, ratings, oldScores, updated }: {
    readonly values: RuleValues;
    readonly ratings: ReadonlyMap<string, number>;
    readonly oldScores: readonly RuleScore[];
    readonly updated: DrawnIndexScores;
  },
): WeightSensitivity[] {
  const whole = sum(rule.terms.map(({ weight }) => weight));
  const own = new Map(
    updated.scores.shoes.flatMap(({ shoe_id, score, reference }) =>
      reference ? [] : [[shoe_id, score] as const]
    ),
  );
  const before = new Map(oldScores.map(({ shoe_id, score }) => [shoe_id, score]));
  const step = (place: number, factor: number): WeightStep => {
    const weight = Math.min(whole, rule.terms[place].weight * factor);
    const rest = whole - rule.terms[place].weight;
    if (!(rest > 0)) {
      const reason = { code: "only-weight" };
      return { weight: whole, share_moved: 0, same_order: 1, gain: null, reason };
    }
    const weights = rule.terms.map((term, j) =>
      j === place ? weight : term.weight * (whole - weight) / rest
    );
    const scored = applyRule(bench, withWeights(rule, weights), values.table)
      .filter(({ shoe_id, score }) => score !== null && own.has(shoe_id));
    const here = scored.map(({ score }) => score!);
    const there = scored.map(({ shoe_id }) => own.get(shoe_id)!);
    const rank = (score: number, all: readonly number[]) =>
      all.filter((other) => other > score + 1e-12).length;
    const moved =
      scored.filter((_, i) => Math.abs(rank(here[i], here) - rank(there[i], there)) > 3).length;
    const felt = scored.map(({ shoe_id, score }) => ({
      score: score!,
      rating: ratings.get(shoe_id) ?? null,
      before: before.get(shoe_id) ?? null,
    })).filter((row) => row.rating !== null && row.before !== null);
    const court = (list: readonly number[]) =>
      spearman(list, felt.map(({ rating }) => rating!), { interval: "none", permutations: 0 })
        .estimate;
    const [now, then] = [court(felt.map((row) => row.score)), court(felt.map((r) => r.before!))];
    return {
      weight,
      share_moved: scored.length === 0 ? null : moved / scored.length,
      same_order: spearman(here, there, { interval: "none", permutations: 0 }).estimate,
      gain: now === null || then === null ? null : now - then,
      reason: scored.length === 0 ? { code: "none-scored" } : null,
    };
  };
  return rule.terms.map(({ metric, weight }, place) => ({
    metric,
    title: bench.metrics.find(({ id }) => id === metric)?.title ?? metric,
    weight,
    lower: step(place, 0.8),
    higher: step(place, 1.2),
  }));
}
