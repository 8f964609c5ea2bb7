import { isInstrument } from "../../records/selection.ts";
import { sum } from "simple-statistics";
import type { Bench, IndexRule } from "../../records/types.ts";
import type { Reason } from "../../statistics/reason.ts";
import { panelValues } from "../panel/panel_values.ts";
import { shoeName } from "../shoes/shoe_name.ts";
import { type ShoeTree, shoeTree } from "../shoes/shoe_tree.ts";
import { applyRule } from "./apply_rule.ts";
import { ruleValues } from "./rule_values.ts";

/** A rated shoe, or one with all terms, that can have no part in a fit. */
export type LeftOutShoe = {
  readonly shoe_id: string;
  readonly name: string;
  readonly reason: Reason;
};

/** Shoes with a rating and every term: what weights are fitted to. */
export type RecalibrationData = {
  readonly shoe_ids: readonly string[];
  readonly tree: ShoeTree;
  readonly ratings: readonly number[];
  /** Per shoe, one column a term, such that the weighted sum is the score less the offset. */
  readonly parts: readonly (readonly number[])[];
  readonly left_out: readonly LeftOutShoe[];
  readonly warnings: readonly Reason[];
};

/** Which shoes can the weights of a rule be fitted to, and with what? */
export function recalibrationData(bench: Bench, rule: IndexRule): RecalibrationData {
  const { table } = ruleValues(bench, rule.terms.map(({ metric }) => metric), null);
  const panel = panelValues(bench, rule.target_attribute);
  const felt = new Map(panel.shoes.map((shoe) => [shoe.shoe_id, shoe.value]));
  const names = new Map(bench.shoes.map((shoe) => [shoe.shoe_id, shoeName(shoe)]));
  const whole = sum(rule.terms.map(({ weight }) => weight));
  const scored = applyRule(bench, rule, table);
  const usable = scored.filter((row) =>
    !isInstrument(bench, row.shoe_id) && felt.has(row.shoe_id) &&
    row.terms.every(({ scaled }) => scaled !== null)
  );
  const used = new Set(usable);
  const shoe_ids = usable.map(({ shoe_id }) => shoe_id);
  return {
    shoe_ids,
    tree: shoeTree(bench, shoe_ids),
    ratings: shoe_ids.map((shoe_id) => felt.get(shoe_id)!),
    parts: usable.map(({ terms, bonuses }) => {
      // A bonus is worth its points whatever the weights: as they sum to `whole`, so much of it goes
      // into every column.
      const bonus = sum(bonuses.map(({ points }) => points)) / whole;
      return terms.map(({ scaled }) => rule.multiplier * scaled! + bonus);
    }),
    left_out: scored.filter((row) => !used.has(row)).map((row): LeftOutShoe => ({
      shoe_id: row.shoe_id,
      name: names.get(row.shoe_id)!,
      reason: isInstrument(bench, row.shoe_id)
        ? { code: "reference-shoe" }
        : felt.has(row.shoe_id)
        ? { code: "terms-missing", metrics: [...new Set(row.missing_terms)] }
        : { code: "not-rated", attribute: rule.target_attribute },
    })),
    warnings: panel.warnings,
  };
}

/** The same rule with other weights. */
export function withWeights(rule: IndexRule, weights: readonly number[]): IndexRule {
  return { ...rule, terms: rule.terms.map((term, j) => ({ ...term, weight: weights[j] })) };
}
