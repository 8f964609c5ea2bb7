import { type AnswerParts, isOfPairs } from "../../studies/comparison/answer_parts.ts";
import type { Comparison } from "../../studies/comparison/settle_pairs.ts";
import type { Reason } from "../../statistics/reason.ts";

/** What is said of an answer to a viewer. */
export type Told = {
  /** The answer, to stand above its picture. */
  readonly sentence: string;
  /** What the picture shows, for a reader who can't see it. */
  readonly alt: string;
  /** What to know beside it. */
  readonly notes: readonly string[];
  readonly cautions: readonly string[];
  /** Of an answer about shoes: whether it is said of the models, or only of the pairs benched. */
  readonly about?: "pairs" | "models";
  /** What may be said of the models, where the answer is of the pairs benched. */
  readonly models_word?: "can't tell";
  readonly models_reason?: Reason;
};

/** A sentence that is said of the pairs benched begins with that; one that tells nothing stays as it is. */
export function ofPairs(sentence: string, isOfPairs: boolean): string {
  return isOfPairs && !/^(Can't tell|No clear leader|Nothing to set|Whether) /.test(sentence)
    ? `Of the pairs benched, ${
      /^(Clear|Each|No|None|Of|On|The only) /.test(sentence)
        ? sentence[0].toLowerCase() + sentence.slice(1)
        : sentence
    }`
    : sentence;
}

/** The sentence of an answer about shoes. */
export function saidOf(sentence: string, answer: Pick<AnswerParts, "warnings">): string {
  return ofPairs(sentence, isOfPairs(answer));
}

/** What an answer is about, for its JSON. */
export function aboutOf(
  { warnings }: Pick<AnswerParts, "warnings">,
): Pick<Told, "about" | "models_word" | "models_reason"> {
  const reason = warnings.find(({ code }) => code === "said-of-one-pair");
  return reason === undefined
    ? { about: "models" }
    : { about: "pairs", models_word: "can't tell", models_reason: reason };
}

/** Does one of these comparisons claim something of the pairs benched? */
export function claimsOfPairs(comparisons: readonly Comparison[]): boolean {
  return comparisons.some(({ about, word }) => about === "pairs" && word !== "can't tell");
}

/** What comparisons are about, for the JSON of their answer. */
export function aboutCompared(
  comparisons: readonly Comparison[],
): Pick<Told, "about" | "models_word" | "models_reason"> {
  const reason = comparisons.find(({ about }) => about === "pairs")?.models_reason ?? null;
  return reason === null
    ? { about: "models" }
    : { about: "pairs", models_word: "can't tell", models_reason: reason };
}
