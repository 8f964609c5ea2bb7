import type { RigCalibration } from "../../studies/budget/rig_calibrations.ts";
import type { BudgetPart, UncertaintyBudget } from "../../studies/budget/uncertainty_budget.ts";
import { sayReason } from "../reasons.ts";
import type { ReviewRow } from "../review/review_tables.ts";
import { inUnit, noiseInUnit, unitWords } from "../unit_words.ts";
import { counted, listed, midSentence } from "../phrases.ts";

const sources: Readonly<Record<BudgetPart["source"], string>> = {
  trials: "scatter of trials",
  visits: "visit to visit of one shoe",
  sessions: "session to session",
  operators: "operator to operator",
  pairs: "pair to pair of one model",
  correction: "correction to the reference shoes",
  resolution: "step of the reading",
  calibration: "rig against known values",
  reference: "what all readings share",
  inputs: "inputs of the metric's function",
};

/** What does a reader call a part of the budget? */
export function budgetSourceWords(source: BudgetPart["source"]): string {
  return sources[source];
}

/** How uncertain is a published value: the figure for comparing, the one for quoting, and what is in neither? */
export function budgetSentence(budget: UncertaintyBudget): string {
  const { comparing, difference, quoting, title } = budget;
  if (comparing === null || difference === null || quoting === null) {
    return `No budget for ${title}: ${sayReason(budget.reason ?? { code: "no-limits" })}.`;
  }
  const chance = Math.round(100 * comparing.confidence);
  const largest = budget.parts.toSorted((a, b) => b.standard - a.standard)[0];
  const unknown = budget.not_known.map((one) =>
    one === "resolution"
      ? "the step of the reading"
      : one === "calibration"
      ? "a check against known values"
      : "what all readings share"
  );
  return `A value of ${title} is sure to ± ${
    noiseInUnit(comparing.expanded, budget)
  } on this bench, the difference of two shoes to ± ${
    noiseInUnit(difference.expanded, budget)
  }; for quoting to another bench it is ± ${
    noiseInUnit(quoting.expanded, budget)
  } (${chance}%). The largest part of that: ${budgetSourceWords(largest.source)}${
    largest.shared ? ", which cancels between two shoes" : ""
  }.${
    unknown.length === 0 ? "" : ` In no figure, since nobody wrote it down: ${listed(unknown)}.`
  }`;
}

/** The parts of a budget, one row each, then what they come to. */
export function budgetRows(budget: UncertaintyBudget): ReviewRow[] {
  const digits = budget.decimals + 2;
  const unit = unitWords(budget.unit);
  const name = unit === "" ? "standard uncertainty" : `standard uncertainty, ${unit}`;
  const freedom = (value: number | null) => value === null ? "not limited" : Math.round(value);
  const total = (source: string, sum: UncertaintyBudget["quoting"]): ReviewRow[] =>
    sum === null ? [] : [{
      source,
      type: null,
      [name]: sum.standard.toFixed(digits),
      "degrees of freedom": freedom(sum.freedom),
      "between two shoes": `± ${sum.expanded.toFixed(digits - 1)} at ${
        Math.round(100 * sum.confidence)
      }%`,
    }];
  return [
    ...budget.parts.map((part) => ({
      source: budgetSourceWords(part.source),
      type: part.type,
      [name]: part.standard.toFixed(digits),
      "degrees of freedom": freedom(part.freedom),
      "between two shoes": part.shared ? "cancels" : "counts",
    })),
    ...total("together, for comparing on this bench", budget.comparing),
    ...total("the difference of two shoes", budget.difference),
    ...total("together, for quoting to another bench", budget.quoting),
  ];
}

/** What do checks against known values say of each rig? */
export function calibrationSentences(budget: UncertaintyBudget): string[] {
  return budget.calibrations.map((one) => calibrationSentence(one, budget));
}

function calibrationSentence(one: RigCalibration, budget: UncertaintyBudget): string {
  const { rig, error, checks, last, slope, standard_uncertainty: u } = one;
  const { unit, decimals, title } = budget;
  const finer = { unit, decimals: decimals + 1 };
  const grows = slope !== null && (slope.lower > 0 || slope.upper < 0);
  return `${rig} reads ${midSentence(title)} ${inUnit(Math.abs(error), finer)} ${
    error < 0 ? "low" : "high"
  } against known values (standard uncertainty ${noiseInUnit(u, { unit })}, ${
    counted(checks, "check")
  }, the last on ${last})${toleranceClause(one, budget)}${
    grows ? ", and the error grows with the value" : ""
  }.`;
}

/** Is the error more than matters to a player, less, or can't that be told? */
function toleranceClause(
  { out_of_tolerance, within_tolerance, tolerance_chance: chance, checks }: RigCalibration,
  budget: UncertaintyBudget,
): string {
  const margin = budget.smallest_difference;
  if (margin === null) return "";
  const matters = `the ${inUnit(margin, budget)} that ${
    margin === 1 ? "matters" : "matter"
  } to a player`;
  if (out_of_tolerance === true) return `, surely more than ${matters}: adjust it`;
  if (within_tolerance === true) return `, surely less than ${matters}`;
  if (checks < 2 && out_of_tolerance === null) {
    return `; whether that is less than ${matters} can't be told from one check against a value of unknown uncertainty`;
  }
  return `; whether that is less than ${matters} can't be told${
    chance === null ? "" : ` (it is with a probability of ${percentOf(chance)})`
  }: check it more often`;
}

/** A probability, never rounded to certainty. */
function percentOf(chance: number): string {
  const percent = 100 * chance;
  return percent < 1 ? "less than 1%" : percent > 99 ? "more than 99%" : `${Math.round(percent)}%`;
}

/** How many readings were struck out, and what would they make of the noise? */
export function struckSentence({ struck, unit, decimals, title }: UncertaintyBudget): string {
  if (struck.struck === 0) return `No reading of ${title} was struck out.`;
  const finer = { unit, decimals: decimals + 1 };
  const list = (counts: Readonly<Record<string, number>>) =>
    listed(Object.entries(counts).map(([name, count]) => `${name} ${count}`));
  const moved = (
    name: string,
    { without, with: back }: { readonly without: number | null; readonly with: number | null },
  ) =>
    without === null || back === null
      ? []
      : [`${name} ${inUnit(without, finer)} would be ${inUnit(back, finer)}`];
  const figures = [
    ...moved("a repeatability SD of", {
      without: struck.without.repeatability_sd,
      with: struck.with.repeatability_sd,
    }),
    ...moved("an MDC of", { without: struck.without.mdc, with: struck.with.mdc }),
  ];
  return `${struck.struck} of ${struck.of} readings of ${title} were struck out (${
    list(struck.by_reason)
  }; by rig: ${list(struck.by_rig)}; by operator: ${list(struck.by_operator)})${
    figures.length === 0 ? "" : `; with them ${listed(figures)}`
  }.`;
}

/** Budgets of several metrics, one row each: the figures by use, the largest part, and what was struck. */
export function budgetOverviewRows(budgets: readonly UncertaintyBudget[]): ReviewRow[] {
  return budgets.map((budget): ReviewRow => {
    const { comparing, difference, quoting, parts, struck, unit } = budget;
    const sure = (sum: UncertaintyBudget["quoting"]) =>
      sum === null ? null : `± ${noiseInUnit(sum.expanded, { unit })}`;
    const figure = (value: number | null) => value === null ? null : noiseInUnit(value, { unit });
    const largest = parts.toSorted((a, b) => b.standard - a.standard)[0];
    return {
      metric: budget.title,
      "a value, here": sure(comparing),
      "a difference, here": sure(difference),
      "a value, quoted": sure(quoting),
      "most of it": largest === undefined ? null : budgetSourceWords(largest.source),
      struck: `${struck.struck} of ${struck.of}`,
      "MDC as published": figure(struck.without.mdc),
      "with struck readings": figure(struck.with.mdc),
    };
  });
}

/** Reasons that the finding names; the rest are counted together. */
const MOST_REASONS = 3;

/** From this share on a metric is said to have had many readings struck. */
const MANY_STRUCK = 0.02;

/** The sentence where many were: figures from tests/benchmarks/struck_readings.ts. */
function manyStruck(budgets: readonly UncertaintyBudget[]): string {
  const many = budgets.filter(({ struck, computed }) =>
    !computed && struck.struck >= MANY_STRUCK * struck.of && struck.struck > 1
  );
  return many.length === 0 ? "" : ` Of ${
    listed(
      many.map(({ title, struck }) =>
        `${midSentence(title)} ${(100 * struck.struck / struck.of).toFixed(0)}%`
      ),
    )
  } were struck: striking the farthest 2 or 3% for being far makes noise look smaller by a tenth where readings scatter normally, by a fifth where their tails are heavy, so each needs a reason of its own.`;
}

/**
 * How many readings of all metrics were struck out, why, on which rig and by whom, and which noise would move?
 *
 * The commonest reasons, and the metric whose MDC would move furthest for its size; the table of budgets
 * has all metrics.
 */
export function struckFinding(budgets: readonly UncertaintyBudget[]): string {
  const some = budgets.filter(({ struck }) => struck.struck > 0);
  if (some.length === 0) return "No reading was struck out.";
  const read = budgets.filter(({ computed }) => !computed);
  const total = (of: "struck" | "of") => read.reduce((sum, { struck }) => sum + struck[of], 0);
  const tally = (by: "by_reason" | "by_rig" | "by_operator", most = Infinity) => {
    const counts = new Map<string, number>();
    for (const { struck } of read) {
      for (const [name, count] of Object.entries(struck[by])) {
        counts.set(name, (counts.get(name) ?? 0) + count);
      }
    }
    const sorted = [...counts].toSorted((a, b) => b[1] - a[1] || (a[0] < b[0] ? -1 : 1));
    const others = sorted.slice(most).reduce((sum, [, count]) => sum + count, 0);
    return listed([
      ...sorted.slice(0, most).map(([name, count]) => `${name} ${count}`),
      ...(others === 0 ? [] : [`other reasons ${others}`]),
    ]);
  };
  const moved = some.flatMap(({ title, unit, struck }) => {
    const [now, back] = [struck.without.mdc, struck.with.mdc];
    if (now === null || back === null) return [];
    const [from, to] = [noiseInUnit(now, { unit }), noiseInUnit(back, { unit })];
    return from === to
      ? []
      : [{ words: `${midSentence(title)} (${from} → ${to})`, far: Math.abs(Math.log(back / now)) }];
  }).toSorted((a, b) => b.far - a.far);
  return `${total("struck")} of ${counted(total("of"), "reading")} were struck out: ${
    tally("by_reason", MOST_REASONS)
  }; ${tally("by_rig")}; ${tally("by_operator")}. ${
    moved.length === 0
      ? "Put back, they would move no MDC."
      : `Put back, they would move ${counted(moved.length, "MDC")}${
        moved.length === 1 ? ":" : ", furthest"
      } ${moved[0].words}.`
  }${manyStruck(budgets)}`;
}
