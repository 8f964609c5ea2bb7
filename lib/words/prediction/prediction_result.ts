import type {
  AttributePrediction,
  CourtPrediction,
  PredictionPair,
} from "../../studies/prediction/types.ts";
import type { OrdinalCheck } from "../../studies/prediction/types.ts";
import { sayWarning } from "../reasons.ts";
import { pairSentence } from "./pair_sentence.ts";
import {
  attributeSentence,
  modelSentence,
  ordinalSentence,
  predictionSentence,
} from "./prediction_sentences.ts";

/** What the bench says about the court, with its sentences, as a result file has it. */
export type PredictionResult = Omit<CourtPrediction, "pairs" | "attributes" | "warnings"> & {
  readonly pairs: readonly (PredictionPair & { readonly sentence: string })[];
  readonly attributes: readonly (Omit<AttributePrediction, "ordinal"> & {
    readonly sentence: string;
    readonly model_sentence: string;
    readonly ordinal: (OrdinalCheck & { readonly sentence: string }) | null;
  })[];
  readonly sentence: string;
  readonly warnings: readonly string[];
};

/** What does a study of the court look like in a result file: the numbers, each claim with its sentence? */
export function predictionResult(prediction: CourtPrediction): PredictionResult {
  return {
    ...prediction,
    pairs: prediction.pairs.map((pair) => ({ ...pair, sentence: pairSentence(pair) })),
    attributes: prediction.attributes.map((attribute) => ({
      ...attribute,
      sentence: attributeSentence(attribute, prediction),
      model_sentence: modelSentence(attribute),
      ordinal: attribute.ordinal === null
        ? null
        : { ...attribute.ordinal, sentence: ordinalSentence(attribute.ordinal) },
    })),
    sentence: predictionSentence(prediction),
    warnings: prediction.warnings.map(sayWarning),
  };
}
