import { coverageSentence } from "../coverage/coverage_sentence.ts";
import { stageNotes } from "../coverage/stage_words.ts";
import * as option from "../../options.ts";
import type { Bench } from "../../records/types.ts";
import type { Estimate } from "../../statistics/estimate.ts";
import type { BenchCoverage } from "../../studies/coverage/bench_coverage.ts";
import type { PredictionResult } from "../prediction/prediction_result.ts";
import { type RecalibrationJson, recalibrationJson } from "../index/rule_summaries.ts";
import type { IndexRecalibration } from "../../studies/index/index_recalibration.ts";
import type { IndexScores } from "../../studies/index/index_scores.ts";
import type { PanelResult } from "../panel/panel_words.ts";
import type { ClaimLife } from "../../studies/prediction/types.ts";
import { lifeSentence } from "../prediction/life_words.ts";
import { type Provenance, provenance } from "../../studies/review/provenance.ts";
import type { UncertaintyBudget } from "../../studies/budget/uncertainty_budget.ts";
import type { WeatherEffects } from "../../studies/drift/weather_effects.ts";
import { type AgreementResult, agreementResult } from "../repeatability/source_sentences.ts";
import type { PairedSources } from "../../studies/repeatability/paired_sources.ts";
import { weatherSentence } from "../drift/weather_words.ts";
import type { DriftResult } from "../drift/drift_result.ts";
import type { ProposalOnFile, UnfitWeight } from "../../studies/proposal/proposals_on_file.ts";
import type { RetestPlan } from "../../studies/retest/retest_plan.ts";
import type { ReviewChanges } from "../../studies/changes/review_changes.ts";
import type { AuditResult } from "../audit/audit_words.ts";
import type { ReliabilityResult } from "../repeatability/reliability_result.ts";
import { sayReason, sayWarning } from "../reasons.ts";

/** What to know and what to do, in words. */
export type SummaryWords = { readonly know: readonly string[]; readonly act: readonly string[] };

/** The whole of a quarterly review, as its JSON file holds it. */
export type ReviewResult = Provenance & {
  readonly quarter: string;
  /** What to know and what to do, in words. */
  readonly summary: SummaryWords;
  readonly coverage: BenchCoverage & { readonly sentence: string };
  readonly reliability: ReliabilityResult["metrics"];
  readonly drift: DriftResult;
  /** What temperature and humidity do to each metric; null where it was not asked. */
  readonly weather: (WeatherEffects & { readonly sentence: string }) | null;
  /** Two rigs, two operators: the same shoes within a few weeks, metric by metric. */
  readonly agreement: readonly AgreementResult[];
  /** One a metric: how uncertain a published value is, by source, and what was struck out. */
  readonly budgets: readonly UncertaintyBudget[];
  readonly panel: readonly (PanelResult["attributes"][number] & {
    /** How much higher each tester rates than the panel does. */
    readonly leniency: Readonly<Record<string, Estimate>>;
  })[];
  readonly prediction: PredictionResult["pairs"];
  /** Claims made now and before: since which review each stands, and how it does on shoes that came after. */
  readonly claims: readonly (ClaimLife & { readonly sentence: string })[];
  /** One an impression: several metrics together, judged on shoes they have not seen. */
  readonly models: readonly {
    readonly attribute: string;
    readonly model: PredictionResult["attributes"][number]["model"];
    readonly ordinal: PredictionResult["attributes"][number]["ordinal"];
  }[];
  readonly audit: AuditResult;
  /** The rule that the index is by; null where none is in force. */
  readonly rule: IndexScores["rule"];
  readonly index: IndexScores["shoes"];
  /** What changed since an earlier review; null where there was nothing before. */
  readonly changes: ReviewChanges | null;
  /** Verdicts on the proposals of the bench, and weights on metrics not fit to publish. */
  readonly proposals: readonly ProposalOnFile[];
  readonly unfit_weights: readonly UnfitWeight[];
  readonly recalibration: RecalibrationJson;
  readonly retest: RetestPlan;
};

/** The studies that a review's file is made of. */
export type ReviewParts = {
  readonly seed: number;
  readonly coverage: BenchCoverage;
  readonly reliability: ReliabilityResult;
  readonly drift: DriftResult;
  readonly panel: PanelResult;
  readonly prediction: PredictionResult;
  readonly scores: IndexScores;
  readonly recalibration: IndexRecalibration;
  readonly retest: RetestPlan & { readonly warnings: readonly string[] };
  readonly audit: AuditResult;
  readonly summary: SummaryWords;
  readonly changes: ReviewChanges | null;
  readonly proposals?: readonly ProposalOnFile[];
  readonly unfit?: readonly UnfitWeight[];
  readonly weather?: WeatherEffects | null;
  readonly agreement?: readonly PairedSources[];
  readonly budgets?: readonly UncertaintyBudget[];
};

/**
 * How does a review become one file?
 *
 * @returns plain data, ready for `writeResult`; the same bench and seed give the same bytes
 */
export function reviewResult(
  bench: Bench,
  {
    seed,
    coverage,
    reliability,
    drift,
    panel,
    prediction,
    scores,
    recalibration,
    retest,
    audit,
    summary,
    changes,
    proposals = [],
    unfit = [],
    weather = null,
    agreement = [],
    budgets = [],
  }: ReviewParts,
): ReviewResult {
  option.check("words.review.result", arguments[1], {
    seed: option.needed(option.seed),
    coverage: option.needed(option.thing),
    reliability: option.needed(option.thing),
    drift: option.needed(option.thing),
    panel: option.needed(option.thing),
    prediction: option.needed(option.thing),
    scores: option.needed(option.thing),
    recalibration: option.needed(option.thing),
    retest: option.needed(option.thing),
    audit: option.needed(option.thing),
    summary: option.needed(option.thing),
    changes: option.needed(option.orNull(option.thing)),
    proposals: option.listOf(option.thing),
    unfit: option.listOf(option.thing),
    weather: option.orNull(option.thing),
    agreement: option.listOf(option.thing),
    budgets: option.listOf(option.thing),
  });
  return {
    ...provenance(bench, {
      kind: "review",
      seed,
      warnings: [
        ...stageNotes(bench, "review"),
        ...reliability.warnings,
        ...drift.warnings,
        ...panel.warnings,
        ...prediction.warnings,
        ...scores.warnings.map((warning) => sayReason(warning)),
        ...recalibration.warnings.map(sayWarning),
        ...retest.warnings,
        ...audit.warnings,
      ],
    }),
    quarter: coverage.quarter,
    summary: { know: summary.know, act: summary.act },
    coverage: { ...coverage, sentence: coverageSentence(coverage) },
    reliability: reliability.metrics,
    drift,
    weather: weather === null ? null : { ...weather, sentence: weatherSentence(weather) },
    agreement: agreementResult(agreement),
    budgets,
    panel: panel.attributes.map((attribute) => ({
      ...attribute,
      leniency: Object.fromEntries(attribute.use.map((row) => [row.tester, row.leniency])),
    })),
    prediction: prediction.pairs,
    claims: prediction.lives.claims.map((life) => ({
      ...life,
      sentence: lifeSentence(life, prediction.lives.quarter),
    })),
    models: prediction.attributes.map(({ attribute, model, ordinal }) => ({
      attribute,
      model,
      ordinal,
    })),
    audit,
    rule: scores.rule,
    index: scores.shoes,
    changes,
    proposals,
    unfit_weights: unfit,
    recalibration: recalibrationJson(recalibration),
    retest,
  };
}
