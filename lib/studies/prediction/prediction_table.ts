import { isInstrument } from "../../records/selection.ts";
import type { Bench, Metric } from "../../records/types.ts";
import { rankable } from "../../statistics/bounded_ranks.ts";
import type { Estimate } from "../../statistics/estimate.ts";
import { tieNearEqual } from "../../statistics/tie_near_equal.ts";
import { type PanelValues, panelValues } from "../panel/panel_values.ts";
import { whoKnew } from "../panel/who_knew.ts";
import { derivedMetrics } from "../shoes/derived_metrics.ts";
import { shoeName } from "../shoes/shoe_name.ts";
import type { BoundedShoe } from "../shoes/bounded_readings.ts";
import { boundedShoes } from "../shoes/published_visits.ts";
import { shoeValues } from "../shoes/shoe_values.ts";
import type { PredictionPanel, PredictionReliability } from "./types.ts";
import { type ShoeKin, shoeKin } from "../shoes/shoe_kin.ts";

/** One row a shoe, one column a metric and an attribute: what all of the study works on. */
export type PredictionTable = {
  /** The shoes as the bench has them, in the order of `shoes`. */
  readonly records: Bench["shoes"];
  readonly shoes: readonly { readonly shoe_id: string; readonly name: string }[];
  readonly kin: ShoeKin;
  readonly metrics: readonly {
    readonly metric: Metric;
    readonly derived_from: string | null;
    readonly values: readonly (number | null)[];
    /** What correlations go by: the values, or ranks where some shoes are known by a bound only. */
    readonly ranked: readonly (number | null)[];
    readonly bounds: readonly (BoundedShoe["bound"] | null)[];
    readonly reliability: Estimate | null;
  }[];
  readonly attributes: readonly {
    readonly attribute: { readonly id: string; readonly title: string };
    readonly panel: PanelValues;
    readonly values: readonly (number | null)[];
    /** From ratings that a bench figure can't have moved; no values where that is all of them. */
    readonly unknowing: {
      readonly ratings: number;
      readonly of: number;
      readonly values: readonly (number | null)[];
    };
    readonly reliability: Estimate | null;
  }[];
};

/** Every metric and every impression over all shoes, and which of these are kin. */
export function predictionTable(
  bench: Bench,
  { metrics = bench.metrics, attributes = bench.settings.attributes, reliability, panel }: {
    readonly metrics?: readonly Metric[];
    readonly attributes?: readonly { readonly id: string; readonly title: string }[];
    readonly reliability: PredictionReliability | null;
    readonly panel: PredictionPanel | null;
  },
): PredictionTable {
  const sources = derivedMetrics(metrics);
  const panels = attributes.map(({ id }) => panelValues(bench, id));
  const shoes = bench.shoes.map((shoe) => ({ shoe_id: shoe.shoe_id, name: shoeName(shoe) }));

  const { unknowing } = whoKnew(bench);
  // A reference shoe is an instrument: what the panel thinks of it predicts nothing about products.
  const columns = panels.map((panel) => inOrder(shoes, panel.shoes.filter(isProduct(bench))));
  return {
    records: bench.shoes,
    shoes,
    kin: shoeKin(
      bench.shoes,
      bench.shoes.map((_, row) => columns.some((column) => column[row] !== null)),
    ),
    metrics: metrics.map((metric) => ({
      metric,
      derived_from: sources.get(metric.id) ?? null,
      ...metricColumns(bench, metric.id, shoes),
      reliability: reliability?.metrics.find((row) => row.metric === metric.id)?.icc_mean ?? null,
    })),
    attributes: attributes.map((attribute, index) => ({
      attribute,
      panel: panels[index],
      values: columns[index],
      unknowing: unknowingValues(bench, attribute.id, shoes, unknowing),
      reliability:
        panel?.attributes.find((row) => row.attribute === attribute.id)?.value_reliability ??
          null,
    })),
  };
}

/** A metric's values, and what of its order can be told where shoes ran off the end of the scale. */
function metricColumns(
  bench: Bench,
  metric: string,
  shoes: PredictionTable["shoes"],
): Pick<PredictionTable["metrics"][number], "values" | "ranked" | "bounds"> {
  const values = inOrder(shoes, shoeValues(bench, metric, null));
  const beyond = new Map(
    boundedShoes(bench, metric).map(({ shoe_id, bound }) => [shoe_id, bound]),
  );
  const bounds = shoes.map(({ shoe_id }) => beyond.get(shoe_id) ?? null);
  return { values, bounds, ranked: rankable(values.map((value, row) => value ?? bounds[row])) };
}

/** The panel's values from ratings that a bench figure can't have moved. */
function unknowingValues(
  bench: Bench,
  attribute: string,
  shoes: readonly { readonly shoe_id: string }[],
  unknowing: (rating: Bench["impressions"][number]) => boolean,
): PredictionTable["attributes"][number]["unknowing"] {
  const given = bench.impressions.filter((row) =>
    row.attribute === attribute && row.rating !== null
  );
  const kept = given.filter(unknowing);
  return {
    ratings: kept.length,
    of: given.length,
    values: kept.length === given.length ? [] : inOrder(
      shoes,
      panelValues({ impressions: kept }, attribute).shoes.filter(isProduct(bench)),
    ),
  };
}

function isProduct(bench: Pick<Bench, "settings">) {
  return ({ shoe_id }: { readonly shoe_id: string }) => !isInstrument(bench, shoe_id);
}

function inOrder(
  shoes: readonly { readonly shoe_id: string }[],
  values: readonly { readonly shoe_id: string; readonly value: number }[],
): (number | null)[] {
  const byShoe = new Map(values.map(({ shoe_id, value }) => [shoe_id, value]));
  return tieNearEqual(shoes.map(({ shoe_id }) => byShoe.get(shoe_id) ?? null));
}
