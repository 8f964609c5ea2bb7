import type { ChosenShoes } from "../../studies/questions/chosen_shoes.ts";
import { conditionWords } from "../comparison/shortlist_words.ts";

/** Of which shoes a question is asked, in words such as `labelled wide` and `up to 120 EUR`; none where of all. */
export function choiceWords(
  { conditions, price_below, currency }: Omit<ChosenShoes, "meets">,
): readonly string[] {
  return [
    ...conditions.map(conditionWords),
    ...(price_below === null ? [] : [`up to ${price_below} ${currency ?? ""}`.trim()]),
  ];
}
