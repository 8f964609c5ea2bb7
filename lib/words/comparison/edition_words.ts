import type { EditionHistory } from "../../studies/comparison/edition_history.ts";
import type { Comparison } from "../../studies/comparison/settle_pairs.ts";
import { answerCautions, comparisonNotes } from "./comparison_notes.ts";
import { pairSentence, valuesInWords } from "./comparison_sentence.ts";
import { aboutCompared, claimsOfPairs, ofPairs, type Told } from "./told.ts";
import { counted } from "../phrases.ts";

/** How a model changed from edition to edition, in words. */
export function editionWords(result: EditionHistory): Told {
  const { on, editions, remarks } = result;
  const changes = editions.flatMap(({ change }) => change ?? []);
  const sentence = ofPairs(editionSentence(result), claimsOfPairs(changes));
  return {
    sentence,
    alt: `${sentence} ${on.title}: ${
      valuesInWords(editions.map(({ name, value }) => ({ name, value })), on)
    }. Bars are each edition's own interval; the changes stand between them, with their intervals.`,
    notes: comparisonNotes(remarks),
    cautions: answerCautions([on]),
    ...aboutCompared(changes),
  };
}

/** The newest step first, whatever its word: it is the one asked about. */
function editionSentence({ editions, on }: EditionHistory): string {
  const changes = editions.flatMap(({ change }) => change ?? []);
  const newest = changes.at(-1)!;
  const earlier = changes.slice(0, -1);
  const moved = earlier.filter(({ word }) => word.startsWith("differ"));
  const rest = earlier.filter((change) => !moved.includes(change));
  return `${
    [
      pairSentence(newest, on, { shoes: editions }),
      ...moved.map((change) => `before that ${pairSentence(change, on, { shoes: editions })}`),
      ...(rest.length === 0 ? [] : [
        `${counted(rest.length, moved.length > 0 ? "other earlier step" : "earlier step")}: ${
          wordsOf(rest)
        }`,
      ]),
    ].join("; ")
  }.`;
}

/** Words of several steps, each once where all have the same. */
function wordsOf(changes: readonly Comparison[]): string {
  const words = [...Map.groupBy(changes, ({ word }) => word)];
  return words.length === 1
    ? words[0][0]
    : words.map(([word, own]) => `${word} ${counted(own.length, "time")}`).join(", ");
}
