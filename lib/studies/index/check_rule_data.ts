import type { Bench, IndexRule, Problem } from "../../records/types.ts";
import { applyRule } from "./apply_rule.ts";
import { ruleValues } from "./rule_values.ts";

/**
 * Is there anything that this rule could be judged on?
 *
 * Two things make every judgement empty, whatever the loader found right: that nobody rated the attribute
 * the rule stands for, and that no shoe has all its terms. A term that many shoes lack is no problem.
 *
 * @param file where the rule stands, for the person who must write there
 * @returns problems as the loader words them; none when the rule can be judged
 */
export function checkRuleData(bench: Bench, rule: IndexRule, file: string): Problem[] {
  const problem = (column: string, found: string, expected: string, fix: string): Problem => ({
    file,
    line: null,
    column,
    found,
    expected,
    fix,
    severity: "error",
  });
  const problems: Problem[] = [];
  const rated = bench.impressions.filter(({ rating }) => rating !== null);
  if (!rated.some(({ attribute }) => attribute === rule.target_attribute)) {
    const others = [...new Set(rated.map(({ attribute }) => attribute))];
    problems.push(problem(
      "target_attribute",
      `"${rule.target_attribute}", which nobody has rated`,
      others.length === 0
        ? "an attribute with ratings in impressions.csv"
        : `an attribute with ratings: ${others.join(", ")}`,
      `Rate ${rule.target_attribute} on court and add the rows to impressions.csv, or name another attribute here.`,
    ));
  }
  const { table } = ruleValues(bench, rule.terms.map(({ metric }) => metric), null);
  const scored = applyRule(bench, rule, table);
  if (!scored.some(({ missing_terms }) => missing_terms.length === 0)) {
    const lacking = rule.terms.map(({ metric }) => ({
      metric,
      shoes: table.get(metric)?.size ?? 0,
    })).toSorted((a, b) => a.shoes - b.shoes);
    const unread = lacking.filter(({ shoes }) => shoes === 0).map(({ metric }) => metric);
    problems.push(problem(
      "terms",
      "no shoe that has a value for every term",
      "at least one such shoe",
      unread.length > 0
        ? `No trial of ${unread.join(", ")} counts yet: bench it, or take the term out.`
        : `Fewest shoes have ${lacking[0].metric} (${
          lacking[0].shoes
        }): bench it on shoes that have the rest.`,
    ));
  }
  return problems;
}
