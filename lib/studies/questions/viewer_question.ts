import * as option from "../../options.ts";
import type { Bench } from "../../records/types.ts";
import type { TrialReliability } from "../repeatability/trial_reliability.ts";
import { type BestShoes, bestShoes } from "./best_shoes.ts";
import { type IndexVersions, indexVersions } from "./index_versions.ts";
import { type LabelFit, labelFit } from "./label_fit.ts";
import { type LikeShoes, likeShoes } from "./like_shoes.ts";
import { type MakerStanding, makerStanding } from "./maker_standing.ts";
import { type MetricLink, metricLink } from "./metric_link.ts";
import { type PanelDivision, panelDivision } from "./panel_division.ts";
import { type ShoeProfile, shoeProfile } from "./shoe_profile.ts";
import { type SizeChange, sizeChange } from "./size_change.ts";
import { type TestChange, testChange } from "./test_change.ts";

/** What a question about the catalogue as a whole, or about one shoe among all, comes to. */
export type ViewerAnswer =
  | MetricLink
  | BestShoes
  | ShoeProfile
  | LikeShoes
  | MakerStanding
  | PanelDivision
  | LabelFit
  | IndexVersions
  | TestChange
  | SizeChange;

/** Kinds that `viewerQuestion` knows, in the order of `kind`'s words. */
export const viewerKinds: readonly ViewerAnswer["question"][] = [
  "link",
  "best",
  "profile",
  "like",
  "makers",
  "panel",
  "runs",
  "index",
  "drift",
  "sizes",
];

/**
 * What does a viewer's question of a kind chosen by name come to?
 *
 * For a cell whose kind is a parameter; a script calls the study itself, which takes more options.
 *
 * @param options `kind` one of `viewerKinds`; `shoe`, `metric` and `attribute` as far as the kind asks for them
 * @throws {RangeError} on a kind that there is none of, and what the kind's study throws
 */
export function viewerQuestion(
  bench: Bench,
  { kind, shoe, metric, attribute, reliability, seed }: {
    /** A word of `viewerKinds`; typed freely, since a cell's parameter is. */
    readonly kind: string;
    readonly shoe: string;
    readonly metric: string;
    readonly attribute: string;
    readonly reliability: TrialReliability;
    readonly seed: number;
  },
): ViewerAnswer {
  option.check("studies.viewerQuestion", arguments[1], {
    kind: option.needed(option.oneOf(...viewerKinds)),
    shoe: option.needed(option.text),
    metric: option.needed(option.text),
    attribute: option.needed(option.text),
    reliability: option.needed(option.thing),
    seed: option.needed(option.seed),
  });
  switch (kind as ViewerAnswer["question"]) {
    case "link":
      return metricLink(bench, { metric, attribute, seed });
    case "best":
      return bestShoes(bench, { on: { metric }, reliability, seed });
    case "profile":
      return shoeProfile(bench, { shoe, reliability, seed });
    case "like":
      return likeShoes(bench, { shoe, reliability });
    case "makers":
      return makerStanding(bench, { on: { metric }, reliability });
    case "panel":
      return panelDivision(bench, { seed });
    case "runs":
      return labelFit(bench, { asked: "short", reliability });
    case "index":
      return indexVersions(bench, { shoe, reliability, seed });
    case "drift":
      return testChange(bench, { metric });
    case "sizes":
      return sizeChange(bench, { metric, reliability });
  }
}
