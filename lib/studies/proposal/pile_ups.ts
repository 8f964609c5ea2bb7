import type { Bench, IndexRule } from "../../records/types.ts";
import type { IndexScores } from "../index/index_scores.ts";

/** How many shoes stand at an end of a term's range, where it tells them apart no longer. */
export type PileUp = {
  readonly table: "in force" | "proposed";
  readonly metric: string;
  readonly title: string;
  /** Shoes with a value, on a term with a range. */
  readonly shoes: number;
  readonly at_floor: number;
  readonly at_ceiling: number;
  /** More than 15 in 100 at either end. */
  readonly piled: boolean;
};

/**
 * Where do shoes pile up at the floor or the ceiling of a range?
 *
 * Two shoes at one end get the same points, however far apart they test. Reference shoes don't count.
 *
 * @returns one row a term with a `range`
 * @see Terwee et al. 2007, Journal of Clinical Epidemiology 60:34, for 15% as too many at an end (from
 * memory)
 */
export function pileUps(
  bench: Pick<Bench, "metrics">,
  rule: IndexRule,
  { shoes }: Pick<IndexScores, "shoes">,
  table: PileUp["table"],
): PileUp[] {
  return rule.terms.flatMap(({ metric, scaling }, place) => {
    if (scaling.kind !== "range") return [];
    const scaled = shoes.flatMap(({ terms, reference }) =>
      reference ? [] : terms[place].scaled ?? []
    );
    const at = (end: number) => scaled.filter((value) => value === end).length;
    const [at_floor, at_ceiling] = [at(0), at(1)];
    return [{
      table,
      metric,
      title: bench.metrics.find(({ id }) => id === metric)?.title ?? metric,
      shoes: scaled.length,
      at_floor,
      at_ceiling,
      piled: Math.max(at_floor, at_ceiling) > 0.15 * scaled.length,
    }];
  });
}
