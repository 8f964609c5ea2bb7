import type { EditionHistory } from "../../studies/comparison/edition_history.ts";
import type { ShoeComparison } from "../../studies/comparison/shoe_comparison.ts";
import type { Shortlist } from "../../studies/comparison/shortlist.ts";
import { pairSentence } from "./comparison_sentence.ts";
import { metricPairHeadline } from "./metric_pair_words.ts";
import { type Answer, tellAnswer } from "./tell_answer.ts";
import { claimsOfPairs, ofPairs, saidOf } from "./told.ts";
import { counted, listed, midSentence } from "../phrases.ts";

/**
 * What does an answer come to, in few enough words to stand above a picture on a phone?
 *
 * It claims nothing that the answer's sentence doesn't, and leaves to that sentence what there is no room for.
 */
export function answerHeadline(answer: Answer): string {
  switch (answer.question) {
    case "comparison":
      return comparisonHeadline(answer);
    case "editions":
      return editionHeadline(answer);
    case "shortlist":
      return shortlistHeadline(answer);
    case "pair":
      return metricPairHeadline(answer);
    default:
      return tellAnswer(answer).sentence;
  }
}

/** Who is ahead on what, and how much of what was compared can't be told. */
function comparisonHeadline(answer: ShoeComparison): string {
  const { shoes, compared_on, comparisons } = answer;
  if (shoes.length !== 2 || compared_on.length === 1) return tellAnswer(answer).sentence;
  const [a, b] = shoes;
  const own = compared_on.flatMap((on) => {
    const pair = comparisons.find(({ metric, attribute }) =>
      metric === on.metric && attribute === on.attribute
    );
    return on.same_evidence_as !== null || pair === undefined ? [] : [{ on, pair }];
  });
  const titles = (test: (one: typeof own[number]) => boolean) =>
    own.filter(test).map(({ on }) => midSentence(on.title));
  const [ofA, ofB] = [a, b].map(({ shoe_id }) =>
    titles(({ on, pair }) =>
      pair.ahead === shoe_id &&
      !(on.smallest_difference !== null &&
        Math.max(Math.abs(pair.difference.lower!), Math.abs(pair.difference.upper!)) <
          on.smallest_difference)
    )
  );
  if (ofA.length + ofB.length === 0) return tellAnswer(answer).sentence;
  const unknown = own.filter(({ pair }) => pair.word === "can't tell").length;
  const lead = ofA.length > 0
    ? `${a.name} beats ${b.name} on ${listed(ofA, 2)}${
      ofB.length > 0 ? `, loses on ${listed(ofB, 2)}` : ""
    }`
    : `${b.name} beats ${a.name} on ${listed(ofB, 2)}`;
  return ofPairs(
    `${lead}${unknown === 0 ? "" : `; can't tell on ${counted(unknown, "other")}`}.`,
    claimsOfPairs(comparisons),
  );
}

/** The newest step: the one asked about. */
function editionHeadline({ editions, model, on }: EditionHistory): string {
  const newest = editions.flatMap(({ change }) => change ?? []).at(-1);
  if (newest === undefined) return "";
  const numbered = editions.every(({ edition }) => edition !== null);
  const shoes = numbered
    ? editions.map(({ shoe_id, edition }) => ({ shoe_id, name: `edition ${edition}` }))
    : editions;
  const alone = { ...newest, unadjusted: { ...newest.unadjusted, word: newest.word } };
  const sentence = pairSentence(alone, on, { shoes });
  return ofPairs(
    numbered ? `${model}: ${sentence[0].toLowerCase()}${sentence.slice(1)}.` : `${sentence}.`,
    claimsOfPairs([newest]),
  );
}

/** How many are on it, how many may be, how many are not: together all shoes. */
function shortlistHeadline({ shoes, asked, warnings }: Shortlist): string {
  const of = (word: Shortlist["shoes"][number]["word"]) =>
    shoes.filter((shoe) => shoe.word === word);
  const [on, open, off] = (["on the list", "can't tell", "off the list"] as const).map(of);
  const all = asked.length === 1
    ? "the condition"
    : asked.length === 2
    ? "both conditions"
    : `all ${asked.length} conditions`;
  const who = on.length === 0
    ? "No shoe surely meets"
    : on.length <= 2
    ? `${listed(on.map(({ name }) => name))} ${on.length === 1 ? "meets" : "meet"}`
    : `${on.length} shoes meet`;
  return saidOf(
    `${who} ${all}; ${
      open.length === 0 ? "" : `for ${counted(open.length, "shoe")} it can't be told, `
    }${counted(off.length, "does not", "do not")}.`,
    { warnings },
  );
}
