import { widenedLimits } from "../../statistics/correlation_inflation.ts";
import { rowsToDetect } from "../../statistics/detectable_effect.ts";
import { type Estimate, noEstimate } from "../../statistics/estimate.ts";
import { spearman } from "../../statistics/spearman.ts";
import type { PredictionTable } from "./prediction_table.ts";
import { POWER } from "./settle_range.ts";
import type { Replication } from "./types.ts";
import { kinInflation, shoeKin, type WhiteColumn, withinCourts } from "../shoes/shoe_kin.ts";

/** Likeness that was taken out of each column of a table. */
export type White = {
  readonly metrics: readonly WhiteColumn[];
  readonly attributes: readonly WhiteColumn[];
};

/** What was found first. */
type Found = {
  readonly rho: number;
  readonly lower: number;
  readonly upper: number;
};

/** Confidence of the interval that a replication is judged by: one-sided at .05. */
const REPLICATION_CONFIDENCE = 0.9;

/**
 * How does a claim do on the shoes that came after?
 *
 * @param name of the pair, see `pairName`
 * @param then the table of the review that found it; null for this one's own
 */
export function replicationOf(
  name: string,
  claim: Found,
  { then, now, white }: {
    readonly then: PredictionTable | null;
    readonly now: PredictionTable;
    readonly white: White | null;
  },
): Replication {
  const [metric, attribute] = JSON.parse(name) as [string, string];
  const j = now.metrics.findIndex((own) => own.metric.id === metric);
  const t = now.attributes.findIndex((own) => own.attribute.id === attribute);
  const old = then === null ? null : shoesWithBoth(then, metric, attribute);
  const isNew = now.shoes.map(({ shoe_id }, row) =>
    old !== null && !old.has(shoe_id) && now.metrics[j].ranked[row] !== null &&
    now.attributes[t].values[row] !== null
  );
  const rows = isNew.flatMap((own, row) => own ? [row] : []);
  const { kin } = now;
  const linesBefore = new Set(
    now.shoes.flatMap(({ shoe_id }, row) => old?.has(shoe_id) ? [kin.lines[row]] : []),
  );
  const linesOf = [...new Set(rows.map((row) => kin.lines[row]))];
  const { correlation, inflation } = overNewShoes({ j, t, isNew, rows }, now, white);
  const word = rows.length === 0 ? "nothing since" : replicationWord(correlation, claim);
  const needed = rowsToDetect(claim.rho, { power: POWER, alpha: 1 - REPLICATION_CONFIDENCE });
  return {
    word,
    spearman: correlation,
    shoes: rows.length,
    lines: linesOf.length,
    lines_new: linesOf.filter((line) => !linesBefore.has(line)).length,
    more: needed === null || word === "held" || word === "not seen again"
      ? null
      : Math.max(1, Math.ceil(1 + (needed - 1) * inflation) - rows.length),
  };
}

/** What the new shoes alone show, compared within courts where there are enough of them. */
function overNewShoes(
  { j, t, isNew, rows }: {
    readonly j: number;
    readonly t: number;
    readonly isNew: readonly boolean[];
    readonly rows: readonly number[];
  },
  now: PredictionTable,
  white: White | null,
): { readonly correlation: Estimate; readonly inflation: number } {
  const kin = isNew.some(Boolean) ? shoeKin(now.records, isNew) : now.kin;
  const only = (values: readonly (number | null)[]) =>
    withinCourts(values.map((value, row) => isNew[row] ? value : null), kin);
  const [x, y] = [only(now.metrics[j].ranked), only(now.attributes[t].values)];
  const inflation = white === null || rows.length === 0
    ? 1
    : kinInflation(rows, kin, white.metrics[j], white.attributes[t]);
  const { p: _, ...found } = spearman(x, y, {
    interval: "fisher",
    confidence: REPLICATION_CONFIDENCE,
    permutations: 0,
  });
  if (found.estimate === null) {
    return {
      correlation: noEstimate(found.estimate_reason ?? { code: "no-interval" }, {
        confidence: REPLICATION_CONFIDENCE,
        method: "Spearman's rho",
        n: rows.length,
      }),
      inflation,
    };
  }
  const limits = found.lower === null || found.upper === null ? {} : widenedLimits(
    { estimate: found.estimate, lower: found.lower, upper: found.upper },
    inflation,
  );
  return {
    correlation: {
      ...found,
      ...limits,
      method:
        "Spearman's rho, Fisher interval with Bonett and Wright's variance, widened for likeness of kin and courts",
    },
    inflation,
  };
}

/** What the shoes since say of a claim, by the interval over them alone. */
export function replicationWord(
  { lower, upper }: Pick<Estimate, "lower" | "upper">,
  claim: Pick<Found, "rho" | "lower" | "upper">,
): "held" | "not seen again" | "can't tell" {
  if (lower === null || upper === null) return "can't tell";
  const positive = claim.rho > 0;
  // As if every claim were of a positive correlation.
  const [low, high] = positive ? [lower, upper] : [-upper, -lower];
  const least = positive ? claim.lower : -claim.upper;
  if (low > 0) return "held";
  return high < least ? "not seen again" : "can't tell";
}

function shoesWithBoth(
  { shoes, metrics, attributes }: PredictionTable,
  metric: string,
  attribute: string,
): Set<string> {
  const x = metrics.find((own) => own.metric.id === metric)?.ranked ?? [];
  const y = attributes.find((own) => own.attribute.id === attribute)?.values ?? [];
  return new Set(
    shoes.flatMap(({ shoe_id }, row) =>
      (x[row] ?? null) !== null && (y[row] ?? null) !== null ? [shoe_id] : []
    ),
  );
}
