import { isInstrument } from "../../records/selection.ts";
import type { Bench, IndexRule } from "../../records/types.ts";
import type { IndexScores } from "../index/index_scores.ts";
import { shoeName } from "../shoes/shoe_name.ts";
import type { Reason } from "../../statistics/reason.ts";

/** Which shoes a rule can score, and what must be benched for the rest. */
export type RuleCoverage = {
  readonly coverage: {
    readonly shoes: number;
    readonly scorable_old: number;
    readonly scorable_new: number;
    /** Scored with every term there. */
    readonly whole_new: number;
    readonly share_old: number | null;
    readonly share_new: number | null;
    readonly share_reason: Reason | null;
    /** Shoes that have a score now and would have none. */
    readonly lost: readonly { readonly shoe_id: string; readonly name: string }[];
    readonly terms: readonly {
      readonly metric: string;
      readonly title: string;
      readonly introduced: string;
      readonly shoes_missing: number;
      /** Of these, last benched before the metric was introduced. */
      readonly before_metric: number;
    }[];
  };
  /** Rated shoes first, as they also help to judge the gain; then those that lack least. */
  readonly rebench: readonly {
    readonly shoe_id: string;
    readonly name: string;
    readonly metrics: readonly string[];
    readonly reason: Reason;
    readonly rated: boolean;
    readonly last_benched: string | null;
  }[];
};

/**
 * Which shoes can a rule score, and which must go back on the bench first?
 *
 * A metric that did not exist when a shoe was benched is the usual reason and no fault of anyone.
 *
 * @param rated shoes with a rating of the rule's target attribute
 */
export function ruleCoverage(
  bench: Bench,
  { old, updated, rule, rated }: {
    readonly old: Pick<IndexScores, "shoes">;
    readonly updated: Pick<IndexScores, "shoes">;
    readonly rule: IndexRule;
    readonly rated: ReadonlySet<string>;
  },
): RuleCoverage {
  const dates = new Map(bench.sessions.map(({ session_id, date }) => [session_id, date]));
  const lastBenched = new Map<string, string>();
  for (const { shoe_id, session_id } of bench.trials) {
    const date = dates.get(session_id)!;
    if (date > (lastBenched.get(shoe_id) ?? "")) lastBenched.set(shoe_id, date);
  }
  const metrics = new Map(bench.metrics.map((metric) => [metric.id, metric]));
  const isLate = (shoe: string, metric: string) =>
    (lastBenched.get(shoe) ?? "") < (metrics.get(metric)?.introduced ?? "");
  // Instruments of the bench are no part of the catalogue.
  const products = bench.shoes.filter(({ shoe_id }) => !isInstrument(bench, shoe_id));
  const isProduct = new Set(products.map(({ shoe_id }) => shoe_id));
  const table = updated.shoes.filter(({ shoe_id }) => isProduct.has(shoe_id));
  const scored = ({ shoes }: Pick<IndexScores, "shoes">) =>
    new Set(
      shoes.flatMap(({ shoe_id, score }) =>
        score === null || !isProduct.has(shoe_id) ? [] : [shoe_id]
      ),
    );
  const [before, now] = [scored(old), scored(updated)];
  const missing = new Map(
    table.map(({ shoe_id, terms }) => [
      shoe_id,
      terms.filter(({ value }) => value === null).map(({ metric }) => metric),
    ]),
  );
  const count = products.length;
  return {
    coverage: {
      shoes: count,
      scorable_old: before.size,
      scorable_new: now.size,
      whole_new:
        table.filter(({ score, missing_terms }) => score !== null && missing_terms.length === 0)
          .length,
      share_old: count === 0 ? null : before.size / count,
      share_new: count === 0 ? null : now.size / count,
      share_reason: count === 0 ? { code: "none-on-bench", what: "shoe" } : null,
      lost: products.filter(({ shoe_id }) => before.has(shoe_id) && !now.has(shoe_id))
        .map((shoe) => ({ shoe_id: shoe.shoe_id, name: shoeName(shoe) })),
      terms: rule.terms.map(({ metric }) => {
        const without = [...missing].filter(([, lacking]) => lacking.includes(metric));
        return {
          metric,
          title: metrics.get(metric)?.title ?? metric,
          introduced: metrics.get(metric)?.introduced ?? "",
          shoes_missing: without.length,
          before_metric: without.filter(([shoe]) => isLate(shoe, metric)).length,
        };
      }),
    },
    rebench: products.flatMap((shoe) => {
      const lacking = missing.get(shoe.shoe_id) ?? [];
      if (lacking.length === 0) return [];
      const late = lacking.filter((metric) => isLate(shoe.shoe_id, metric));
      return [{
        shoe_id: shoe.shoe_id,
        name: shoeName(shoe),
        metrics: lacking,
        reason: lackReason(late.length, lacking.length),
        rated: rated.has(shoe.shoe_id),
        last_benched: lastBenched.get(shoe.shoe_id) ?? null,
      }];
    }).toSorted((a, b) =>
      Number(b.rated) - Number(a.rated) || a.metrics.length - b.metrics.length ||
      (a.shoe_id < b.shoe_id ? -1 : 1)
    ),
  };
}

function lackReason(late: number, lacking: number): Reason {
  if (late === 0) return { code: "never-read" };
  return { code: "benched-before-metrics", part: late === lacking ? "all" : "some" };
}
