import type { ReviewRow } from "../review/review_tables.ts";
import { boundedWords, measured } from "./answer_words.ts";
import { tellingDecimals } from "../digits.ts";
import { isOn } from "../../studies/comparison/compared_on.ts";
import type { ShoeComparison } from "../../studies/comparison/shoe_comparison.ts";
import { conditionWords, foundWords, openWords } from "./shortlist_words.ts";
import type { Shortlist } from "../../studies/comparison/shortlist.ts";
import { sayReason } from "../reasons.ts";
import { counted } from "../phrases.ts";

/** How do the shoes differ? One row a pair and thing compared, in the order asked. */
export function comparisonRows(
  { compared_on, comparisons, shoes }: Pick<
    ShoeComparison,
    "compared_on" | "comparisons" | "shoes"
  >,
): ReviewRow[] {
  const name = (id: string) => shoes.find(({ shoe_id }) => shoe_id === id)!.label;
  return compared_on.flatMap((on) =>
    comparisons.filter((pair) => isOn(pair, on)).map(({ a, b, difference, mdc, word }) => ({
      on: on.title,
      "difference of": `${name(a)} minus ${name(b)}`,
      difference: difference.estimate === null
        ? sayReason(difference.estimate_reason!)
        : measured(difference.estimate, on, difference),
      interval: difference.lower === null || difference.upper === null
        ? null
        : `${measured(difference.lower, on, difference)} to ${
          measured(difference.upper, on, difference)
        }`,
      MDC: mdc === null ? null : measured(mdc, on, mdc),
      word,
    }))
  );
}

/** What does each shoe read, and where in the catalogue? One row a thing compared, one column a shoe. */
export function comparedValueRows(
  { compared_on, values, shoes, bounded = [] }:
    & Pick<ShoeComparison, "compared_on" | "values" | "shoes">
    & Partial<Pick<ShoeComparison, "bounded">>,
): ReviewRow[] {
  return compared_on.map((on) => ({
    on: on.title,
    ...Object.fromEntries(shoes.map(({ shoe_id, label }) => {
      const about = { ...on, decimals: tellingDecimals(valuesOn(values, on), on.decimals) };
      const own = values.find((row) => isOn(row, on) && row.shoe_id === shoe_id);
      return [
        label,
        own === undefined || own.value.estimate === null
          ? boundedWords(shoe_id, on, bounded)
          : `${measured(own.value.estimate, about, own.value)} (${
            counted(own.readings, on.metric === null ? "rating" : "trial")
          }${comparedStanding(own)})`,
      ];
    })),
  }));
}

function valuesOn(
  values: ShoeComparison["values"],
  on: ShoeComparison["compared_on"][number],
) {
  return values.flatMap((row) =>
    isOn(row, on) && row.value.estimate !== null
      ? [{ value: row.value.estimate, lower: row.value.lower, upper: row.value.upper }]
      : []
  );
}

/** The share of the catalogue that a shoe is ahead of, with its limits, where it may be told. */
export function comparedStanding(
  { percentile, better_than, standing_lower, standing_upper }: ShoeComparison["values"][number],
): string {
  // A standing without its limits would say more than is known.
  if (percentile === null || standing_lower === null || standing_upper === null) return "";
  return `, ${better_than === null ? "higher" : "better"} than ${
    Math.round(better_than ?? percentile)
  }% (${Math.round(standing_lower)} to ${Math.round(standing_upper)}%)`;
}

/** Which shoes are on a shortlist or in doubt? One row a shoe, most certain first. */
export function shortlistRows(
  { shoes, asked }: Pick<Shortlist, "shoes" | "asked">,
): ReviewRow[] {
  return shoes.filter(({ word }) => word !== "off the list").map((shoe) => ({
    shoe: shoe.name,
    "chance, %": shoe.probability === null ? openWords(shoe) : chance(shoe.probability),
    word: shoe.word,
    ...Object.fromEntries(
      asked.map((
        condition,
        index,
      ) => [conditionWords(condition), foundWords(shoe.conditions[index], condition)]),
    ),
  }));
}

/** In percent; nothing here is certain, so neither 100 nor 0. */
function chance(probability: number): string {
  const percent = Math.round(100 * probability);
  return percent >= 100 ? ">99" : percent <= 0 ? "<1" : String(percent);
}
