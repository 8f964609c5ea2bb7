import { hasCode, type ReasonOrWords } from "../../statistics/reason.ts";
import { sum } from "simple-statistics";
import { ruleInForce } from "../../records/selection.ts";
import type { Bench, IndexRule, ProposalCriteria, RuleProposal } from "../../records/types.ts";
import { type Estimate, noEstimate } from "../../statistics/estimate.ts";
import {
  type Candidate,
  type CandidateFit,
  reviseWeights,
  type WeightRevision,
} from "../../statistics/revise_weights.ts";
import type { WilliamsT } from "../../statistics/williams_t.ts";
import { sayReason } from "../../words/reasons.ts";
import { applyRule } from "./apply_rule.ts";
import { courtGain, shoesToSettle } from "./court_gain.ts";
import { type IndexScores, indexScores } from "./index_scores.ts";
import { panelValues } from "../panel/panel_values.ts";
import { type RankMoves, rankMoves, type ScoreLink, scoreLink } from "./rank_moves.ts";
import { draftProposal } from "./recalibration_draft.ts";
import { lastDay, ruleValues } from "./rule_values.ts";
import { shoeName } from "../shoes/shoe_name.ts";
import { type TrialReliability, trialReliability } from "../repeatability/trial_reliability.ts";

/** Whether to change a rule. */
export type RuleAdvice = "adopt" | "keep" | "not enough evidence";

/** One term of the rule, weighed anew. */
export type RecalibratedWeight = {
  readonly metric: string;
  readonly title: string;
  readonly old: number;
  /** Its limits are those of the best fit, which nothing pulls toward the old weight. */
  readonly new: Estimate;
  readonly best_fit: number | null;
  readonly kept: boolean;
  /** Why the weight is left alone. */
  readonly kept_reason: ReasonOrWords | null;
};

/** What a candidate does on shoes that had no part in its weights. */
export type RecalibrationFit = {
  readonly candidate: string;
  readonly rank_correlation: Estimate;
  /** √ of the mean squared error, in rating points. */
  readonly error: number | null;
  readonly error_reason: ReasonOrWords | null;
  /** Rank correlation less that of the weights in force. */
  readonly gain: Estimate;
};

/** New weights for a rule, and whether they are worth a change. */
export type IndexRecalibration = {
  readonly rule:
    | Pick<IndexRule, "id" | "version" | "title" | "effective" | "target_attribute">
    | null;
  readonly attribute_title: string | null;
  readonly advice: RuleAdvice;
  readonly advice_reason: string;
  /** Smallest gain in rank correlation worth re-scoring a catalogue for. */
  readonly min_gain: number;
  readonly confidence: number;
  /** Shoes with a rating and all terms. */
  readonly shoes: number;
  readonly left_out: readonly {
    readonly shoe_id: string;
    readonly name: string;
    readonly reason: string;
  }[];
  readonly weights: readonly RecalibratedWeight[];
  /** How hard the weights were pulled toward those in force; null: they are those in force. */
  readonly strength: number | null;
  readonly fits: readonly RecalibrationFit[];
  readonly gain: Estimate;
  readonly williams: WilliamsT;
  readonly shoes_needed: number | null;
  readonly shoes_needed_reason: ReasonOrWords | null;
  /** From the new rule's own scale to the published one; `scores_new` is on the latter. */
  readonly link: ScoreLink;
  readonly rank_moves: RankMoves;
  readonly scores_old: IndexScores;
  readonly scores_new: IndexScores;
  /** Ready for `proposals/`; null when the weights stay. */
  readonly draft: RuleProposal | null;
  readonly draft_reason: ReasonOrWords | null;
  readonly sentence: string;
  readonly warnings: readonly string[];
};

/** Which rule, on whose noise, and what a change must bring. */
export type IndexRecalibrationOptions = {
  readonly seed: number;
  /** The rule in force on the bench's last day unless given. */
  readonly rule?: IndexRule | null;
  /** Noise for the score tables; studied here unless given. */
  readonly reliability?: Pick<TrialReliability, "metrics">;
  /** The table under the same rule, from `indexScores` with the same noise, confidence and seed; made here unless given. */
  readonly scores?: IndexScores;
  readonly confidence?: number;
  readonly min_gain?: number;
  /** Of shoes, for the intervals of weights, within each fold too. */
  readonly resamples?: number;
  /** For the draft proposal. */
  readonly criteria?: ProposalCriteria;
};

const CANDIDATES: Readonly<Record<Candidate, string>> = {
  "weights in force": "weights in force",
  "new weights": "new weights",
  "freest fit": "freest fit",
  "equal weights": "equal weights",
  "best single column": "best single metric",
  "the mean": "the mean",
};

/**
 * Would other weights bring the index closer to what players feel, and is the change worth it?
 *
 * The panel's value of the rule's target attribute, adjusted for who tested, on the rule's scaled terms:
 * weights of at least 0 with the old sum, pulled toward those in force, and left alone one by one where
 * the shoes can't tell them from the old ones (`reviseWeights`). Bonuses keep their worth in points. Each
 * candidate is judged on shoes that were left out when its weights were found; scaling by the catalogue
 * uses no rating. The interval of the gain takes those left-out scores as given and resamples shoes.
 *
 * Advice: *adopt* when the whole interval of the gain reaches `min_gain`; *keep* when none of it does
 * (if no weight moves whichever shoe is left out, of the freest fit instead), else *not enough
 * evidence*, with how many shoes more would settle it.
 *
 * @param bench as of the date in question, see `benchUntil`
 * @returns without a rule, a rating or shoes with all terms: *not enough evidence* and the reason
 * @throws {RangeError} if an option is out of range
 */
export function indexRecalibration(
  bench: Bench,
  {
    seed,
    rule: given,
    reliability: known,
    scores,
    confidence = bench.settings.confidence,
    min_gain = 0.05,
    resamples = 1000,
    criteria,
  }: IndexRecalibrationOptions,
): IndexRecalibration {
  const today = lastDay(bench) ?? "9999-12-31";
  const rule = given === undefined ? ruleInForce(bench, today) : given;
  const reliability = known ??
    trialReliability(bench, { seed, metrics: rule?.terms.map(({ metric }) => metric) ?? [] });
  const published = scores ?? indexScores(bench, { rule, reliability, confidence, seed });
  if (rule === null) return withoutRule(published, { confidence, min_gain });

  const data = recalibrationData(bench, rule);
  const revision = reviseWeights(data.parts, data.ratings, {
    old: rule.terms.map(({ weight }) => weight),
    confidence,
    resamples,
    seed,
  });
  const judgeOptions = { confidence, resamples: 4000, seed };
  const fits = judgeCandidates(revision, data.ratings, judgeOptions);
  const changed = revision.weights.some(({ kept }) => !kept);
  const about = { confidence, n: data.ratings.length, method: "no fit" };
  const none = noEstimate(revision.reason ?? "no fit", about);
  const by = (name: Candidate) => fits.find(({ candidate }) => candidate === CANDIDATES[name]);
  const gain = by("new weights")?.gain ?? none;
  // With all weights left alone whichever shoe is left out, the gain is 0 by construction and says nothing of
  // what there is to gain: the freest fit does.
  const idle = gain.lower === gain.upper;
  const decisive = changed || !idle ? gain : by("freest fit")?.gain ?? none;
  const advice = adviceOn(decisive, min_gain, changed);
  const needed = advice === "not enough evidence"
    ? shoesToSettle(decisive, min_gain)
    : { shoes: null, reason: "the question is settled" };

  const unlinked = withWeights(rule, revision.weights.map(({ revised }) => revised));
  const link = linkTo(published, bench, unlinked);
  const newRule = link.slope === null ? unlinked : linked(unlinked, link.slope, link.intercept!);
  const updated = changed
    ? indexScores(bench, {
      rule: newRule,
      reliability,
      confidence,
      seed,
      weightDraws: revision.draws,
    })
    : published;
  const weights = describeWeights(bench, rule, revision, { confidence, resamples });
  const reason = adviceWords(advice, { gain: decisive, changed, min_gain, needed, revision, data });
  const draft = changed
    ? draftProposal(rule, {
      weights: revision.weights.map(({ revised }) => revised),
      link,
      today,
      gain,
      shoes: data.ratings.length,
      criteria,
      min_gain,
      confidence,
    })
    : null;
  const attribute = bench.settings.attributes.find(({ id }) => id === rule.target_attribute);
  return {
    rule: {
      id: rule.id,
      version: rule.version,
      title: rule.title,
      effective: rule.effective,
      target_attribute: rule.target_attribute,
    },
    attribute_title: attribute?.title ?? rule.target_attribute,
    advice,
    advice_reason: reason,
    min_gain,
    confidence,
    shoes: data.ratings.length,
    left_out: data.left_out,
    weights,
    strength: revision.strength,
    fits,
    gain,
    williams: changed
      ? williamsOf(revision, data.ratings, judgeOptions)
      : { t: null, df: data.ratings.length - 3, p: null, reason: "the weights are the same" },
    shoes_needed: needed.shoes,
    shoes_needed_reason: needed.reason,
    link: changed ? link : { slope: 1, intercept: 0, link_reason: null, shoes: link.shoes },
    rank_moves: rankMoves(published, updated),
    scores_old: published,
    scores_new: updated,
    draft,
    draft_reason: draft === null ? "the weights stay, so there is nothing to propose" : null,
    sentence: `${adviceTitle(advice)}: ${reason}`,
    warnings: data.warnings,
  };
}

function withoutRule(
  scores: IndexScores,
  { confidence, min_gain }: { readonly confidence: number; readonly min_gain: number },
): IndexRecalibration {
  const reason = "no index rule is in force";
  const nothing = noEstimate(reason, { confidence, n: 0, method: "no fit" });
  return {
    rule: null,
    attribute_title: null,
    advice: "not enough evidence",
    advice_reason: "There is no index rule in force, so there are no weights to look at.",
    min_gain,
    confidence,
    shoes: 0,
    left_out: [],
    weights: [],
    strength: null,
    fits: [],
    gain: nothing,
    williams: { t: null, df: 0, p: null, reason },
    shoes_needed: null,
    shoes_needed_reason: reason,
    link: { slope: null, intercept: null, link_reason: reason, shoes: 0 },
    rank_moves: rankMoves(scores, scores),
    scores_old: scores,
    scores_new: scores,
    draft: null,
    draft_reason: reason,
    sentence: "There is no index rule in force, so there are no weights to look at.",
    warnings: [],
  };
}

/** Shoes with a rating and every term: what weights are fitted to. */
export type RecalibrationData = {
  readonly shoe_ids: readonly string[];
  readonly ratings: readonly number[];
  /** Per shoe, one column a term, such that the weighted sum is the score less the offset. */
  readonly parts: readonly (readonly number[])[];
  readonly left_out: IndexRecalibration["left_out"];
  readonly warnings: readonly string[];
};

/** Collects the shoes that weights of a rule can be fitted to. */
export function recalibrationData(bench: Bench, rule: IndexRule): RecalibrationData {
  const { table } = ruleValues(bench, rule.terms.map(({ metric }) => metric), null);
  const panel = panelValues(bench, rule.target_attribute);
  const felt = new Map(panel.shoes.map((shoe) => [shoe.shoe_id, shoe.value]));
  const names = new Map(bench.shoes.map((shoe) => [shoe.shoe_id, shoeName(shoe)]));
  const whole = sum(rule.terms.map(({ weight }) => weight));
  const scored = applyRule(bench, rule, table);
  const usable = scored.filter((row) =>
    felt.has(row.shoe_id) && row.terms.every(({ scaled }) => scaled !== null)
  );
  const left_out = scored.filter((row) => !usable.includes(row)).map((row) => ({
    shoe_id: row.shoe_id,
    name: names.get(row.shoe_id)!,
    reason: felt.has(row.shoe_id)
      ? `no value for ${row.missing_terms.join(", ")}`
      : `no rating of ${rule.target_attribute}`,
  }));
  return {
    shoe_ids: usable.map(({ shoe_id }) => shoe_id),
    ratings: usable.map(({ shoe_id }) => felt.get(shoe_id)!),
    parts: usable.map(({ terms, bonuses }) => {
      // A bonus is worth its points whatever the weights: as they sum to `whole`, so much of it goes
      // into every column.
      const bonus = sum(bonuses.map(({ points }) => points)) / whole;
      return terms.map(({ scaled }) => rule.multiplier * scaled! + bonus);
    }),
    left_out,
    warnings: panel.warnings,
  };
}

/** The same rule with other weights. */
export function withWeights(rule: IndexRule, weights: readonly number[]): IndexRule {
  return { ...rule, terms: rule.terms.map((term, j) => ({ ...term, weight: weights[j] })) };
}

/** The same rule on a scale of slope and intercept. */
function linked(rule: IndexRule, slope: number, intercept: number): IndexRule {
  return {
    ...rule,
    multiplier: rule.multiplier * slope,
    offset: rule.offset * slope + intercept,
    bonuses: rule.bonuses.map(({ feature, points }) => ({ feature, points: points * slope })),
  };
}

/** The line from a rule's own scores to those published. */
function linkTo(published: IndexScores, bench: Bench, rule: IndexRule): ScoreLink {
  const { table } = ruleValues(bench, rule.terms.map(({ metric }) => metric), null);
  const own = new Map(applyRule(bench, rule, table).map((row) => [row.shoe_id, row.score]));
  return scoreLink({
    shoes: published.shoes.flatMap(({ shoe_id, score }) => {
      const new_score = own.get(shoe_id) ?? null;
      return score === null || new_score === null ? [] : [{ old_score: score, new_score }];
    }),
  });
}

type JudgeOptions = {
  readonly confidence: number;
  readonly resamples: number;
  readonly seed: number;
};

function judgeCandidates(
  { candidates }: WeightRevision,
  ratings: readonly number[],
  options: JudgeOptions,
): RecalibrationFit[] {
  const inForce = candidates.find(({ candidate }) => candidate === "weights in force");
  return candidates.map(({ candidate, scores, error }): RecalibrationFit => {
    const reason = "it gives every shoe the same score";
    const nothing = noEstimate(reason, { ...options, n: ratings.length, method: "none" });
    const judged = scores === null
      ? null
      : courtGain({ ratings, old: inForce!.scores!, updated: scores }, options);
    return {
      candidate: CANDIDATES[candidate],
      rank_correlation: judged?.new ?? nothing,
      error,
      error_reason: null,
      gain: judged?.gain ?? nothing,
    };
  });
}

function williamsOf(
  { candidates }: WeightRevision,
  ratings: readonly number[],
  options: JudgeOptions,
): WilliamsT {
  const scores = (name: Candidate) =>
    (candidates.find(({ candidate }) => candidate === name) as CandidateFit).scores!;
  return courtGain(
    { ratings, old: scores("weights in force"), updated: scores("new weights") },
    options,
  ).williams;
}

function adviceOn(gain: Estimate, min_gain: number, changed: boolean): RuleAdvice {
  if (gain.lower === null || gain.upper === null) return "not enough evidence";
  if (gain.upper < min_gain) return "keep";
  return changed && gain.lower >= min_gain ? "adopt" : "not enough evidence";
}

function adviceTitle(advice: RuleAdvice): string {
  return { adopt: "Adopt", keep: "Keep", "not enough evidence": "Not enough evidence" }[advice];
}

function adviceWords(
  advice: RuleAdvice,
  { gain, changed, min_gain, needed, revision, data }: {
    readonly gain: Estimate;
    readonly changed: boolean;
    readonly min_gain: number;
    readonly needed: { readonly shoes: number | null; readonly reason: ReasonOrWords | null };
    readonly revision: WeightRevision;
    readonly data: RecalibrationData;
  },
): string {
  if (revision.reason !== null) {
    return `${sayReason(revision.reason)}, counting the shoes that have a rating and every term.`;
  }
  const n = data.ratings.length;
  const limits = gain.lower === null
    ? "unknown"
    : `${inPrint(gain.estimate!)} (${inPrint(gain.lower)} to ${inPrint(gain.upper!)})`;
  const more = needed.shoes === null
    ? needed.reason === null || hasCode(needed.reason, "nothing-open")
      ? ""
      : `; ${sayReason(needed.reason)}`
    : `; about ${needed.shoes} more shoes with a rating and every term would settle it`;
  if (changed) {
    const moved = revision.weights.filter(({ kept }) => !kept).length;
    const what =
      `${moved} of ${revision.weights.length} weights move, and on ${n} shoes left out ` +
      `in turn the new ones gain ${limits} in rank correlation`;
    return advice === "adopt"
      ? `${what}, wholly above the ${min_gain} that makes a change worth while.`
      : advice === "keep"
      ? `${what}, wholly below the ${min_gain} that would make a change worth while.`
      : `${what}, which leaves open whether it reaches ${min_gain}${more}.`;
  }
  const what =
    `on ${n} shoes no weights are shown to serve better than those in force: left out in ` +
    `turn, revised ones gain ${limits} in rank correlation`;
  return advice === "keep"
    ? `${what}, wholly below the ${min_gain} that would make a change worth while.`
    : `${what}, so that ${min_gain} can't be ruled out${more}.`;
}

function inPrint(value: number): string {
  return value.toFixed(2).replace("-", "−");
}

function describeWeights(
  bench: Bench,
  rule: IndexRule,
  { weights, reason, n }: WeightRevision,
  { confidence, resamples }: { readonly confidence: number; readonly resamples: number },
): RecalibratedWeight[] {
  return weights.map((weight, j) => {
    const { metric } = rule.terms[j];
    const about = {
      confidence,
      n,
      method: `bootstrap of the best fit, widened for its columns, ${resamples} resamples`,
    };
    return {
      metric,
      title: bench.metrics.find(({ id }) => id === metric)?.title ?? metric,
      old: weight.old,
      new: {
        estimate: weight.revised,
        estimate_reason: null,
        lower: weight.lower,
        upper: weight.upper,
        ...about,
        warnings: [],
      },
      best_fit: reason === null ? weight.best_fit : null,
      kept: weight.kept,
      kept_reason: !weight.kept ? null : reason ??
        "no better on shoes left out, within one standard error",
    };
  });
}
