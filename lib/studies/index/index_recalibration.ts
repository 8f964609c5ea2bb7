import { sampleStandardDeviation } from "simple-statistics";
import * as option from "../../options.ts";
import { ruleInForce } from "../../records/selection.ts";
import type { Bench, IndexRule, ProposalCriteria, RuleProposal } from "../../records/types.ts";
import { type Estimate, noEstimate } from "../../statistics/estimate.ts";
import { orderStatistics } from "../../statistics/order_statistics.ts";
import type { Reason } from "../../statistics/reason.ts";
import { estimateOf } from "../../statistics/rank_gain.ts";
import {
  type CandidateFit,
  reviseWeights,
  type WeightRevision,
} from "../../statistics/revise_weights.ts";
import { type TrialReliability, trialReliability } from "../repeatability/trial_reliability.ts";
import { applyRule } from "./apply_rule.ts";
import { type IndexScores, indexScores } from "./index_scores.ts";
import { FITTED_METHOD, GAIN_DRAWS, proposalGain } from "./proposal_gain.ts";
import { type RankMoves, rankMoves, type ScoreLink, scoreLink } from "./rank_moves.ts";
import {
  type LeftOutShoe,
  type RecalibrationData,
  recalibrationData,
  withWeights,
} from "./recalibration_data.ts";
import { draftProposal } from "./recalibration_draft.ts";
import { lastDay, ruleValues } from "./rule_values.ts";
import { type ShoesToSettle, shoesToSettle } from "./shoes_to_settle.ts";

/** Whether to change a rule. */
export type RuleAdvice = "adopt" | "keep" | "not enough evidence";

/** One term of the rule, weighed anew. */
export type RecalibratedWeight = {
  /** Where it stands among the rule's terms: a metric may be in several. */
  readonly place: number;
  readonly metric: string;
  readonly title: string;
  readonly old: number;
  /** Its limits are those of the best fit, which nothing pulls toward the old weight. */
  readonly new: Estimate;
  readonly best_fit: number | null;
  /** True when the old weight lies within the limits: it isn't shown to be off. */
  readonly kept: boolean;
};

/** What a candidate would do on shoes of lines not seen yet. */
export type RecalibrationFit = {
  readonly candidate:
    | "weights in force"
    | "new weights"
    | "freest fit"
    | "equal weights"
    | "best single metric"
    | "proposal";
  /** Of the metric, or of the proposal. */
  readonly title: string | null;
  readonly rank_correlation: Estimate;
  /** That of the weights in force, on the same shoes by the same model, which the gain is over. */
  readonly in_force: Estimate;
  /** Spread of ratings about the best line through its scores, in rating points. */
  readonly error: number | null;
  /** Rank correlation less that of the weights in force. */
  readonly gain: Estimate;
};

/** Why the advice is what it is. */
export type AdviceReason =
  | { readonly kind: "no-rule" }
  | { readonly kind: "no-fit"; readonly because: Reason }
  | { readonly kind: "gain-reached" }
  /** No candidate reaches the smallest gain worth while; `upper` is the highest of their limits. */
  | { readonly kind: "none-reaches"; readonly upper: number }
  /** The new weights, or another candidate, may reach it. */
  | { readonly kind: "open"; readonly upper: number; readonly candidate: string };

/** New weights for a rule, and whether they are worth a change. */
export type IndexRecalibration = {
  readonly rule:
    | Pick<IndexRule, "id" | "version" | "title" | "effective" | "target_attribute" | "offset">
    | null;
  readonly attribute_title: string | null;
  readonly advice: RuleAdvice;
  readonly because: AdviceReason;
  /** Smallest gain in rank correlation worth re-scoring a catalogue for. */
  readonly min_gain: number;
  readonly confidence: number;
  /** Shoes with a rating and all terms, their lines and makers. */
  readonly shoes: number;
  readonly lines: number;
  readonly makers: number;
  readonly left_out: readonly LeftOutShoe[];
  readonly weights: readonly RecalibratedWeight[];
  readonly fits: readonly RecalibrationFit[];
  /** Of the new weights. */
  readonly gain: Estimate;
  readonly settle: ShoesToSettle;
  /** From the new rule's own scale to the published one; `scores_new` is on the latter. */
  readonly link: ScoreLink;
  readonly rank_moves: RankMoves;
  readonly scores_old: IndexScores;
  readonly scores_new: IndexScores;
  /** Ready for `proposals/`; null when the rule is to be kept, or nothing could be fitted. */
  readonly draft: RuleProposal | null;
  readonly warnings: readonly Reason[];
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
  /** For the draft proposal. */
  readonly criteria?: ProposalCriteria;
};

/**
 * Would other weights bring the index closer to what players feel, and is the change worth it?
 *
 * The panel's value of the rule's target attribute, adjusted for who tested, on the rule's scaled terms, with
 * shoes of a line and of a maker as kin: weights of at least 0 with the old sum, pulled toward those in
 * force as far as the ratings ask (`reviseWeights`). Bonuses keep their worth in points. What each
 * candidate gains is for shoes of lines not seen, without credit for ratings its weights were fitted to;
 * equal weights and proposals on file are judged exactly as `ruleProposal` judges a proposal.
 *
 * Advice: *adopt* when the whole interval of the new weights' gain reaches `min_gain`; *keep* when the upper limit
 * of **every** candidate's gain lies below it (simultaneously over the fitted ones), so that it never
 * contradicts a verdict on a proposal; else *not enough evidence*, with how many shoes more would settle it.
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
    criteria,
  }: IndexRecalibrationOptions,
): IndexRecalibration {
  option.check("studies.indexRecalibration", arguments[1], {
    seed: option.needed(option.seed),
    rule: option.orNull(option.thing),
    reliability: option.thing,
    scores: option.thing,
    confidence: option.share,
    min_gain: option.number,
    criteria: option.thing,
  });
  const today = lastDay(bench) ?? "9999-12-31";
  const rule = given === undefined ? ruleInForce(bench, today) : given;
  const reliability = known ??
    trialReliability(bench, { seed, metrics: rule?.terms.map(({ metric }) => metric) ?? [] });
  const published = scores ?? indexScores(bench, { rule, reliability, confidence, seed });
  if (rule === null) return withoutRule(published, { confidence, min_gain });

  const data = recalibrationData(bench, rule);
  const revision = reviseWeights(data.parts, data.ratings, {
    old: rule.terms.map(({ weight }) => weight),
    groups: data.tree,
    confidence,
    draws: GAIN_DRAWS,
    seed,
  });
  const fits = fitsOf(bench, { rule, data, revision, confidence, seed });
  const judged = judge(fits, revision, { confidence, min_gain });
  const revised = revision.weights.map((weight) => weight.revised);
  const unlinked = withWeights(rule, revised);
  const link = linkTo(published, bench, unlinked);
  const offered = judged.advice !== "keep" && revision.reason === null && link.slope !== null;
  const updated = offered
    ? indexScores(bench, {
      rule: linked(unlinked, link.slope!, link.intercept!),
      reliability,
      confidence,
      seed,
      weightDraws: revision.draws,
    })
    : published;
  const attribute = bench.settings.attributes.find(({ id }) => id === rule.target_attribute);
  const { id, version, title, effective, target_attribute, offset } = rule;
  return {
    rule: { id, version, title, effective, target_attribute, offset },
    attribute_title: attribute?.title ?? rule.target_attribute,
    ...judged,
    min_gain,
    confidence,
    shoes: data.ratings.length,
    lines: data.tree.lines,
    makers: data.tree.makers,
    left_out: data.left_out,
    weights: describeWeights(bench, rule, revision, confidence),
    fits,
    link: offered ? link : { slope: 1, intercept: 0, link_reason: null, shoes: link.shoes },
    rank_moves: rankMoves(published, updated),
    scores_old: published,
    scores_new: updated,
    draft: offered
      ? draftProposal(rule, {
        weights: revised,
        link,
        today,
        gain: judged.gain,
        shoes: data.ratings.length,
        criteria,
        min_gain,
        confidence,
        scorable: published.shoes.filter(({ score }) => score !== null).length /
          Math.max(1, published.shoes.length),
      })
      : null,
    warnings: data.warnings,
  };
}

function withoutRule(
  scores: IndexScores,
  { confidence, min_gain }: { readonly confidence: number; readonly min_gain: number },
): IndexRecalibration {
  const reason = { code: "no-rule" };
  const gain = noEstimate(reason, { confidence, n: 0, method: "no fit" });
  return {
    rule: null,
    attribute_title: null,
    advice: "not enough evidence",
    because: { kind: "no-rule" },
    min_gain,
    confidence,
    shoes: 0,
    lines: 0,
    makers: 0,
    left_out: [],
    weights: [],
    fits: [],
    gain,
    settle: { shoes: null, from: null, to: null, reason },
    link: { slope: null, intercept: null, link_reason: { code: "no-rule" }, shoes: 0 },
    rank_moves: rankMoves(scores, scores),
    scores_old: scores,
    scores_new: scores,
    draft: null,
    warnings: [],
  };
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
    shoes: published.shoes.flatMap(({ shoe_id, score, reference }) => {
      const new_score = own.get(shoe_id) ?? null;
      return reference || score === null || new_score === null
        ? []
        : [{ old_score: score, new_score }];
    }),
  });
}

function fitsOf(
  bench: Bench,
  { rule, data, revision, confidence, seed }: {
    readonly rule: IndexRule;
    readonly data: RecalibrationData;
    readonly revision: WeightRevision;
    readonly confidence: number;
    readonly seed: number;
  },
): RecalibrationFit[] {
  if (revision.reason !== null) return [];
  const about = { confidence, n: data.ratings.length, method: FITTED_METHOD };
  const spread = sampleStandardDeviation([...data.ratings]);
  const errorOf = ({ estimate }: Estimate) =>
    estimate === null ? null : spread * Math.sqrt(1 - (2 * Math.sin(Math.PI / 6 * estimate)) ** 2);
  const now = revision.candidates.find(({ candidate }) => candidate === "weights in force")!;
  const in_force = estimateOf(now.rank_correlations, about);
  const fitted = revision.candidates.map((fit): RecalibrationFit => {
    const single = fit.weights.findIndex((weight) => weight > 0);
    const rank_correlation = estimateOf(fit.rank_correlations, about);
    return {
      candidate: fit.candidate === "best single column" ? "best single metric" : fit.candidate,
      title: fit.candidate === "best single column"
        ? titleOf(bench, rule.terms[single].metric)
        : null,
      rank_correlation,
      in_force,
      error: errorOf(rank_correlation),
      gain: estimateOf(fit.gains, about),
    };
  });
  const asProposal = (proposal: Parameters<typeof proposalGain>[1]) => {
    const judged = proposalGain(bench, proposal, { oldRule: rule, confidence, seed });
    return {
      rank_correlation: judged.new,
      in_force: judged.old,
      error: errorOf(judged.new),
      gain: judged.gain,
    };
  };
  const asked_on = lastDay(bench) ?? "9999-12-31";
  const equal = asProposal({
    rule: withWeights(rule, rule.terms.map(() => 1 / rule.terms.length)),
    asked_on,
    fitted_until: null,
  });
  return [
    ...fitted.map((fit) => fit.candidate === "equal weights" ? { ...fit, ...equal } : fit),
    ...onFile(bench, rule).map((proposal): RecalibrationFit => ({
      candidate: "proposal",
      title: proposal.title,
      ...asProposal(proposal),
    })),
  ];
}

/** Proposals that stand against this rule. */
function onFile(bench: Bench, rule: IndexRule): readonly RuleProposal[] {
  return bench.proposals.filter((proposal) =>
    proposal.against === rule.version && proposal.rule.id === rule.id &&
    proposal.rule.target_attribute === rule.target_attribute
  );
}

function judge(
  fits: readonly RecalibrationFit[],
  revision: WeightRevision,
  { confidence, min_gain }: { readonly confidence: number; readonly min_gain: number },
): Pick<IndexRecalibration, "advice" | "because" | "gain" | "settle"> {
  const own = fits.find(({ candidate }) => candidate === "new weights");
  if (own === undefined) {
    const because = revision.reason ?? { code: "no-fit" };
    const gain = noEstimate(because, { confidence, n: revision.n, method: "no fit" });
    return {
      advice: "not enough evidence",
      because: { kind: "no-fit", because },
      gain,
      settle: shoesToSettle(gain, min_gain),
    };
  }
  const { gain } = own;
  const highest = highestLimit(fits, revision, confidence);
  const advice = adviceOn(gain, highest.upper, min_gain);
  if (advice !== "not enough evidence") {
    return {
      advice,
      because: advice === "adopt"
        ? { kind: "gain-reached" }
        : { kind: "none-reaches", upper: highest.upper },
      gain,
      settle: shoesToSettle(gain, min_gain),
    };
  }
  const decisive = gain.upper! >= min_gain ? gain : highest.gain;
  return {
    advice,
    because: { kind: "open", upper: highest.upper, candidate: highest.title },
    gain,
    settle: shoesToSettle(decisive, min_gain),
  };
}

/**
 * What follows from the gain of the new weights, and from the highest limit of any candidate's?
 *
 * @returns *adopt* at a gain that reaches `min_gain` with its lower limit; *keep* where no limit reaches it
 */
export function adviceOn(
  { lower }: Pick<Estimate, "lower">,
  highest: number,
  min_gain: number,
): RuleAdvice {
  return lower !== null && lower >= min_gain
    ? "adopt"
    : highest < min_gain
    ? "keep"
    : "not enough evidence";
}

/** The highest upper limit of any candidate's gain, over fitted ones together. */
function highestLimit(
  fits: readonly RecalibrationFit[],
  { candidates }: WeightRevision,
  confidence: number,
): { readonly upper: number; readonly title: string; readonly gain: Estimate } {
  const others = fits.filter(({ candidate }) => candidate !== "weights in force");
  const fitted = candidates.filter(({ candidate }) => candidate !== "weights in force");
  const together = simultaneousLimit(fitted, confidence);
  const top = others.filter(({ gain }) => gain.upper !== null)
    .reduce((best, fit) => fit.gain.upper! > best.gain.upper! ? fit : best);
  return {
    upper: Math.max(together, top.gain.upper!),
    title: top.title ?? top.candidate,
    gain: top.gain,
  };
}

/** Below which the gains of all these candidates lie together. */
export function simultaneousLimit(
  fits: readonly Pick<CandidateFit, "gains">[],
  confidence: number,
): number {
  const top = fits[0].gains.map((_, d) => Math.max(...fits.map(({ gains }) => gains[d])));
  return orderStatistics(top).quantile((1 + confidence) / 2);
}

function titleOf(bench: Bench, metric: string): string {
  return bench.metrics.find(({ id }) => id === metric)?.title ?? metric;
}

function describeWeights(
  bench: Bench,
  rule: IndexRule,
  { weights, n }: WeightRevision,
  confidence: number,
): RecalibratedWeight[] {
  const about = {
    confidence,
    n,
    method: `regression on the terms, shoes kin, ${GAIN_DRAWS} draws`,
  };
  return weights.map(({ old, revised, best_fit, lower, upper }, place) => {
    const { metric } = rule.terms[place];
    return {
      place,
      metric,
      title: titleOf(bench, metric),
      old,
      new: {
        estimate: revised,
        estimate_reason: null,
        lower,
        upper,
        ...about,
        warnings: [],
      },
      best_fit,
      kept: lower === null || upper === null || (lower <= old && old <= upper),
    };
  });
}
