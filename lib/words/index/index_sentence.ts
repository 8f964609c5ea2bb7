import type { IndexScores } from "../../studies/index/index_scores.ts";
import { ofPairs } from "../comparison/told.ts";
import { counted, listed, midSentence } from "../phrases.ts";

/** What does the index table come to, in one sentence? */
export function indexSentence(
  { rule, shoes, about, bounded }: Pick<IndexScores, "rule" | "shoes" | "about" | "bounded">,
): string {
  if (rule === null) return "There is no index table, because no index rule is in force.";
  const products = shoes.filter(({ reference }) => !reference);
  const scored = products.filter((shoe) => shoe.score !== null);
  if (scored.length === 0) return "No shoe can be scored under this rule yet.";
  const without = products.length - scored.length;
  const references = shoes.length - products.length;
  const beyond = [...new Set(bounded.map(({ name }) => name))];
  return [
    ofPairs(leadWords(scored), about === "pairs"),
    ...(without === 0 ? [] : [
      `${scored.length} of ${counted(products.length, "shoe")} ${
        scored.length === 1 ? "has" : "have"
      } a score, ${without} ${without === 1 ? "lacks" : "lack"} a term`,
    ]),
    ...(beyond.length === 0 ? [] : [
      `${listed(beyond, 3)} ran off the end of a scale (${
        listed([...new Set(bounded.map(({ title }) => midSentence(title)))])
      }), which counts as a term that is missing`,
    ]),
    ...(references === 0 ? [] : [
      `${counted(references, "reference shoe")} ${references === 1 ? "stands" : "stand"} apart`,
    ]),
  ].join("; ") + ".";
}

/** Who is first, and how many could be first as well. */
function leadWords(scored: IndexScores["shoes"]): string {
  const [first] = scored;
  if (scored.length === 1) return `${first.name} is the only shoe with a score`;
  const unknown = scored.filter(({ rank_lower }) => rank_lower === null);
  if (unknown.length === scored.length) {
    return `Can't tell which shoe is first: ${first.name} reads highest, but the noise of every score is unknown`;
  }
  // Who could be first, by the very intervals of the table; of an unknown noise one can't say that it could not.
  const others = scored.slice(1).filter(({ rank_lower }) =>
    rank_lower === null || rank_lower === 1
  );
  const lead = first.rank_lower === null
    ? `Can't tell which shoe is first: ${first.name} reads highest, but the noise of its score is unknown`
    : others.length === 0
    ? `${first.name} leads the table alone`
    : `${first.name} leads the table, but ${
      others.length === 1 ? "1 more shoe" : `${others.length} more shoes`
    } could be first as well`;
  return unknown.length === 0 || first.rank_lower === null
    ? lead
    : `${lead}, ${unknown.length} of them since their noise is unknown`;
}
