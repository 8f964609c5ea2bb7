import * as option from "../../options.ts";
import { CantAnswer } from "../../records/cant_answer.ts";
import { isInstrument } from "../../records/selection.ts";
import type { Bench, Metric } from "../../records/types.ts";
import type { Reason } from "../../statistics/reason.ts";
import { type AnswerParts, onePairWarnings } from "../comparison/answer_parts.ts";
import { boundReason } from "../shoes/bounded_readings.ts";
import type { Fineness } from "../comparison/catalogue_standing.ts";
import { comparedImpression, comparedMetric, type ComparedOn } from "../comparison/compared_on.ts";
import { dividedPanel } from "../panel/panel_agreement.ts";
import type { TrialReliability } from "../repeatability/trial_reliability.ts";
import { askedShoes } from "../shoes/asked_shoes.ts";
import { derivedMetrics } from "../shoes/derived_metrics.ts";
import { type OtherSize, otherSizes } from "../shoes/other_sizes.ts";
import { shoeValues } from "../shoes/shoe_values.ts";
import { directionOf, type ShoesOn, shoesOn, shownDifferences } from "./shown_order.ts";

/** Where one shoe is shown to stand on one metric or impression. */
export type ProfileWord = "best third" | "last third" | "neither" | "can't tell";

/** One metric or impression of a profile. */
export type ProfileStrip = {
  readonly on: ComparedOn;
  readonly value: number | null;
  /** Why there is no value: withheld, or never benched. */
  readonly value_reason: Reason | null;
  readonly lower: number | null;
  readonly upper: number | null;
  readonly readings: number;
  readonly told_in: Fineness;
  /** Values of all other products. */
  readonly others: readonly number[];
  /** Others shown to read higher, and lower. */
  readonly higher: number;
  readonly lower_ones: number;
  /** Highest third for best where more is neither good nor bad. */
  readonly word: ProfileWord;
};

/** One shoe on everything. */
export type ShoeProfile = AnswerParts & {
  readonly question: "profile";
  readonly shoe_id: string;
  readonly name: string;
  readonly price: number | null;
  readonly currency: string | null;
  readonly confidence: number;
  readonly method: string;
  /** Metrics, then impressions, in the bench's order. */
  readonly strips: readonly ProfileStrip[];
  /** What pairs of it in other sizes read: beside its values, in no figure with them. */
  readonly other_sizes: readonly (OtherSize & Pick<Metric, "title" | "unit" | "decimals">)[];
  /** Impressions on which it divides the panel more than chance does. */
  readonly divides: readonly {
    readonly attribute: string;
    readonly title: string;
    readonly low: number;
    readonly high: number;
  }[];
  /** Impressions on which that could be looked at: three testers or more. */
  readonly looked_at: number;
  readonly ratings: number;
};

/**
 * What is one shoe like, all in all?
 *
 * Every metric and impression with the rest of the catalogue. The shoe *stands out* where it is shown to be in the best
 * or last third: enough others are shown to be behind or ahead of it (each other shoe tested, Holm, at a risk shared out
 * over everything looked at). Where it divides the panel: `dividedPanel`, over all shoes and impressions.
 *
 * @throws {CantAnswer} if the shoe has neither a reading nor a rating
 */
export function shoeProfile(
  bench: Bench,
  { shoe, reliability, seed, confidence = bench.settings.confidence }: {
    readonly shoe: string;
    readonly reliability: Pick<TrialReliability, "metrics">;
    readonly seed: number;
    readonly confidence?: number;
  },
): ShoeProfile {
  option.check("studies.shoeProfile", arguments[1], {
    shoe: option.needed(option.text),
    reliability: option.needed(option.thing),
    seed: option.needed(option.seed),
    confidence: option.share,
  });
  const [{ shoe_id, name, shoe: own }] = askedShoes(bench, [shoe]);
  if (isInstrument(bench, shoe_id)) {
    throw new CantAnswer(
      { code: "reference-shoe" },
      `${name} is a reference shoe, an instrument of the bench, so it has no profile among products`,
    );
  }
  const derived = derivedMetrics(bench.metrics);
  const asked = [
    ...bench.metrics.filter(({ id }) => !derived.has(id)).map(({ id }) => ({ metric: id })),
    ...bench.settings.attributes.map(({ id }) => ({ attribute: id })),
  ];
  const sides = asked.map((one) => attempt(() => shoesOn(bench, one, { reliability, confidence })));
  const known =
    sides.filter((side) =>
      !(side instanceof CantAnswer) && side.shoes.some((row) => row.shoe_id === shoe_id)
    ).length;
  const beyond = sides.some((side) =>
    !(side instanceof CantAnswer) && side.bounded.some((row) => row.shoe_id === shoe_id)
  );
  if (known === 0 && !beyond) {
    throw new CantAnswer(
      { code: "not-measured", shoes: [shoe_id], metrics: bench.metrics.map(({ id }) => id) },
      `${name} has no reading that may be published and no rating`,
    );
  }
  const shared = 1 - (1 - confidence) / Math.max(1, known);
  const strips = asked.map((one, index): ProfileStrip => {
    const side = sides[index];
    if (!(side instanceof CantAnswer)) return strip(side, shoe_id, shared);
    const on = "metric" in one
      ? comparedMetric(bench.metrics.find(({ id }) => id === one.metric)!)
      : comparedImpression(
        bench.settings.attributes.find(({ id }) => id === one.attribute)!,
        bench.settings,
      );
    return emptyStrip(on, side.reason as Reason);
  });
  const panel = dividedPanel(bench, { seed }).flatMap(({ attribute, title, divided }) =>
    divided.filter((row) => row.shoe_id === shoe_id)
      .map(({ low, high, found }) => ({ attribute, title, low, high, found }))
  );
  const trials = bench.metrics.flatMap(({ id }) =>
    derived.has(id) ? [] : shoeValues(bench, id, null).filter((row) => row.shoe_id === shoe_id)
  );
  return {
    question: "profile",
    shoe_id,
    name,
    price: own.price,
    currency: own.currency,
    confidence,
    method:
      "against every other shoe, t, Holm within a metric or impression, the risk shared out over all of them",
    strips,
    other_sizes: bench.metrics.filter(({ id }) => !derived.has(id)).flatMap((
      { id, title, unit, decimals },
    ) =>
      otherSizes(bench, id).filter((row) => row.shoe_id === shoe_id)
        .map((row) => ({ ...row, title, unit, decimals }))
    ),
    divides: panel.filter(({ found }) => found).map(({ found: _, ...rest }) => rest),
    looked_at: panel.length,
    trials: trials.reduce((total, row) => total + row.trials, 0),
    last_trial: trials.map(({ last_benched }) => last_benched).sort().at(-1) ?? null,
    ratings: bench.impressions.filter((row) => row.shoe_id === shoe_id && row.rating !== null)
      .length,
    warnings: onePairWarnings(
      reliability,
      strips.flatMap(({ on, value }) => value === null ? [] : on.metric ?? []),
    ),
  };
}

function strip(
  { on, shoes, told_in, against, bounded }: ShoesOn,
  shoe_id: string,
  confidence: number,
): ProfileStrip {
  const own = shoes.find((row) => row.shoe_id === shoe_id);
  const others = shoes.filter((row) => row.shoe_id !== shoe_id);
  const values = others.map(({ value }) => value);
  const beyond = bounded.find((row) => row.shoe_id === shoe_id);
  if (own === undefined) {
    return {
      ...emptyStrip(
        on,
        beyond !== undefined
          ? boundReason(beyond, { unit: on.unit!, decimals: on.decimals })
          : on.metric === null
          ? { code: "not-rated", attribute: on.title }
          : { code: "not-benched", metric: on.title },
      ),
      told_in,
      others: values,
    };
  }
  const differences = against(shoe_id, others.map((row) => row.shoe_id));
  const shown = shownDifferences(differences, confidence);
  const higher = shown.filter(({ difference }) => difference < 0).length;
  const lower = shown.length - higher;
  const direction = directionOf(on) || 1;
  const [ahead, behind] = direction === 1 ? [higher, lower] : [lower, higher];
  const third = Math.floor(shoes.length / 3);
  return {
    on,
    value: own.value,
    value_reason: null,
    lower: own.lower,
    upper: own.upper,
    readings: own.readings,
    told_in,
    others: values,
    higher,
    lower_ones: lower,
    word: differences.length === 0 || shoes.length < 6
      ? "can't tell"
      : shoes.length - behind <= third
      ? "best third"
      : 1 + ahead > shoes.length - third
      ? "last third"
      : "neither",
  };
}

function emptyStrip(on: ComparedOn, reason: Reason): ProfileStrip {
  return {
    on,
    value: null,
    value_reason: reason,
    lower: null,
    upper: null,
    readings: 0,
    told_in: "groups",
    others: [],
    higher: 0,
    lower_ones: 0,
    word: "can't tell",
  };
}

function attempt<T>(find: () => T): T | CantAnswer {
  try {
    return find();
  } catch (error) {
    if (error instanceof CantAnswer) return error;
    throw error;
  }
}
