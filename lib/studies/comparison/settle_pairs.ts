import { normalQuantile, tQuantile } from "../../statistics/distributions.ts";
import { type Estimate, noEstimate } from "../../statistics/estimate.ts";
import { singleStepLevel } from "../../statistics/single_step_level.ts";
import { betterDirection } from "../../statistics/percentile.ts";
import type { Reason } from "../../statistics/reason.ts";
import type { ComparedOn } from "./compared_on.ts";
import type { ComparedSide, RawPair } from "./compared_side.ts";

/** What the numbers let one say of two shoes. */
export type ComparisonWord = "differ" | "differ by enough to feel" | "alike" | "can't tell";

/** Two shoes on one metric or impression. */
export type Comparison = {
  readonly metric: string | null;
  readonly attribute: string | null;
  readonly a: string;
  readonly b: string;
  /** `a` minus `b`, with an interval that holds together with those of everything else that was asked. */
  readonly difference: Estimate;
  readonly standard_error: number | null;
  /** Degrees of freedom of the standard error; null stands for a normal distribution. */
  readonly freedom: number | null;
  /** As if nothing else had been asked. */
  readonly unadjusted: {
    readonly lower: number | null;
    readonly upper: number | null;
    readonly p: number | null;
    readonly word: ComparisonWord;
  };
  readonly p_adjusted: number | null;
  /** How far noise alone reaches between the two, with all that was asked together: half the interval drawn. */
  readonly reach: number | null;
  /** Smallest difference of these two that would not be noise, as if nothing else had been asked. */
  readonly mdc: number | null;
  readonly mdc_reason: Reason | null;
  readonly word: ComparisonWord;
  /** The shoe that is shown to be better; null where none is, or more is neither good nor bad. */
  readonly ahead: string | null;
  /** What `word` is said of: where no model was benched in two pairs, of the pairs benched and not of the models. */
  readonly about: "pairs" | "models";
  /** What may be said of the models: without a second pair of any, *can't tell*, with the reason. */
  readonly models_word: ComparisonWord;
  readonly models_reason: Reason | null;
  /**
   * The models differ too as long as pairs of one model scatter by less than this (standard deviation, in the
   * metric's unit); null where that is not in doubt, or the pairs are not shown to differ.
   */
  readonly models_differ_below: number | null;
};

/** What may be said of every pair, given that all were asked together. */
export function settlePairs(
  sides: readonly ComparedSide[],
  { confidence }: { readonly confidence: number },
): { readonly comparisons: readonly Comparison[]; readonly family: number } {
  const blocks = sides.flatMap(({ pairs, covariance }) => {
    const told = pairs.filter((pair) => pair.p !== null);
    return told.length === 0 ? [] : [{
      told,
      covariance,
      freedom: told.map((pair) => pair.freedom),
      p: told.map((pair) => pair.p!),
    }];
  });
  const { level, p_adjusted } = singleStepLevel(blocks, { confidence });
  const adjusted = new Map(
    blocks.flatMap(({ told }, block) =>
      told.map((pair, index) => [pair, p_adjusted[block][index]] as const)
    ),
  );
  const comparisons = sides.flatMap(({ on, pairs, one_pair }) =>
    pairs.map((pair): Comparison => {
      const settled = settle(pair, on, {
        level,
        p_adjusted: adjusted.get(pair) ?? null,
        family: adjusted.size,
        confidence,
      });
      return { ...settled, ...ofModels(settled, on, one_pair) };
    })
  );
  return { comparisons, family: adjusted.size };
}

/** What two pairs allow to be said of their models. */
function ofModels(
  { word, difference, standard_error, reach }: Settled,
  { title }: ComparedOn,
  one_pair: boolean,
): Pick<Comparison, "about" | "models_word" | "models_reason" | "models_differ_below"> {
  if (!one_pair) {
    return { about: "models", models_word: word, models_reason: null, models_differ_below: null };
  }
  const { estimate } = difference;
  const shown = word.startsWith("differ") && estimate !== null;
  // Two pairs part the values by twice the variance of one; with that the interval would just reach 0.
  const room = shown ? ((estimate * standard_error! / reach!) ** 2 - standard_error! ** 2) / 2 : 0;
  return {
    about: "pairs",
    models_word: "can't tell",
    models_reason: { code: "no-second-pair", metric: title },
    models_differ_below: shown && room > 0 ? Math.sqrt(room) : null,
  };
}

type Settled = Omit<
  Comparison,
  "about" | "models_word" | "models_reason" | "models_differ_below"
>;

function settle(
  pair: RawPair,
  on: ComparedOn,
  { level, p_adjusted, family, confidence }: {
    readonly level: number;
    readonly p_adjusted: number | null;
    readonly family: number;
    readonly confidence: number;
  },
): Settled {
  const { a, b, difference, standard_error, freedom, n, method } = pair;
  const shared = { metric: on.metric, attribute: on.attribute, a, b };
  if (difference === null || standard_error === null || p_adjusted === null) {
    const reason = pair.reason ?? { code: "noise-unknown" };
    const word = pair.higher === undefined ? "can't tell" : "differ";
    const better = betterDirection(on.better) * (pair.higher === "a" ? 1 : -1);
    return {
      ...shared,
      difference: noEstimate(reason, { confidence, method, n }),
      standard_error: null,
      freedom: null,
      unadjusted: { lower: null, upper: null, p: null, word },
      p_adjusted: null,
      reach: null,
      mdc: null,
      mdc_reason: reason,
      word,
      ahead: word === "can't tell" || better === 0 ? null : better > 0 ? a : b,
    };
  }
  const around = (risk: number) => {
    const half = standard_error * quantile(1 - risk / 2, freedom);
    return { lower: difference - half, upper: difference + half };
  };
  const [alone, together] = [around(1 - confidence), around(level)];
  const word = wordFor(together, on);
  const direction = betterDirection(on.better);
  const differs = word === "differ" || word === "differ by enough to feel";
  return {
    ...shared,
    difference: {
      estimate: difference,
      estimate_reason: null,
      ...together,
      confidence,
      method: family === 1 ? method : `${method}; single-step maximum t over ${family} comparisons`,
      n,
      warnings: [],
    },
    standard_error,
    freedom: freedom === Infinity ? null : freedom,
    unadjusted: { ...alone, p: pair.p, word: wordFor(alone, on) },
    p_adjusted,
    reach: together.upper - difference,
    mdc: alone.upper - difference,
    mdc_reason: null,
    word,
    ahead: !differs || direction === 0 ? null : difference * direction > 0 ? a : b,
  };
}

function quantile(p: number, freedom: number): number {
  return freedom === Infinity ? normalQuantile(p) : tQuantile(p, freedom);
}

/** What the interval drawn lets one say. */
function wordFor(
  { lower, upper }: { readonly lower: number; readonly upper: number },
  { smallest_difference: margin }: ComparedOn,
): ComparisonWord {
  if (lower > 0 || upper < 0) {
    return margin !== null && (lower > margin || upper < -margin)
      ? "differ by enough to feel"
      : "differ";
  }
  return margin !== null && lower > -margin && upper < margin ? "alike" : "can't tell";
}
