import type { CatalogueStanding } from "../../studies/comparison/catalogue_standing.ts";
import type { EditionHistory } from "../../studies/comparison/edition_history.ts";
import type { FootFit } from "../../studies/comparison/foot_fit.ts";
import type { MetricPair } from "../../studies/comparison/metric_pair.ts";
import type { ShoeComparison } from "../../studies/comparison/shoe_comparison.ts";
import type { Shortlist } from "../../studies/comparison/shortlist.ts";
import { catalogueWords } from "./catalogue_words.ts";
import { comparisonWords } from "./comparison_sentence.ts";
import { editionWords } from "./edition_words.ts";
import { fitWords } from "./fit_words.ts";
import { metricPairWords } from "./metric_pair_words.ts";
import { shortlistWords, toldShortlist } from "./shortlist_words.ts";
import type { ViewerAnswer } from "../../studies/questions/viewer_question.ts";
import type { WearChange } from "../../studies/wear/wear_change.ts";
import { wearWords } from "../wear/wear_words.ts";
import type { CourtGap } from "../../studies/questions/court_gap.ts";
import { courtWords } from "../questions/court_words.ts";
import { bestWords } from "../questions/best_words.ts";
import { linkWords } from "../questions/link_words.ts";
import { profileWords } from "../questions/profile_words.ts";
import { likeWords } from "../questions/like_words.ts";
import { makerWords } from "../questions/maker_words.ts";
import { panelDivisionWords } from "../questions/panel_words.ts";
import { labelFitWords } from "../questions/label_words.ts";
import { versionWords } from "../questions/version_words.ts";
import { testWords } from "../questions/test_words.ts";
import { sizeWords } from "../questions/size_words.ts";
import type { Told } from "./told.ts";

/** What any question of a viewer comes to. */
export type Answer =
  | ShoeComparison
  | CatalogueStanding
  | MetricPair
  | EditionHistory
  | Shortlist
  | FootFit
  | WearChange
  | CourtGap
  | ViewerAnswer;

/** What an answer says: its sentence, what its picture shows, what to know beside it, and cautions. */
export function tellAnswer(answer: Answer): Told {
  switch (answer.question) {
    case "comparison":
      return comparisonWords(answer);
    case "catalogue":
      return catalogueWords(answer);
    case "pair":
      return metricPairWords(answer);
    case "editions":
      return editionWords(answer);
    case "shortlist":
      return shortlistWords(answer);
    case "fit":
      return fitWords(answer);
    case "wear":
      return wearWords(answer);
    case "link":
      return linkWords(answer);
    case "best":
      return bestWords(answer);
    case "court":
      return courtWords(answer);
    case "profile":
      return profileWords(answer);
    case "like":
      return likeWords(answer);
    case "makers":
      return makerWords(answer);
    case "panel":
      return panelDivisionWords(answer);
    case "runs":
      return labelFitWords(answer);
    case "index":
      return versionWords(answer);
    case "drift":
      return testWords(answer);
    case "sizes":
      return sizeWords(answer);
  }
}

/** An answer in one sentence, to stand above its picture. */
export function answerSentence(answer: Answer): string {
  return tellAnswer(answer).sentence;
}

/** An answer with what it says, as its JSON file has it. */
export function toldAnswer<T extends Answer>(answer: T): T & Told {
  const said = answer.question === "shortlist" ? toldShortlist(answer) : answer;
  return { ...said, ...tellAnswer(answer) } as T & Told;
}
