import type { Attribute, Bench } from "../../records/types.ts";
import { normalQuantile } from "../../statistics/distributions.ts";
import { betterDirection, standing } from "../../statistics/percentile.ts";
import type { Reason } from "../../statistics/reason.ts";
import { panelValues } from "../panel/panel_values.ts";
import type { AskedShoe } from "../shoes/asked_shoes.ts";
import { comparedImpression } from "./compared_on.ts";
import { type ComparedSide, type ComparedValue, pairsOf, withP } from "./compared_side.ts";
import { panelContrasts } from "./panel_contrasts.ts";

/** What the panel makes of some shoes on one impression, and how each two differ, before any adjustment. */
export function courtSide(
  bench: Bench,
  attribute: Attribute,
  { shoes, confidence }: { readonly shoes: readonly AskedShoe[]; readonly confidence: number },
): ComparedSide {
  const panel = panelValues(bench, attribute.id);
  const values = shoes.flatMap(({ shoe_id }): ComparedValue[] => {
    const own = panel.shoes.find((row) => row.shoe_id === shoe_id);
    if (own === undefined) return [];
    const half = own.standard_error === null
      ? null
      : normalQuantile((1 + confidence) / 2) * own.standard_error;
    return [{
      metric: null,
      attribute: attribute.id,
      shoe_id,
      value: {
        estimate: own.value,
        estimate_reason: null,
        lower: half === null ? null : own.value - half,
        upper: half === null ? null : own.value + half,
        confidence,
        method: "panel value adjusted for the testers' leniency, normal interval",
        n: own.ratings,
        warnings: panel.connected ? [] : panel.warnings,
      },
      readings: own.ratings,
      occasions: own.testers,
      last_benched: null,
      standing_lower: null,
      standing_upper: null,
      ...standing(
        own.value,
        panel.shoes.map((row) => row.value),
        betterDirection(attribute.better),
      ),
    }];
  });
  const pairs = pairsOf(shoes);
  const contrasts = panelContrasts(
    bench,
    attribute.id,
    pairs.map(([a, b]) => [a.shoe_id, b.shoe_id] as const),
  );
  const told = contrasts.pairs.flatMap(({ difference }, index) => difference === null ? [] : index);
  return {
    on: comparedImpression(attribute, bench.settings),
    one_pair: false,
    values,
    bounded: [],
    pairs: pairs.map(([a, b], index) => {
      const { difference, reason, freedom } = contrasts.pairs[index];
      const place = told.indexOf(index);
      return withP({
        a: a.shoe_id,
        b: b.shoe_id,
        difference,
        reason: reason?.code === "shoe-not-rated"
          ? notRated(values.some(({ shoe_id }) => shoe_id === a.shoe_id) ? b : a, attribute)
          : reason,
        standard_error: place < 0 ? null : Math.sqrt(contrasts.covariance[place][place]),
        freedom,
        n: contrasts.ratings,
        method:
          "difference of shoes over all ratings of the panel, leniency taken out, each shoe by its own scatter drawn in toward the panel's, t",
      });
    }),
    covariance: contrasts.covariance,
    visits: [],
    warnings: panel.warnings,
  };
}

function notRated({ name }: AskedShoe, { title }: Attribute): Reason {
  return { code: "shoe-not-rated", shoe: name, attribute: title };
}
