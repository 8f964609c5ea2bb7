import * as option from "../../options.ts";
import { CantAnswer } from "../../records/cant_answer.ts";
import { isComputed, visitsOf } from "../../records/selection.ts";
import type { Bench } from "../../records/types.ts";
import { momentsOf } from "../../statistics/checks.ts";
import type { Estimate } from "../../statistics/estimate.ts";
import type { Reason } from "../../statistics/reason.ts";
import { shoeName } from "../shoes/shoe_name.ts";
import { type AgreementLimits, agreementOf } from "./agreement_limits.ts";
import { occasion, type SameWeeks, sameWeeks } from "./same_weeks.ts";

/** Whether values of the one may stand beside those of the other, as far as a player would feel. */
export type AgreementVerdict = "may stand beside" | "may not stand beside" | "can't tell";

/** The same shoes by two operators, or on two rigs, in the same weeks. */
export type PairedSources = AgreementLimits & {
  readonly metric: string;
  readonly title: string;
  readonly unit: string;
  readonly decimals: number;
  /** Smallest difference that matters to a player, in the metric's unit. */
  readonly smallest_difference: number | null;
  readonly by: "operator" | "rig";
  /** The two compared; null when there are not two. */
  readonly a: string | null;
  readonly b: string | null;
  /** How far apart two visits may lie to be of the same weeks. */
  readonly within_days: number;
  readonly pairs: readonly {
    readonly shoe_id: string;
    readonly name: string;
    readonly mean: number;
    /** b minus a, each the mean of a visit's trials. */
    readonly difference: number;
    readonly days_apart: number;
    /** Day of the later visit. */
    readonly date: string;
  }[];
  readonly shoes: number;
  /** Pairs of sessions that hold them. */
  readonly occasions: number;
  /** Operators where these changed with the rig every time, and the other way round. */
  readonly mixed_with: "operator" | "rig" | null;
  readonly verdict: AgreementVerdict;
  readonly verdict_reason: Reason | null;
};

/** Four weeks: nearer than a bench drifts, far enough for two days at the bench. */
const SAME_WEEKS = 28;

/**
 * Do two operators, or two rigs, read the same shoe alike, so that their values may stand side by side?
 *
 * Visits of one pair by both within `within_days` are set against each other, each once (`sameWeeks`). The
 * mean difference and the scatter about it come from a mixed model: shoes may differ in it, and all
 * shoes of two sessions share their luck. Limits of agreement are mean ± 1.96 SD of a single difference, with
 * the noise of two visits in it, since nobody benches a shoe twice at once; where every shoe counts once
 * they are those of Bland and Altman. A difference that changes over time is told for the last occasion. The
 * verdict sets the interval of the mean difference against the smallest difference that matters; with one
 * occasion there is none, since the luck of two days is in it. Readings are taken as read, whatever is corrected.
 *
 * @param options.a, options.b the two; the two with most visits by default, in order of name
 * @param options.within_days 28 by default
 * @throws {RangeError} if the metric is unknown
 * @see Bland & Altman 1986, 1999, 2007
 */
export function pairedSources(
  bench: Bench,
  metric: string,
  { by, a, b, within_days = SAME_WEEKS, confidence = bench.settings.confidence }: {
    readonly by: "operator" | "rig";
    readonly a?: string;
    readonly b?: string;
    readonly within_days?: number;
    readonly confidence?: number;
  },
): PairedSources {
  option.check("studies.pairedSources", arguments[2], {
    by: option.needed(option.oneOf("operator", "rig")),
    a: option.text,
    b: option.text,
    within_days: option.notNegative,
    confidence: option.share,
  });
  const about = bench.metrics.find(({ id }) => id === metric);
  if (about === undefined) {
    throw new CantAnswer(
      { code: "not-on-bench", what: "metric", id: metric },
      `There is no metric "${metric}"`,
    );
  }
  const visits = visitsOf(bench, metric);
  const counts = new Map<string, number>();
  for (const visit of visits) {
    const source = visit[by];
    if (source !== null) counts.set(source, (counts.get(source) ?? 0) + 1);
  }
  const usual = [...counts].toSorted(([nameA, x], [nameB, y]) => y - x || (nameA < nameB ? -1 : 1))
    .map(([name]) => name).slice(0, 2).sort();
  const [first, second] = [a ?? usual[0] ?? null, b ?? usual[1] ?? null];
  const of = (source: string | null) =>
    source === null ? [] : visits.filter((visit) => visit[by] === source);
  const [own, other] = [of(first), of(second)];
  const matches = sameWeeks(own, other, within_days);
  const found = agreementOf(matches, { confidence, tests: bench.metrics.length });
  const names = new Map(bench.shoes.map((shoe) => [shoe.shoe_id, shoeName(shoe)]));
  const missing: Reason | null = first === null || second === null
    ? { code: "one-source", by }
    : new Set(matches.map(occasion)).size === 1 && matches.length > 1
    ? { code: "one-occasion" }
    : matches.length < 2
    ? whyFew(own, other, { found: matches.length, days: within_days, by })
    : new Set(matches.map(({ a }) => a.shoe_id)).size === 1
    ? { code: "one-shoe-met", name: names.get(matches[0].a.shoe_id) ?? matches[0].a.shoe_id }
    : null;
  return {
    metric,
    title: about.title,
    unit: about.unit,
    decimals: about.decimals,
    smallest_difference: about.smallest_difference,
    by,
    a: first,
    b: second,
    within_days,
    pairs: matches.map(({ a, b, days }) => {
      const [x, y] = [momentsOf(a.values).mean, momentsOf(b.values).mean];
      return {
        shoe_id: a.shoe_id,
        name: names.get(a.shoe_id) ?? a.shoe_id,
        mean: (x + y) / 2,
        difference: y - x,
        days_apart: days,
        date: a.date > b.date ? a.date : b.date,
      };
    }),
    shoes: new Set(matches.map(({ a }) => a.shoe_id)).size,
    occasions: new Set(matches.map(occasion)).size,
    ...found,
    mixed_with: alwaysWith(matches, by === "rig" ? "operator" : "rig"),
    ...(missing === null
      ? verdictOf(found.bias, about.smallest_difference)
      : { verdict: "can't tell" as const, verdict_reason: missing }),
  };
}

/** Which metrics' rigs and operators agree? Those that the bench reads itself, where there are two. */
export function sourceAgreement(bench: Bench): readonly PairedSources[] {
  return bench.metrics.filter((metric) => !isComputed(metric, bench.metrics)).flatMap(({ id }) =>
    (["rig", "operator"] as const).map((by) => pairedSources(bench, id, { by }))
  ).filter(({ b }) => b !== null);
}

function verdictOf(
  { lower, upper, estimate_reason }: Estimate,
  margin: number | null,
): Pick<PairedSources, "verdict" | "verdict_reason"> {
  const open = (verdict_reason: Reason) => ({ verdict: "can't tell" as const, verdict_reason });
  if (lower === null || upper === null) return open(estimate_reason ?? { code: "no-limits" });
  if (margin === null) return open({ code: "no-smallest-difference" });
  if (lower > -margin && upper < margin) {
    return { verdict: "may stand beside", verdict_reason: null };
  }
  if (lower > margin || upper < -margin) {
    return { verdict: "may not stand beside", verdict_reason: null };
  }
  return open({ code: "interval-spans-margin" });
}

/** Why do so few visits meet in the same weeks? */
function whyFew(
  own: readonly { readonly shoe_id: string }[],
  other: readonly { readonly shoe_id: string }[],
  { found, days, by }: {
    readonly found: number;
    readonly days: number;
    readonly by: "operator" | "rig";
  },
): Reason {
  const theirs = new Set(other.map(({ shoe_id }) => shoe_id));
  const both = new Set(own.map(({ shoe_id }) => shoe_id).filter((shoe) => theirs.has(shoe))).size;
  return both === 0 ? { code: "no-shoe-by-both", by } : { code: "weeks-apart", both, found, days };
}

/** Does something else change with the two every time, so that nobody can say which of them it is? */
function alwaysWith(
  matches: readonly SameWeeks[],
  other: "operator" | "rig",
): "operator" | "rig" | null {
  const pairs = new Set(matches.map(({ a, b }) => JSON.stringify([a[other], b[other]])));
  const [[first, second]] = matches.length === 0
    ? [[null, null]]
    : [[matches[0].a[other], matches[0].b[other]]];
  return pairs.size === 1 && first !== second ? other : null;
}
