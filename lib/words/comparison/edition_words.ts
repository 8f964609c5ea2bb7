import type { EditionHistory } from "../../studies/comparison/edition_history.ts";
import type { Comparison } from "../../studies/comparison/settle_pairs.ts";
import { counted, midSentence } from "./answer_words.ts";
import { answerCautions, comparisonNotes } from "./comparison_notes.ts";
import { pairSentence, valuesInWords } from "./comparison_sentence.ts";
import type { Told } from "./told.ts";

/** How a model changed from edition to edition, in words. */
export function editionWords(result: EditionHistory): Told {
  const { on, editions, remarks } = result;
  const sentence = editionSentence(result);
  return {
    sentence,
    alt: `${sentence} ${on.title}: ${
      valuesInWords(editions.map(({ name, value }) => ({ name, value })), on)
    }. Bars are intervals of the difference from ${editions[0].name}.`,
    notes: comparisonNotes(remarks),
    cautions: answerCautions([on]),
  };
}

function editionSentence({ editions, model, on }: EditionHistory): string {
  const changes = editions.flatMap(({ change }) => change ?? []);
  const moved = changes.filter(({ word }) => word.startsWith("differ"));
  const shoes = editions;
  const title = midSentence(on.title);
  if (changes.length === 1) return `${pairSentence(changes[0], on, { shoes })}.`;
  if (changes.every(({ word }) => word === "can't tell")) {
    return `Can't tell whether any edition of the ${model} changed on ${title}.`;
  }
  if (moved.length === 0) {
    return `No change is shown from one edition of the ${model} to the next on ${title}; ${
      wordsOf(changes)
    }.`;
  }
  const still = changes.length - moved.length;
  return `${moved.map((change) => pairSentence(change, on, { shoes })).join("; ")}${
    still > 0 ? `; ${counted(still, "other step shows", "other steps show")} no change` : ""
  }.`;
}

function wordsOf(changes: readonly Comparison[]): string {
  return [...Map.groupBy(changes, ({ word }) => word)]
    .map(([word, own]) => `${word} ${counted(own.length, "time")}`).join(", ");
}
