import * as option from "../../options.ts";
import { isInstrument } from "../../records/selection.ts";
import type { Bench } from "../../records/types.ts";
import type { AnswerParts } from "../comparison/answer_parts.ts";
import { comparedImpression, comparedMetric, type ComparedOn } from "../comparison/compared_on.ts";
import { askedAttribute, askedMetric } from "../shoes/asked_shoes.ts";
import type { AskedOn } from "./shown_order.ts";

/** A court of which the bench can't tell who is best, and what it does hold. */
export type CourtGap = AnswerParts & {
  readonly question: "court";
  /** As it was asked. */
  readonly court: string;
  /** Null where the index is asked about. */
  readonly on: ComparedOn | null;
  /** Whether ratings can be kept under this court's name. */
  readonly is_known: boolean;
  /** Ratings by the court they were given on: of the impression asked about, or of all. */
  readonly courts: readonly {
    readonly court: string;
    readonly ratings: number;
    readonly shoes: number;
  }[];
  /** Metrics whose name or method speaks of the court. */
  readonly tests: readonly { readonly metric: string; readonly title: string }[];
  readonly ratings: number;
};

const COURTS = ["hard", "clay", "grass", "indoor", "all-court"];

/**
 * Is there nothing on the bench that tells who is best on this court?
 *
 * Only ratings are kept court by court: a test is read on the bench, whatever court a shoe is sold for.
 *
 * @param options `on` null for the index
 * @returns what there is instead; null where ratings of the impression were given on the court
 */
export function courtGap(
  bench: Bench,
  { court, on }: { readonly court: string; readonly on: AskedOn | null },
): CourtGap | null {
  option.check("studies.courtGap", arguments[1], {
    court: option.needed(option.text),
    on: option.orNull(option.thing),
  });
  const attribute = on !== null && "attribute" in on ? askedAttribute(bench, on.attribute) : null;
  const metric = on !== null && "metric" in on ? askedMetric(bench, on.metric) : null;
  const rated = bench.impressions.filter((row) =>
    row.rating !== null && !isInstrument(bench, row.shoe_id) &&
    (attribute === null || row.attribute === attribute.id)
  );
  if (attribute !== null && rated.some(({ surface }) => surface === court)) return null;
  const word = court.trim().toLowerCase();
  const named = bench.metrics.filter(({ id, title, method }) =>
    `${id} ${title} ${method ?? ""}`.toLowerCase().split(/[^\p{L}\p{N}]+/u).includes(word)
  );
  return {
    question: "court",
    court,
    on: metric !== null
      ? comparedMetric(metric)
      : attribute !== null
      ? comparedImpression(attribute, bench.settings)
      : null,
    is_known: COURTS.includes(court),
    courts: [...Map.groupBy(rated, ({ surface }) => surface ?? "court not noted")]
      .map(([name, own]) => ({
        court: name,
        ratings: own.length,
        shoes: new Set(own.map(({ shoe_id }) => shoe_id)).size,
      })).toSorted((a, b) => b.ratings - a.ratings || (a.court < b.court ? -1 : 1)),
    tests: named.map(({ id, title }) => ({ metric: id, title })),
    trials: 0,
    last_trial: null,
    ratings: rated.length,
    warnings: [],
  };
}
