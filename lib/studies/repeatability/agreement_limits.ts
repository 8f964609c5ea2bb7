import { momentsOf } from "../../statistics/checks.ts";
import { normalUpperQuantile, tQuantile } from "../../statistics/distributions.ts";
import { type Estimate, noEstimate } from "../../statistics/estimate.ts";
import { fixedContrast } from "../../statistics/fixed_contrast.ts";
import { type MixedModel, mixedModel } from "../../statistics/variance_components.ts";
import { occasion, type SameWeeks } from "./same_weeks.ts";

/** What two rigs or operators come to on the same shoes. */
export type AgreementLimits = {
  /** Mean of b minus a; on the last occasion where it changes over time. */
  readonly bias: Estimate;
  /** Between which 19 of 20 differences of single shoes are expected, two visits' noise included. */
  readonly lower_limit: Estimate;
  readonly upper_limit: Estimate;
  /** How the difference changes a year; null with fewer than four occasions. */
  readonly change: Estimate;
  /** Whether it surely does, at a small risk shared out over the metrics of the bench. */
  readonly moves: boolean;
};

/** Occasions that a line over time needs. */
const FEWEST_FOR_CHANGE = 4;
/** A change falsely claimed puts the difference itself wrong too, so it is claimed at a fifth of the risk. */
const CHANGE_RISK = 0.2;
/** Below it Student's t has no limits worth printing: ten thousand times the standard error at 0.2. */
const LEAST_FREEDOM = 0.5;
const YEAR = 365.25 * 86400000;

/**
 * How far apart do two rigs or operators read on average, and where does a single shoe's difference lie?
 *
 * Mean and variances by REML with shoes and occasions random. The interval of the mean is the widest of three:
 * the model's, by the freedom of shoes and of occasions, and those from how the sums of shoes, and of
 * occasions, scatter. Where the difference surely changes over time all is told for the last occasion.
 *
 * @see Bland & Altman 1999, 2007 (several differences of one subject); Satterthwaite 1946
 */
export function agreementOf(
  matches: readonly SameWeeks[],
  { confidence, tests }: { readonly confidence: number; readonly tests: number },
): AgreementLimits {
  const days = matches.map(({ a, b }) => (Date.parse(a.date) + Date.parse(b.date)) / 2);
  const last = Math.max(...days);
  const years = days.map((day) => (day - last) / YEAR);
  const differences = matches.map(({ a, b }) =>
    momentsOf(b.values).mean - momentsOf(a.values).mean
  );
  const factors = {
    shoe: matches.map(({ a }) => a.shoe_id),
    occasion: matches.map(occasion),
  };
  const fitted = (covariates: Readonly<Record<string, readonly number[]>>) =>
    mixedModel({ value: differences, factors, terms: ["shoe", "occasion"], covariates });
  const about = {
    confidence,
    n: matches.length,
    method: "mean difference by REML, Welch and Satterthwaite's t interval",
  };
  const occasions = new Set(factors.occasion).size;
  const line = occasions < FEWEST_FOR_CHANGE ? null : fitted({ years });
  const told = line !== null && line.design.fixedNames.includes("years")
    ? fixedContrast(line, { years: 1 }, { confidence })
    : null;
  const moves = told !== null && told.p !== null && told.p < CHANGE_RISK * (1 - confidence) / tests;
  const model = moves ? line! : fitted({});
  const level = moves ? differences.map((d, i) => d - told.estimate! * years[i]) : differences;
  return {
    ...limitsOf(model, { level, factors, about }),
    change: told === null
      ? noEstimate({ code: "few-occasions", needed: FEWEST_FOR_CHANGE, found: occasions }, about)
      : plain(told),
    moves,
  };
}

function plain(
  { estimate, estimate_reason, lower, upper, confidence, method, n, warnings }: Estimate,
): Estimate {
  return { estimate, estimate_reason, lower, upper, confidence, method, n, warnings };
}

/** Mean difference and the limits of a single one, from the scatter of shoes, occasions and the rest. */
function limitsOf(
  model: MixedModel,
  { level, factors, about }: {
    /** The differences, with a change over time taken out. */
    readonly level: readonly number[];
    readonly factors: DifferenceFactors;
    readonly about: { readonly confidence: number; readonly n: number; readonly method: string };
  },
): Pick<AgreementLimits, "bias" | "lower_limit" | "upper_limit"> {
  const { estimate, standard_error: error, estimate_reason } = fixedContrast(model, { mean: 1 });
  if (model.fit === null || estimate === null || error === null) {
    const none = noEstimate(estimate_reason ?? { code: "no-fit" }, about);
    return { bias: none, lower_limit: none, upper_limit: none };
  }
  // Nearly all differences of one shoe leave next to no freedom to see how shoes differ: limits would have no end.
  const most = Math.max(
    ...[...Map.groupBy(factors.shoe, (shoe) => shoe).values()].map(({ length }) => length),
  );
  if (most < level.length && 1 / sharedIn(factors.shoe) - 1 < LEAST_FREEDOM) {
    const none = noEstimate({ code: "mostly-one-shoe", readings: most, of: level.length }, about);
    return { bias: none, lower_limit: none, upper_limit: none };
  }
  const quantile = (freedom: number) => tQuantile((1 + about.confidence) / 2, freedom);
  const parts = partsOf(model, factors);
  const freedom = satterthwaite(parts.map(({ variance, share, freedom }) => ({
    variance: variance * share,
    freedom,
  })));
  const reach = Math.max(
    quantile(freedom) * error,
    ...[factors.shoe, factors.occasion].map((labels) => {
      const { error, freedom } = betweenGroups(level, labels);
      return freedom > 0 ? quantile(freedom) * error : 0;
    }),
  );
  const total = parts.reduce((sum, { variance }) => sum + variance, 0);
  const own = satterthwaite(parts);
  const z = normalUpperQuantile(0.025);
  const around = Math.hypot(reach, quantile(own) * z * Math.sqrt(total / (2 * own)));
  const limit = (at: number, reach: number, method: string): Estimate => ({
    estimate: at,
    estimate_reason: null,
    lower: at - reach,
    upper: at + reach,
    ...about,
    method,
    warnings: [],
  });
  const far = z * Math.sqrt(total);
  const how = "mean difference ± 1.96 SD of a single difference, Student's t interval";
  return {
    bias: limit(estimate, reach, about.method),
    lower_limit: limit(estimate - far, around, how),
    upper_limit: limit(estimate + far, around, how),
  };
}

type DifferenceFactors = {
  readonly shoe: readonly string[];
  readonly occasion: readonly string[];
};

type ScatterPart = {
  readonly variance: number;
  /** What of it is left in the mean of all differences. */
  readonly share: number;
  readonly freedom: number;
};

function partsOf(
  { design, fit, scale, n }: MixedModel,
  factors: DifferenceFactors,
): readonly ScatterPart[] {
  const groups = design.terms.map((_, i) => design.levels[i].length - 1);
  const rest = n - design.fixedNames.length - groups.reduce((sum, one) => sum + one, 0);
  return [...fit!.variances].map((variance, i) => {
    const term = design.terms[i] as keyof DifferenceFactors | undefined;
    return {
      variance: variance * scale ** 2,
      share: term === undefined ? 1 / n : sharedIn(factors[term]),
      freedom: Math.max(1, groups[i] ?? rest),
    };
  });
}
/**
 * Standard error of a mean of differences by how the sums of groups scatter, without a model: a component
 * that REML holds at 0 by luck makes no interval short.
 */
function betweenGroups(
  differences: readonly number[],
  labels: readonly string[],
): { readonly error: number; readonly freedom: number } {
  const n = differences.length;
  const centre = momentsOf(differences).mean;
  const groups = [...Map.groupBy(differences.keys(), (i) => labels[i]).values()];
  const squares = groups.reduce(
    (sum, own) => sum + own.reduce((total, i) => total + differences[i] - centre, 0) ** 2 / n ** 2,
    0,
  );
  const count = groups.length;
  return {
    error: count < 2 ? 0 : Math.sqrt(squares * count / (count - 1)),
    freedom: 1 / sharedIn(labels) - 1,
  };
}

/** What is left of one level's scatter in a mean over readings: the sum of squared shares of levels. */
function sharedIn(labels: readonly string[]): number {
  return [...Map.groupBy(labels, (label) => label).values()]
    .reduce((sum, own) => sum + (own.length / labels.length) ** 2, 0);
}

/** Degrees of freedom of a sum of variances (Welch and Satterthwaite). */
function satterthwaite(
  parts: readonly { readonly variance: number; readonly freedom: number }[],
): number {
  const total = parts.reduce((sum, { variance }) => sum + variance, 0);
  return total ** 2 /
    parts.reduce((sum, { variance, freedom }) => sum + variance ** 2 / freedom, 0);
}
