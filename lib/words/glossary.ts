import * as option from "../options.ts";
import type { Estimate } from "../statistics/estimate.ts";
import { CLAIM_ALPHA } from "../studies/prediction/prediction_claim.ts";
import type { CourtPrediction, PredictionPair } from "../studies/prediction/types.ts";
import type { IndexScores } from "../studies/index/index_scores.ts";
import type { PanelAgreement } from "../studies/panel/panel_agreement.ts";
import { claimedPairs } from "./prediction/prediction_tables.ts";
import { cvPercent, estimateInWords } from "./review/review_tables.ts";
import { inertText } from "./summary_words.ts";
import type {
  MetricReliability,
  TrialReliability,
} from "../studies/repeatability/trial_reliability.ts";
import { noiseInUnit } from "./unit_words.ts";
import { counted, midSentence, pText } from "./phrases.ts";

/** A term, what it means, and a number of the bench's own. */
type Term = readonly [term: string, meaning: string, example: string | null];

/** Other words that a page has for a term, by which it is found too. */
const otherWords: Readonly<Record<string, readonly string[]>> = {
  "ICC": ["ICC of the mean", "ICC of a trial"],
  "Interval": ["intervals"],
  "SEM": ["SEM of the mean"],
  "MDC": ["MDC of two means", "minimal detectable change"],
  "CV": ["coefficient of variation"],
  "Fit to rank single shoes, for tiers, for groups": [
    "fit to rank single shoes",
    "rank single shoes",
    "fit for tiers",
    "fit for groups only",
    "not fit to publish",
  ],
  "Drift": ["drifts"],
  "Reference shoe": ["reference shoes"],
  "Signal": ["signals", "limits of the chart"],
  "ICC of a rating, and of the panel": ["ICC of a rating", "ICC of the panel"],
  "Leniency": ["panel value"],
  "Rank correlation": ["rank correlations"],
  "p among all pairs": ["family-wise", "p, all slopes"],
  "Without noise": ["disattenuated"],
  "Predicts, hint, can't tell": ["hold up as a prediction", "a hint", "hints", "can't tell"],
  "Lines and makers": ["lines not seen", "lines", "makers"],
  "R² on shoes not seen": ["out of sample", "R²"],
  "Could be first": ["could be first", "ranks it could have"],
  "Gain": ["gain", "gains", "gain on shoes not seen"],
  "Told apart": ["can be told apart", "tell apart", "told apart in both tables"],
  "Simulated benches": ["simulated bench"],
};

/**
 * What do the words of statistics in a review mean? A list in Markdown, a line a term: the term, other words for
 * it in brackets, its meaning, and a number of this bench's own wherever there is one.
 *
 * A page links these words, wherever it uses them, to their line here (a cell tagged `glossary`).
 */
export function glossary(
  { reliability, panel, prediction, scores }: {
    readonly reliability: Pick<TrialReliability, "metrics" | "confidence">;
    readonly panel: Pick<PanelAgreement, "attributes">;
    readonly prediction: Pick<CourtPrediction, "pairs" | "attributes">;
    readonly scores: Pick<IndexScores, "shoes" | "rule">;
  },
): string {
  option.check("words.glossary", arguments[0], {
    reliability: option.needed(option.thing),
    panel: option.needed(option.thing),
    prediction: option.needed(option.thing),
    scores: option.needed(option.thing),
  });
  const terms = [
    ...repeatabilityList(reliability),
    ...verdictList(reliability.metrics),
    ...driftList(),
    ...panelList(panel),
    ...predictionList(prediction).filter(([term]) => term !== "Interval"),
    ...claimList(prediction),
    ...modelList(prediction),
    ...indexList(scores),
  ];
  return terms.map((term) => termLine(term, otherWords[term[0]])).join("\n");
}

/**
 * What do the words on a rule's page mean? As `glossary` has them, for a proposal or new weights.
 *
 * @param numbers of its own: what the order by the rule in force (null for none) has in common with the court, over
 * which shoes
 */
export function ruleGlossary(
  { now, lines, makers, confidence }: {
    readonly now: Pick<Estimate, "estimate" | "estimate_reason" | "lower" | "upper"> | null;
    readonly lines: number;
    readonly makers: number;
    readonly confidence: number;
  },
): string {
  option.check("words.ruleGlossary", arguments[0], {
    now: option.needed(option.orNull(option.thing)),
    lines: option.needed(option.number),
    makers: option.needed(option.number),
    confidence: option.needed(option.number),
  });
  const terms: readonly Term[] = [
    [
      "Rank correlation",
      "1 says that the scores and the panel on court order the shoes alike, −1 the other way round, 0 that they have nothing to do with each other",
      now === null || now.estimate === null
        ? null
        : `${estimateInWords(now, 2)} for the rule in force`,
    ],
    ["Interval", intervalMeaning(confidence), null],
    GAIN,
    [
      "Lines and makers",
      LINES,
      `${counted(lines, "line")} of ${counted(makers, "maker")}`,
    ],
    [
      "Told apart",
      "two shoes whose scores lie further apart than the noise of their tests allows, though all pairs were looked at; any other two stand in their order by chance",
      null,
    ],
  ];
  return terms.map((term) => termLine(term, otherWords[term[0]])).join("\n");
}

/** What do ICC, interval, SEM, MDC and CV mean on this bench? A list in Markdown, a line a word. */
export function repeatabilityTerms(
  reliability: Pick<TrialReliability, "metrics" | "confidence">,
): string {
  return termList(repeatabilityList(reliability));
}

/** What do the figures of a panel mean? A list in Markdown, with the numbers of its first impression. */
export function panelTerms(panel: Pick<PanelAgreement, "attributes">): string {
  return termList(panelList(panel));
}

/** What do the words of a prediction mean? A list in Markdown, with the numbers of the strongest pair. */
export function predictionTerms(prediction: Pick<CourtPrediction, "pairs">): string {
  return termList(predictionList(prediction));
}

/** What is R² out of sample? A line in Markdown, with the numbers of the best and the worst model. */
export function modelTerms(prediction: Pick<CourtPrediction, "attributes">): string {
  return termList(modelList(prediction));
}

function repeatabilityList(
  { metrics, confidence }: Pick<TrialReliability, "metrics" | "confidence">,
): Term[] {
  const known = metrics.filter(({ icc_mean }) => icc_mean.estimate !== null)
    .toSorted((a, b) => b.icc_mean.estimate! - a.icc_mean.estimate!);
  const [best, worst] = [known[0], known.at(-1)];
  const example = metrics.find((metric) =>
    metric.sem.estimate !== null && metric.mdc.mean_across_sessions.estimate !== null &&
    metric.cv.estimate !== null
  );
  const of = (metric: MetricReliability) => midSentence(metric.title);
  return [
    [
      "ICC",
      "the share of the scatter that lies between shoes: 1 would be a perfect test, 0 a lottery",
      best === undefined || worst === undefined ||
        best.icc_mean.estimate!.toFixed(2) === worst.icc_mean.estimate!.toFixed(2)
        ? null
        : `from ${best.icc_mean.estimate!.toFixed(2)} (${of(best)}) down to ${
          worst.icc_mean.estimate!.toFixed(2)
        } (${of(worst)})`,
    ],
    [
      "Interval",
      intervalMeaning(confidence),
      worst === undefined
        ? null
        : `${of(worst)} has an ICC of ${estimateInWords(worst.icc_mean, 2)}`,
    ],
    [
      "SEM",
      "standard error of measurement: how far the scatter of trials typically puts a published mean off",
      example === undefined
        ? null
        : `${noiseInUnit(example.sem.estimate!, example)} on ${of(example)}`,
    ],
    [
      "MDC",
      "minimal detectable change: two shoes, benched in two sessions, that lie closer than this may as well be equal",
      example === undefined
        ? null
        : `${noiseInUnit(example.mdc.mean_across_sessions.estimate!, example)} on ${of(example)}`,
    ],
    [
      "CV",
      "coefficient of variation: the scatter of repeats in percent of the value; it makes no sense on a scale without a true zero, such as °C",
      example === undefined ? null : `${cvPercent(example.cv.estimate!)}% on ${of(example)}`,
    ],
  ];
}

function intervalMeaning(confidence: number): string {
  return `in brackets, or as a bar: where the true figure may well lie; ${
    Math.round(100 * confidence)
  } in 100 such intervals hold it`;
}

const LINES =
  "a line is a model over its editions. Shoes of a line or maker resemble each other and count for less than as many strangers, so a fit is judged on lines it has not seen";

const GAIN: Term = [
  "Gain",
  "how much closer the index would come to what the panel felt, in rank correlation, on shoes whose line the weights were not fitted to",
  null,
];

function panelList({ attributes }: Pick<PanelAgreement, "attributes">): Term[] {
  const row = attributes.find(({ icc_mean, alpha, kendall_w }) =>
    icc_mean.estimate !== null && alpha.estimate !== null && kendall_w.estimate !== null
  );
  const of = row === undefined ? "" : ` on ${midSentence(row.title)}`;
  return [
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
  ];
}

function predictionList(prediction: Pick<CourtPrediction, "pairs">): Term[] {
  // A correlation without limits is no example of one.
  const [pair] = claimedPairs(prediction, ["predicts", "hint", "can't tell", "no sign of it"])
    .filter(({ spearman: { estimate, lower, upper } }) =>
      estimate !== null && lower !== null && upper !== null
    );
  const strictest = Math.min(CLAIM_ALPHA, ...prediction.pairs.map(({ level }) => level));
  return [
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
      `how often chance alone would give so strong a correlation to any pair of a metric and an impression that was looked at (family-wise), with what shoes of a line and a maker have in common taken out; below ${CLAIM_ALPHA} counts${
        strictest < CLAIM_ALPHA
          ? `, and below ${
            strictest.toFixed(3)
          } for a claim that is new at a bench looked at before, where chance has had several goes`
          : ""
      }`,
      about(
        pair,
        ({ p_familywise, family }) =>
          p_familywise === null ? null : `${pText(p_familywise)} among ${family} pairs`,
      ),
    ],
    [
      "Ceiling",
      "trials scatter and testers disagree, so no correlation can reach 1; this is the most that their noise allows",
      // A ceiling below the correlation seen says that one of the two is chance: no example.
      about(
        pair,
        ({ ceiling, spearman }) =>
          ceiling === null || ceiling < Math.abs(spearman.estimate!) ? null : ceiling.toFixed(2),
      ),
    ],
    [
      "Without noise",
      "what two perfect measurements would show (disattenuated): an estimate twice over, so judge the next shoe by the raw one",
      about(
        pair,
        ({ disattenuated }) =>
          // Beyond 1 it says no more than that its reliabilities are poorly known: no example.
          disattenuated.estimate === null || Math.abs(disattenuated.estimate) > 1
            ? null
            : estimateInWords(disattenuated, 2),
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
  ];
}

function modelList({ attributes }: Pick<CourtPrediction, "attributes">): Term[] {
  const fitted = attributes.flatMap(({ title, model }) =>
    model === null || model.ridge.r2.estimate === null
      ? []
      : [{ title: midSentence(title), r2: model.ridge.r2, error: model.ridge.error }]
  ).toSorted((a, b) => b.r2.estimate! - a.r2.estimate!);
  const [best, worst] = [fitted[0], fitted.at(-1)];
  return [[
    "R² on shoes not seen",
    "1 would be perfect; 0 is no better than saying that every shoe is like the mean of the others; below 0 it is worse",
    best === undefined || worst === undefined || best === worst
      ? null
      : `${estimateInWords(best.r2, 2)} for ${best.title}, ${
        estimateInWords(worst.r2, 2)
      } for ${worst.title}`,
  ]];
}

/** What the verdicts on metrics promise. */
function verdictList(metrics: TrialReliability["metrics"]): Term[] {
  const single = metrics.filter(({ verdict }) => verdict === "fit to rank single shoes").length;
  return [[
    "Fit to rank single shoes, for tiers, for groups",
    "what a test's repeats allow: even the lower end of its ICC reaches 0.90 for an order shoe by shoe, 0.75 for tiers, 0.50 for groups; below that its figures should not be published",
    metrics.length === 0
      ? null
      : `${single} of ${counted(metrics.length, "metric")} ${
        metrics.some(({ verdict }) => verdict === "can't tell")
          ? "is known to rank single shoes"
          : "can rank single shoes"
      }`,
  ]];
}

function driftList(): Term[] {
  return [
    [
      "Drift",
      "the bench itself changes: a figure from before can no longer be set beside one from now. Nothing is corrected silently",
      null,
    ],
    [
      "Reference shoe",
      "a shoe benched again in every session and never played in: if all of them move the same way, the bench has moved",
      null,
    ],
    [
      "Signal",
      "a visit at which a reference reads outside its limits, jumps from the visit before, ends a run of eight on one side of its middle, or pulls its moving average out of narrower limits of its own: so a mark inside the limits can be one. A reason to look, no proof",
      null,
    ],
    [
      "Leniency",
      "how much higher a tester rates than the panel does; a panel value is the panel's mean with that taken out",
      null,
    ],
  ];
}

function claimList({ pairs }: Pick<CourtPrediction, "pairs">): Term[] {
  const [first] = pairs;
  return [
    [
      "Predicts, hint, can't tell",
      "a metric predicts an impression if chance would hardly bring so strong a correlation among all pairs that were tried, and no single shoe carries it; a hint needs more shoes; can't tell says that the shoes leave both open",
      null,
    ],
    [
      "Lines and makers",
      LINES,
      first === undefined
        ? null
        : `${counted(first.kin.lines, "line")} of ${counted(first.kin.makers, "maker")}`,
    ],
    [
      "Simulated benches",
      "made-up benches as large as this one, whose truth is known: how often the studies find it, and how often they find what is not there",
      null,
    ],
  ];
}

function indexList({ shoes }: Pick<IndexScores, "shoes">): Term[] {
  const first = shoes.find(({ rank }) => rank === 1);
  return [
    [
      "Could be first",
      "the ranks a shoe could have if every score moved within the noise of its tests; among shoes that could all be first the order is chance",
      first === undefined || first.lower === null || first.upper === null
        ? null
        : `${first.name} has ${
          estimateInWords({ ...first, estimate: first.score, estimate_reason: null }, 2)
        }`,
    ],
    GAIN,
  ];
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

function termList(terms: readonly Term[]): string {
  return terms.map((term) => termLine(term)).join("\n");
}

function termLine([term, meaning, example]: Term, others: readonly string[] = []): string {
  const also = others.length === 0 ? "" : ` (${others.map(inertText).join("; ")})`;
  return `- _${term}_${also}: ${inertText(meaning)}.${
    example === null ? "" : ` Here ${inertText(example)}.`
  }`;
}
