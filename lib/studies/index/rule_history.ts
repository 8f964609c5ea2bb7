import { isInstrument } from "../../records/selection.ts";
import { benchUntil, quarterEnd, quarterOf } from "../../records/quarters.ts";
import type { Bench, IndexRule } from "../../records/types.ts";
import type { Reason } from "../../statistics/reason.ts";
import { spearman } from "../../statistics/spearman.ts";
import { applyRule } from "./apply_rule.ts";
import { type ScoreLink, scoreLink } from "./rank_moves.ts";
import { lastDay, ruleValues } from "./rule_values.ts";
import { shoeName } from "../shoes/shoe_name.ts";

/** A score as it stood on a day. */
export type DatedScore = {
  readonly date: string;
  readonly score: number | null;
  readonly score_reason: Reason | null;
  readonly rank: number | null;
};

/** One version of the index, and the days on which its tables are looked up. */
export type RuleVersion = {
  readonly version: string;
  readonly title: string;
  readonly effective: string;
  /** Last day in force; the last day of the data for the rule in force. */
  readonly until: string;
  readonly days: readonly string[];
  /** From this version's scores to those of the next, today's data under both. */
  readonly link_to_next: ScoreLink & { readonly rank_correlation: number | null } | null;
};

/** Every shoe under every version of the index so far. */
export type RuleHistory = {
  readonly today: string | null;
  readonly versions: readonly RuleVersion[];
  readonly shoes: readonly {
    readonly shoe_id: string;
    readonly name: string;
    readonly versions: readonly {
      readonly version: string;
      /** With what was known then: at the end of each quarter in force, and on the last day in force. */
      readonly then: readonly DatedScore[];
      /** The same rule on everything that is known now. */
      readonly now: DatedScore | null;
    }[];
  }[];
};

/**
 * Which number was published when, and what would each version say today?
 *
 * Every version is run on the bench as it was at the end of each quarter in which it was in force, and on its
 * last day, so that a published number can be found again; and on everything known now. A version
 * that takes effect after the last data has no days yet. Versions are linked by the line that keeps mean
 * and spread.
 *
 * @param bench with all its rules
 * @returns oldest version first
 */
export function ruleHistory(bench: Bench): RuleHistory {
  const today = lastDay(bench);
  const rules = today === null ? [] : bench.rules.filter(({ effective }) => effective <= today)
    .toSorted((a, b) => a.effective < b.effective ? -1 : 1);
  const reigns = rules.map((rule, place) => {
    const next = rules[place + 1];
    const until = next === undefined ? today! : dayBefore(next.effective);
    return { rule, until, days: quarterEnds(rule.effective, until) };
  });
  const tables = reigns.map(({ rule, days }) => ({
    then: days.map((day) => datedTable(benchUntil(bench, day), rule, day)),
    now: datedTable(bench, rule, today!),
  }));
  return {
    today,
    versions: reigns.map(({ rule, until, days }, place) => ({
      version: rule.version,
      title: rule.title,
      effective: rule.effective,
      until,
      days,
      link_to_next: place === reigns.length - 1
        ? null
        : linkBetween(tables[place].now, tables[place + 1].now),
    })),
    shoes: bench.shoes.map((shoe) => ({
      shoe_id: shoe.shoe_id,
      name: shoeName(shoe),
      versions: reigns.map(({ rule }, place) => ({
        version: rule.version,
        then: tables[place].then.flatMap((table) => table.get(shoe.shoe_id) ?? []),
        now: tables[place].now.get(shoe.shoe_id) ?? null,
      })),
    })),
  };
}

type DatedTable = ReadonlyMap<string, DatedScore>;

/** A rule may name a metric that did not exist yet on the day: no shoe has a value then. */
function datedTable(bench: Bench, rule: IndexRule, date: string): DatedTable {
  const { table } = ruleValues(bench, rule.terms.map(({ metric }) => metric), null);
  const known = new Set(bench.metrics.map(({ id }) => id));
  const readable = rule.terms.every(({ metric }) => known.has(metric));
  const scored = readable ? applyRule(bench, rule, table) : [];
  const products = scored.filter(({ shoe_id }) => !isInstrument(bench, shoe_id));
  const scores = products.flatMap(({ score }) => score ?? []);
  return new Map(scored.map(({ shoe_id, score, score_reason }) => [shoe_id, {
    date,
    score,
    score_reason,
    rank: score === null || isInstrument(bench, shoe_id)
      ? null
      : 1 + scores.filter((other) => other > score + 1e-12).length,
  }]));
}

function linkBetween(old: DatedTable, updated: DatedTable): RuleVersion["link_to_next"] {
  const both = [...old].flatMap(([shoe_id, { score }]) => {
    const later = updated.get(shoe_id)?.score ?? null;
    return score === null || later === null ? [] : [{ old: score, updated: later }];
  });
  // From old to new: the old scores are those to be put on another scale.
  const link = scoreLink({
    shoes: both.map((pair) => ({ old_score: pair.updated, new_score: pair.old })),
  });
  return {
    ...link,
    rank_correlation: spearman(both.map(({ old }) => old), both.map(({ updated }) => updated), {
      interval: "none",
      permutations: 0,
    })
      .estimate,
  };
}

function quarterEnds(from: string, until: string): string[] {
  const days: string[] = [];
  for (let day = quarterEnd(quarterOf(from)); day < until; day = nextQuarterEnd(day)) {
    days.push(day);
  }
  return until < from ? days : [...days, until];
}

function nextQuarterEnd(day: string): string {
  return quarterEnd(quarterOf(dayAfter(day)));
}

function dayBefore(day: string): string {
  return shifted(day, -1);
}

function dayAfter(day: string): string {
  return shifted(day, 1);
}

function shifted(day: string, by: number): string {
  const date = new Date(`${day}T00:00:00Z`);
  date.setUTCDate(date.getUTCDate() + by);
  return date.toISOString().slice(0, 10);
}
