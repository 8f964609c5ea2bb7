import { shoeLine } from "./shoe_tree.ts";
import * as option from "../../options.ts";
import type { Bench, Shoe } from "../../records/types.ts";
import type { TableRow } from "../../records/write_table.ts";
import { panelValues } from "../panel/panel_values.ts";
import { shoeValues } from "./shoe_values.ts";

/**
 * What is known of each shoe, all in one row?
 *
 * For questions of one's own: its columns of shoes.csv, then a column a metric, an attribute and a feature, named by
 * their ids. Where an attribute or a feature has a name that is taken already, `rated` or `feature` goes before it.
 *
 * - A metric: the mean of the shoe's visits, each the mean of its trials that count, in the metric's unit, as in
 *   the studies; what it is worth, `studies.trialReliability` says.
 * - An attribute: the panel's value on the scale of bench.json, adjusted for who happened to test the shoe, as in
 *   the studies; how far testers agree, `studies.panelAgreement` says.
 * - A feature: `yes`, `no`, `unknown`, or null where nobody looked.
 *
 * @param options `counts`: adds `… visits` after each metric and `… testers` after each attribute
 * @returns one row a shoe, in the order of shoes.csv; null for what is not known
 *
 * @example Clay shoes by price, the cheapest first
 * ```ts
 * import { loadBench, records, show } from "bench-to-court";
 * const shoes = records.shoeTable(await loadBench("data-demo"));
 * const frame = await show.frame(shoes.filter(({ surface }) => surface === "clay"));
 * frame.sortValues("price").loc({ columns: ["maker", "model", "price", "mass", "grip"] });
 * ```
 */
export function shoeTable(
  bench: Bench,
  { counts = false }: { readonly counts?: boolean } = {},
): readonly TableRow[] {
  option.check("records.shoeTable", arguments[1], { counts: option.flag });
  const metrics = bench.metrics.map(({ id }) => ({
    id,
    values: new Map(shoeValues(bench, id, null).map((one) => [one.shoe_id, one])),
  }));
  const attributes = bench.settings.attributes.map(({ id }) => ({
    id,
    values: new Map(panelValues(bench, id).shoes.map((one) => [one.shoe_id, one])),
  }));
  const features = [...new Set(bench.features.map(({ feature_id }) => feature_id))].sort();
  const present = new Map(
    bench.features.map((one) => [JSON.stringify([one.shoe_id, one.feature_id]), one.present]),
  );
  const attributeName = freeName("rated", [...shoeColumns, ...metrics.map(({ id }) => id)]);
  const featureName = freeName("feature", [
    ...shoeColumns,
    ...metrics.map(({ id }) => id),
    ...attributes.map(({ id }) => id),
  ]);

  return bench.shoes.map((shoe): TableRow => {
    const { shoe_id } = shoe;
    const row: Record<string, TableRow[string]> = shoeCells(shoe, bench);
    for (const { id, values } of metrics) {
      row[id] = values.get(shoe_id)?.value ?? null;
      if (counts) row[`${id} visits`] = values.get(shoe_id)?.visits ?? 0;
    }
    for (const { id, values } of attributes) {
      const name = attributeName(id);
      row[name] = values.get(shoe_id)?.value ?? null;
      if (counts) row[`${name} testers`] = values.get(shoe_id)?.testers ?? 0;
    }
    for (const id of features) {
      row[featureName(id)] = present.get(JSON.stringify([shoe_id, id])) ?? null;
    }
    return row;
  });
}

/** Columns that say which shoe it is and whom it is for, as they go into tables of a row a shoe. */
const shoeColumns = [
  "shoe_id",
  "maker",
  "model",
  "line",
  "edition",
  "released",
  "surface",
  "size_system",
  "size",
  "width",
  "price",
  "currency",
  "reference",
] as const;

function shoeCells(
  shoe: Shoe & { readonly line?: string | null },
  bench: Bench,
): Record<string, TableRow[string]> {
  return {
    ...Object.fromEntries(shoeColumns.map((name) => [name, shoe[name as keyof Shoe] ?? null])),
    line: shoe.line ?? shoeLine(shoe),
    reference: bench.settings.reference_shoes.includes(shoe.shoe_id),
  };
}

function freeName(prefix: string, taken: readonly string[]): (id: string) => string {
  return (id) => taken.includes(id) ? `${prefix} ${id}` : id;
}
