import type { CourtPrediction, PredictionPair } from "../studies/prediction/court_prediction.ts";
import { midSentence } from "./comparison/answer_words.ts";
import type { PanelAgreement } from "../studies/panel/panel_agreement.ts";
import { pText } from "./prediction/prediction_numbers.ts";
import { claimedPairs } from "./prediction/prediction_tables.ts";
import { estimateInWords } from "./review/review_tables.ts";
import { inertText } from "./summary_words.ts";
import type {
  MetricReliability,
  TrialReliability,
} from "../studies/repeatability/trial_reliability.ts";
import { inUnit } from "./unit_words.ts";

type Term = readonly [term: string, meaning: string, example: string | null];

/**
 * What do ICC, interval, SEM, MDC and CV mean on this bench? A list in Markdown: a line a word, with a number
 * of the bench's own wherever there is one.
 */
export function repeatabilityTerms(
  { metrics, confidence }: Pick<TrialReliability, "metrics" | "confidence">,
): string {
  const known = metrics.filter(({ icc_mean }) => icc_mean.estimate !== null)
    .toSorted((a, b) => b.icc_mean.estimate! - a.icc_mean.estimate!);
  const [best, worst] = [known[0], known.at(-1)];
  const example = metrics.find((metric) =>
    metric.sem.estimate !== null && metric.mdc.mean_across_sessions.estimate !== null &&
    metric.cv.estimate !== null
  );
  const of = (metric: MetricReliability) => midSentence(metric.title);
  return termList([
    [
      "ICC",
      "the share of the scatter that lies between shoes: 1 would be a perfect test, 0 a lottery",
      best === undefined || worst === undefined || best === worst
        ? null
        : `from ${best.icc_mean.estimate!.toFixed(2)} (${of(best)}) down to ${
          worst.icc_mean.estimate!.toFixed(2)
        } (${of(worst)})`,
    ],
    [
      "Interval",
      `in brackets, or as a bar: where the true figure may well lie; ${
        Math.round(100 * confidence)
      } in 100 such intervals hold it`,
      worst === undefined
        ? null
        : `${of(worst)} has an ICC of ${estimateInWords(worst.icc_mean, 2)}`,
    ],
    [
      "SEM",
      "standard error of measurement: how far the scatter of trials typically puts a published mean off",
      example === undefined
        ? null
        : `${inUnit(example.sem.estimate!, finer(example))} on ${of(example)}`,
    ],
    [
      "MDC",
      "minimal detectable change: two shoes, benched in two sessions, that lie closer than this may as well be equal",
      example === undefined
        ? null
        : `${inUnit(example.mdc.mean_across_sessions.estimate!, finer(example))} on ${of(example)}`,
    ],
    [
      "CV",
      "coefficient of variation: the scatter of repeats in percent of the value; it makes no sense on a scale without a true zero, such as °C",
      example === undefined
        ? null
        : `${(100 * example.cv.estimate!).toFixed(1)}% on ${of(example)}`,
    ],
  ]);
}

/** What do the figures of a panel mean? A list in Markdown, with the numbers of its first impression. */
export function panelTerms({ attributes }: Pick<PanelAgreement, "attributes">): string {
  const row = attributes.find(({ icc_mean, alpha, kendall_w }) =>
    icc_mean.estimate !== null && alpha.estimate !== null && kendall_w.estimate !== null
  );
  const of = row === undefined ? "" : ` on ${midSentence(row.title)}`;
  return termList([
    [
      "ICC of a rating, and of the panel",
      "how much of one rating, and of the panel's mean, is the shoe and not who happened to test it",
      row === undefined
        ? null
        : `${estimateInWords(row.icc_single, 2)} and ${estimateInWords(row.icc_mean, 2)}${of}`,
    ],
    [
      "Krippendorff's alpha",
      "how far testers give a shoe the same rating: 1 always, 0 no more than by chance",
      row === undefined ? null : `${estimateInWords(row.alpha, 2)}${of}`,
    ],
    [
      "Kendall's W",
      "how far they put the shoes in the same order, whatever part of the scale they use: 1 the same order",
      row === undefined ? null : `${estimateInWords(row.kendall_w, 2)}${of}`,
    ],
  ]);
}

/** What do the words of a prediction mean? A list in Markdown, with the numbers of the strongest pair. */
export function predictionTerms(
  prediction: Pick<CourtPrediction, "pairs">,
): string {
  const [pair] = claimedPairs(prediction, ["predicts", "hint", "can't tell", "no sign of it"])
    .filter(({ spearman }) => spearman.estimate !== null);
  return termList([
    [
      "Rank correlation",
      "Spearman's: 1 says that metric and impression order the shoes alike, −1 the other way round, 0 that they have nothing to do with each other",
      about(pair, ({ spearman }) => spearman.estimate!.toFixed(2)),
    ],
    [
      "Interval",
      "where the true correlation may well lie, found by drawing the shoes again and again with some left out and some twice (a bootstrap, corrected for bias and skew: BCa)",
      about(
        pair,
        ({ spearman: { lower, upper } }) =>
          lower === null || upper === null ? null : `${lower.toFixed(2)} to ${upper.toFixed(2)}`,
      ),
    ],
    [
      "p among all pairs",
      "how often chance alone would give so strong a correlation to any pair of a metric and an impression that was looked at (family-wise), with what shoes of a line and a maker have in common taken out; below 0.05 counts",
      about(
        pair,
        ({ p_familywise, family }) =>
          p_familywise === null ? null : `${pText(p_familywise)} among ${family} pairs`,
      ),
    ],
    [
      "Ceiling",
      "trials scatter and testers disagree, so no correlation can reach 1; this is the most that their noise allows",
      about(pair, ({ ceiling }) => ceiling === null ? null : ceiling.toFixed(2)),
    ],
    [
      "Without noise",
      "what two perfect measurements would show (disattenuated): an estimate twice over, so judge the next shoe by the raw one",
      about(
        pair,
        ({ disattenuated }) =>
          disattenuated.estimate === null ? null : estimateInWords(disattenuated, 2),
      ),
    ],
    [
      "Given mass",
      "what is left of the correlation once heavy and light shoes are told apart",
      about(
        pair,
        ({ partial_given_mass }) =>
          partial_given_mass.estimate === null ? null : estimateInWords(partial_given_mass, 2),
      ),
    ],
  ]);
}

/** What is R² out of sample? A line in Markdown, with the numbers of the best and the worst model. */
export function modelTerms({ attributes }: Pick<CourtPrediction, "attributes">): string {
  const fitted = attributes.flatMap(({ title, model }) =>
    model === null || model.ridge.r2.estimate === null
      ? []
      : [{ title: midSentence(title), r2: model.ridge.r2, error: model.ridge.error }]
  ).toSorted((a, b) => b.r2.estimate! - a.r2.estimate!);
  const [best, worst] = [fitted[0], fitted.at(-1)];
  return termList([[
    "R² on shoes not seen",
    "1 would be perfect; 0 is no better than saying that every shoe is like the mean of the others; below 0 it is worse",
    best === undefined || worst === undefined || best === worst
      ? null
      : `${estimateInWords(best.r2, 2)} for ${best.title}, ${
        estimateInWords(worst.r2, 2)
      } for ${worst.title}`,
  ]]);
}

function about(
  pair: PredictionPair | undefined,
  of: (pair: PredictionPair) => string | null,
): string | null {
  const found = pair === undefined ? null : of(pair)?.replaceAll("-", "−");
  return found === null || found === undefined
    ? null
    : `${found} for ${midSentence(pair!.metric_title)} and ${midSentence(pair!.attribute_title)}`;
}

/** Noise is small beside a reading, so it gets a digit more. */
function finer({ unit, decimals }: Pick<MetricReliability, "unit" | "decimals">) {
  return { unit, decimals: decimals + 1 };
}

function termList(terms: readonly Term[]): string {
  return terms.map(([term, meaning, example]) =>
    `- _${term}_: ${inertText(meaning)}.${example === null ? "" : ` Here ${inertText(example)}.`}`
  ).join("\n");
}
