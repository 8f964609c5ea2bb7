import { mean } from "simple-statistics";
import { otherSizeVisits } from "../../records/selection.ts";
import type { Bench } from "../../records/types.ts";
import { asPublished, correctionInForce } from "./published_visits.ts";

/** What a pair of another size reads: set beside the published value, in no figure with it. */
export type OtherSize = {
  readonly metric: string;
  readonly shoe_id: string;
  readonly pair: number;
  /** As on the label, with its system: `us-men 11.5`. */
  readonly size: string;
  readonly value: number;
  readonly readings: number;
};

/** What do pairs of other sizes read on a metric? None where it is `size_free`, which pools all sizes. */
export function otherSizes(bench: Bench, metric: string): readonly OtherSize[] {
  const picked = otherSizeVisits(bench, metric);
  if (picked.length === 0) return [];
  const visits = asPublished(picked, correctionInForce(bench, metric));
  const pairs = Map.groupBy(visits, ({ shoe_id, pair }) => JSON.stringify([shoe_id, pair]));
  return [...pairs.values()].map((own): OtherSize => {
    const { shoe_id, pair } = own[0];
    const label = bench.pairs.find((row) => row.shoe_id === shoe_id && row.pair === pair)!;
    const shoe = bench.shoes.find((row) => row.shoe_id === shoe_id)!;
    const system = label.size_system ?? shoe.size_system ?? bench.settings.size_system;
    return {
      metric,
      shoe_id,
      pair,
      size: `${system} ${label.size}`,
      value: mean(own.map(({ values }) => mean([...values]))),
      readings: own.reduce((total, { values }) => total + values.length, 0),
    };
  });
}
