import * as option from "../../options.ts";
import { CantAnswer } from "../../records/cant_answer.ts";
import type { Bench } from "../../records/types.ts";
import type { AnswerParts } from "../comparison/answer_parts.ts";
import {
  type AttributeAgreement,
  type DividedShoe,
  panelAgreement,
} from "../panel/panel_agreement.ts";
import type { PanelSplit } from "../panel/panel_splits.ts";
import { askedAttribute } from "../shoes/asked_shoes.ts";

/** A shoe on an impression, and how far the panel parts over it. */
export type DividedOn = DividedShoe & { readonly attribute: string; readonly title: string };

/** What divides the testers. */
export type PanelDivision = AnswerParts & {
  readonly question: "panel";
  readonly confidence: number;
  /** Impressions asked about. */
  readonly attributes: readonly Pick<
    AttributeAgreement,
    "attribute" | "title" | "shoes" | "testers" | "ratings" | "use"
  >[];
  /** Ends of the rating scale. */
  readonly possible: { readonly low: number; readonly high: number };
  /** Shoes on impressions, the one least like chance first; `found` where it is more than chance. */
  readonly divided: readonly DividedOn[];
  /** Metrics that the testers are shown to part over, with who likes them. */
  readonly splits: readonly (PanelSplit & { readonly attribute: string; readonly title: string })[];
  /** How many of each were looked at. */
  readonly looked_at: { readonly shoes: number; readonly metrics: number };
  readonly testers: number;
  readonly ratings: number;
  readonly method: string;
};

/**
 * Which shoes divide the testers, what do they part over, and who likes it?
 *
 * The claims are `panelAgreement`'s, adjusted over all impressions of the bench whichever are asked about.
 *
 * @param options `attributes` ids; all unless named
 * @throws {CantAnswer} if nobody rated what is asked about
 */
export function panelDivision(
  bench: Bench,
  { attributes: typed = [], seed, confidence = bench.settings.confidence }: {
    readonly attributes?: readonly string[];
    readonly seed: number;
    readonly confidence?: number;
  },
): PanelDivision {
  option.check("studies.panelDivision", arguments[1], {
    attributes: option.listOf(option.text),
    seed: option.needed(option.seed),
    confidence: option.share,
  });
  const asked = new Set(typed.map((id) => askedAttribute(bench, id).id));
  const agreement = panelAgreement(bench, { seed, confidence, resamples: 100 });
  const own = agreement.attributes.filter(({ attribute, ratings }) =>
    ratings > 0 && (asked.size === 0 || asked.has(attribute))
  );
  if (own.length === 0) {
    throw new CantAnswer(
      { code: "nobody-rated" },
      "Nobody has rated what is asked about, so what divides the panel can't be told",
    );
  }
  const divided = own.flatMap(({ attribute, title, divided }) =>
    divided.map((shoe): DividedOn => ({ ...shoe, attribute, title }))
  ).toSorted((a, b) =>
    a.p_familywise - b.p_familywise || a.p - b.p || (a.shoe_id < b.shoe_id ? -1 : 1)
  );
  const splits = own.flatMap(({ attribute, title, splits }) =>
    splits.map((split) => ({ ...split, attribute, title }))
  );
  return {
    question: "panel",
    confidence,
    attributes: own.map(({ attribute, title, shoes, testers, ratings, use }) => ({
      attribute,
      title,
      shoes,
      testers,
      ratings,
      use,
    })),
    possible: { low: bench.settings.rating.min, high: bench.settings.rating.max },
    divided,
    splits: splits.filter(({ found }) => found),
    looked_at: { shoes: divided.length, metrics: splits.length },
    testers: new Set(own.flatMap(({ use }) => use.map(({ tester }) => tester))).size,
    ratings: own.reduce((total, { ratings }) => total + ratings, 0),
    method: agreement.method,
    trials: 0,
    last_trial: null,
    warnings: [],
  };
}
