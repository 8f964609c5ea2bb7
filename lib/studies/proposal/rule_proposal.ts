import type { ReasonOrWords } from "../../statistics/reason.ts";
import { createHash } from "node:crypto";
import { sum } from "simple-statistics";
import { CantAnswer } from "../../records/cant_answer.ts";
import { benchUntil } from "../../records/quarters.ts";
import type { Bench, IndexRule, ProposalCriteria, RuleProposal } from "../../records/types.ts";
import type { Estimate } from "../../statistics/estimate.ts";
import { reviseWeights } from "../../statistics/revise_weights.ts";
import { spearman } from "../../statistics/spearman.ts";
import type { WilliamsT } from "../../statistics/williams_t.ts";
import { sayReason } from "../../words/reasons.ts";
import { applyRule, applyRuleToNewcomers, type RuleScore } from "../index/apply_rule.ts";
import { courtGain, shoesToSettle } from "../index/court_gain.ts";
import {
  type DrawnIndexScores,
  drawnIndexScores,
  type IndexScores,
} from "../index/index_scores.ts";
import { recalibrationData, type RuleAdvice, withWeights } from "../index/index_recalibration.ts";
import { panelValues } from "../panel/panel_values.ts";
import { type RankMoves, rankMoves, type ScoreLink, scoreLink } from "../index/rank_moves.ts";
import { type RuleCoverage, ruleCoverage } from "./rule_coverage.ts";
import { type OrderFlips, orderFlips } from "./order_flips.ts";
import { type BonusWorth, bonusWorth } from "./bonus_worth.ts";
import { type PileUp, pileUps } from "./pile_ups.ts";
import { type RuleValues, ruleValues } from "../index/rule_values.ts";
import { type TrialReliability, trialReliability } from "../repeatability/trial_reliability.ts";

/** One criterion of a proposal, judged. */
export type JudgedCriterion = {
  readonly name: "min_gain" | "max_rank_moves" | "min_coverage";
  readonly title: string;
  /** In words, as the proposal sets it. */
  readonly wanted: string;
  readonly found: string;
  readonly outcome: "passes" | "fails" | "can't be judged";
  /** What would settle it, where it can't be judged. */
  readonly settles: string | null;
};

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
  readonly reason: ReasonOrWords | null;
};

/** A verdict on a proposed rule, and everything behind it. */
export type RuleVerdict = {
  readonly proposal:
    & Pick<RuleProposal, "id" | "title" | "asked_on" | "asked_by" | "against" | "note">
    & { readonly rule: IndexRule };
  readonly verdict: RuleAdvice;
  readonly verdict_reason: string;
  readonly criteria: readonly JudgedCriterion[];
  /** Exactly what was hashed, so that anyone can hash it again. */
  readonly criteria_text: string;
  readonly criteria_sha256: string;
  readonly attribute_title: string;
  readonly gain: Estimate;
  readonly gain_old: Estimate;
  readonly gain_new: Estimate;
  readonly williams: WilliamsT;
  /** How the scores came to know nothing of the shoe they are judged on. */
  readonly gain_basis: string;
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
  readonly sentence: string;
  readonly warnings: readonly string[];
};

/** On whose noise, and how it is simulated. */
export type RuleProposalOptions = {
  readonly seed: number;
  /** Noise for the score tables; studied here unless given. */
  readonly reliability?: Pick<TrialReliability, "metrics">;
  readonly resamples?: number;
};

/**
 * Does a proposed rule meet what was asked of it before anyone looked?
 *
 * The verdict follows from the proposal's criteria alone: *adopt* when all pass, *keep* when any fails, else
 * *not enough evidence*. The gain passes when its whole interval reaches `min_gain` and fails when none of
 * it does; the two counts just pass or fail. All else (pile-ups, bonuses, sensitivity, flips) is there for
 * people to weigh, and changes nothing.
 *
 * The gain is out of sample in this way: neither rule's weights are touched here; a `standard` scaling sets
 * each shoe against the catalogue without it; and where the weights were fitted (`fitted_until`), shoes
 * rated by then are scored with weights fitted again without them. If that can't be done again, only
 * shoes rated later count. That a person who wrote the rule had seen the ratings can't be undone by any
 * arithmetic; how many came later is said.
 *
 * @param bench as of the date in question; the proposal may come from elsewhere
 * @throws {RangeError} if the bench has no rule of the version it is against, or lacks a metric it names
 */
export function ruleProposal(
  bench: Bench,
  proposal: RuleProposal,
  { seed, reliability: known, resamples = 4000 }: RuleProposalOptions,
): RuleVerdict {
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

  const rated = ratedShoes(bench, newRule.target_attribute);
  const basis = scoresOnUnseenShoes(bench, proposal, { oldRule, values, rated, seed });
  const judged = courtGain(basis.pairs, { confidence, resamples, seed });
  const moves = rankMoves(old.scores, updated.scores);
  const { coverage, rebench } = ruleCoverage(bench, {
    old: old.scores,
    updated: updated.scores,
    rule: newRule,
    rated: new Set(rated.values.keys()),
  });
  const list = judgeCriteria(criteria, { gain: judged.gain, moves, coverage, rebench });
  const verdict = verdictOf(list);
  const criteria_text = criteriaText(criteria);
  const attribute = bench.settings.attributes.find(({ id }) => id === newRule.target_attribute);
  const reason = verdictReason(verdict, list);
  return {
    proposal: {
      id: proposal.id,
      title: proposal.title,
      asked_on: proposal.asked_on,
      asked_by: proposal.asked_by,
      against: proposal.against,
      note: proposal.note,
      rule: newRule,
    },
    verdict,
    verdict_reason: reason,
    criteria: list,
    criteria_text,
    criteria_sha256: createHash("sha256").update(criteria_text).digest("hex"),
    attribute_title: attribute?.title ?? newRule.target_attribute,
    gain: judged.gain,
    gain_old: judged.old,
    gain_new: judged.new,
    williams: judged.williams,
    gain_basis: basis.words,
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
      ratings: rated.values,
      oldScores: applyRuleToNewcomers(bench, oldRule, values.table),
      updated,
    }),
    flips: orderFlips(old, updated),
    scores_old: old.scores,
    scores_new: updated.scores,
    sentence: `${proposal.title}: ${verdict}. ${reason}`,
    warnings: [
      ...rated.warnings,
      ...basis.warnings,
      ...(oldRule.target_attribute === newRule.target_attribute ? [] : [
        `The rule in force stands for ${oldRule.target_attribute}, the proposal for ${newRule.target_attribute}; the gain is judged on the latter.`,
      ]),
    ],
  };
}

/**
 * What exactly is hashed of the criteria?
 *
 * @returns the four criteria as JSON, in the order of the data contract, without blanks
 */
export function criteriaText(
  { min_gain, max_rank_moves, min_coverage, confidence }: ProposalCriteria,
): string {
  return JSON.stringify({ min_gain, max_rank_moves, min_coverage, confidence });
}

function ruleAgainst(bench: Bench, { id, against, rule }: RuleProposal): IndexRule {
  const found = bench.rules.find(({ version }) => version === against);
  if (found === undefined) {
    throw new CantAnswer(
      { code: "not-on-bench", what: "rule", id: against },
      `Proposal "${id}" is against version "${against}", which is not there; the bench has ${
        bench.rules.map(({ version }) => version).join(", ") || "no rule"
      }`,
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

type Rated = {
  readonly values: ReadonlyMap<string, number>;
  /** The first day on which each was rated. */
  readonly since: ReadonlyMap<string, string>;
  readonly warnings: readonly string[];
};

function ratedShoes(bench: Bench, attribute: string): Rated {
  const panel = panelValues(bench, attribute);
  const since = new Map<string, string>();
  for (const row of bench.impressions) {
    if (row.attribute !== attribute || row.rating === null) continue;
    const first = since.get(row.shoe_id);
    if (first === undefined || row.date < first) since.set(row.shoe_id, row.date);
  }
  return {
    values: new Map(panel.shoes.map((shoe) => [shoe.shoe_id, shoe.value])),
    since,
    warnings: panel.warnings,
  };
}

type UnseenScores = {
  readonly pairs: {
    readonly ratings: readonly number[];
    readonly old: readonly number[];
    readonly updated: readonly number[];
  };
  readonly words: string;
  readonly warnings: readonly string[];
};

/** Old and new score of every rated shoe, from rules that had no part in its rating. */
function scoresOnUnseenShoes(
  bench: Bench,
  { rule, asked_on, fitted_until }: RuleProposal,
  { oldRule, values, rated, seed }: {
    readonly oldRule: IndexRule;
    readonly values: RuleValues;
    readonly rated: Rated;
    readonly seed: number;
  },
): UnseenScores {
  const scoresUnder = (one: IndexRule) =>
    new Map(
      applyRuleToNewcomers(bench, one, values.table).map(({ shoe_id, score }) => [shoe_id, score]),
    );
  const old = scoresUnder(oldRule);
  const updated = scoresUnder(rule);
  const later = (shoe: string, day: string) => rated.since.get(shoe)! > day;
  const after = [...rated.values.keys()].filter((shoe) => later(shoe, asked_on)).length;
  let words = `Both rules are used as they stand. Of ${rated.values.size} rated shoes, ${
    after === 0 ? "none was" : `${after} were`
  } first rated after the proposal was made.`;
  const warnings: string[] = [];

  if (fitted_until !== null) {
    const again = refitted(bench, { rule, oldRule, values, seed, until: fitted_until });
    for (const shoe of rated.values.keys()) {
      if (!later(shoe, fitted_until)) updated.set(shoe, again?.get(shoe) ?? null);
    }
    words = again === null
      ? `The weights were fitted to ratings up to ${fitted_until} and that fit can't be done again here, so only shoes first rated after it count.`
      : `The weights were fitted to ratings up to ${fitted_until}; shoes rated by then are scored with weights fitted again without them.`;
  } else if (after === 0 && rated.values.size > 0) {
    warnings.push(
      "Every rating was there when the proposal was made. If its author looked at them, the gain is too hopeful; shoes rated from now on will tell.",
    );
  }
  const usable = [...rated.values].flatMap(([shoe, rating]) => {
    const [before, now] = [old.get(shoe) ?? null, updated.get(shoe) ?? null];
    return before === null || now === null ? [] : [{ rating, before, now }];
  });
  return {
    pairs: {
      ratings: usable.map(({ rating }) => rating),
      old: usable.map(({ before }) => before),
      updated: usable.map(({ now }) => now),
    },
    words,
    warnings,
  };
}

/** Fits the weights once more without each shoe; null if that does not lead to the proposal's weights. */
function refitted(
  bench: Bench,
  { rule, oldRule, values, seed, until }: {
    readonly rule: IndexRule;
    readonly oldRule: IndexRule;
    readonly values: RuleValues;
    readonly seed: number;
    readonly until: string;
  },
): ReadonlyMap<string, number> | null {
  const sameTerms = rule.terms.length === oldRule.terms.length &&
    rule.terms.every(({ metric }, j) => metric === oldRule.terms[j].metric);
  if (!sameTerms) return null;
  const data = recalibrationData(benchUntil(bench, until), oldRule);
  const revision = reviseWeights(data.parts, data.ratings, {
    old: oldRule.terms.map(({ weight }) => weight),
    confidence: bench.settings.confidence,
    seed,
  });
  const found = revision.candidates.find(({ candidate }) => candidate === "new weights");
  const same = revision.weights.every(({ revised }, j) =>
    Math.abs(revised - rule.terms[j].weight) < 1e-3
  );
  if (!same || found === undefined) return null;
  return new Map(data.shoe_ids.flatMap((shoe, row) => {
    const one = bench.shoes.filter(({ shoe_id }) => shoe_id === shoe);
    const [{ score }] = applyRule(
      { ...bench, shoes: one },
      withWeights(rule, found.weights![row]),
      values.table,
    );
    return score === null ? [] : [[shoe, score] as const];
  }));
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
  const { min_gain, max_rank_moves, min_coverage, confidence } = criteria;
  const gainOutcome = gain.lower === null || gain.upper === null
    ? "can't be judged"
    : gain.lower >= min_gain
    ? "passes"
    : gain.upper < min_gain
    ? "fails"
    : "can't be judged";
  const count = (meets: boolean | null) =>
    meets === null ? "can't be judged" : meets ? "passes" : "fails";
  return [
    {
      name: "min_gain",
      title: "Gain in rank correlation with the court",
      wanted: `at least ${min_gain}, at ${percent(confidence)} confidence`,
      found: gain.estimate === null
        ? sayReason(gain.estimate_reason!)
        : `${signed(gain.estimate)}${
          gain.lower === null ? "" : ` (${signed(gain.lower)} to ${signed(gain.upper!)})`
        } on ${gain.n} shoes`,
      outcome: gainOutcome,
      settles: gainOutcome === "can't be judged" ? settlesGain(gain, min_gain, rebench) : null,
    },
    {
      name: "max_rank_moves",
      title: "Share of the catalogue that moves more than three places",
      wanted: `at most ${percent(max_rank_moves)}`,
      found: moves.share === null
        ? sayReason(moves.share_reason!)
        : `${percent(moves.share)} (${moves.more_than_three} of ${moves.compared} shoes)`,
      // A share of whole shoes may miss a limit by rounding alone.
      outcome: count(moves.share === null ? null : moves.share <= max_rank_moves + 1e-12),
      settles: moves.share === null ? "Bench the shoes that the page lists." : null,
    },
    {
      name: "min_coverage",
      title: "Share of the catalogue that can be scored",
      wanted: `at least ${percent(min_coverage)}`,
      found: coverage.share_new === null
        ? "the bench has no shoes"
        : `${percent(coverage.share_new)} (${coverage.scorable_new} of ${coverage.shoes} shoes)`,
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

function verdictReason(verdict: RuleAdvice, criteria: readonly JudgedCriterion[]): string {
  const having = (outcome: JudgedCriterion["outcome"]) =>
    criteria.filter((criterion) => criterion.outcome === outcome)
      .map(({ title, found, wanted }) => `${title}: ${found}, wanted ${wanted}`).join("; ");
  if (verdict === "adopt") return "All criteria that were set beforehand are met.";
  if (verdict === "keep") return `Not met: ${having("fails")}.`;
  const settles = criteria.flatMap(({ settles }) => settles ?? []).join(" ");
  return `Open: ${having("can't be judged")}. ${settles}`.trim();
}

function settlesGain(
  gain: Estimate,
  min_gain: number,
  rebench: RuleCoverage["rebench"],
): string {
  const { shoes, reason } = shoesToSettle(gain, min_gain);
  const waiting = rebench.filter(({ rated }) => rated).length;
  const list = waiting === 0
    ? ""
    : ` ${
      waiting === 1 ? "1 rated shoe waits" : `${waiting} rated shoes wait`
    } for nothing but the bench: re-bench them first.`;
  return shoes === null
    ? `No number of shoes can be named: ${sayReason(reason!)}.${list}`
    : `About ${shoes} more shoes with a rating and both scores would settle it.${list}`;
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
  const own = new Map(updated.scores.shoes.map(({ shoe_id, score }) => [shoe_id, score]));
  const before = new Map(oldScores.map(({ shoe_id, score }) => [shoe_id, score]));
  const step = (place: number, factor: number): WeightStep => {
    const weight = Math.min(whole, rule.terms[place].weight * factor);
    const rest = whole - rule.terms[place].weight;
    if (!(rest > 0)) {
      const reason = "it is the only weight, and the sum stays";
      return { weight: whole, share_moved: 0, same_order: 1, gain: null, reason };
    }
    const weights = rule.terms.map((term, j) =>
      j === place ? weight : term.weight * (whole - weight) / rest
    );
    const scored = applyRule(bench, withWeights(rule, weights), values.table)
      .filter(({ score }) => score !== null);
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
      reason: scored.length === 0 ? "no shoe can be scored" : null,
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

function percent(share: number): string {
  return `${Number((100 * share).toFixed(1))}%`;
}

function signed(value: number): string {
  const shown = value.toFixed(3);
  return Number(shown) > 0 ? `+${shown}` : shown.replace("-", "−");
}
