import type {
  PublishedCatalogue,
  PublishedMetric,
  PublishedShoe,
  PublishedValue,
} from "../../studies/catalogue/published_catalogue.ts";
import { columnDecimals, decimalsOf, scoreDecimals, tellingDecimals } from "../digits.ts";
import { boundInUnit, valueInUnit } from "../unit_words.ts";
import { listed, midSentence, signed } from "../phrases.ts";

/** A place in the table as its interval allows: "1", or "1 to 19". */
export function placeWords(
  { rank, rank_lower, rank_upper }: Pick<PublishedShoe, "rank" | "rank_lower" | "rank_upper">,
): string {
  if (rank === null) return "no score";
  if (rank_lower === null || rank_upper === null) return "can't tell";
  return rank_lower === rank_upper ? String(rank_lower) : `${rank_lower} to ${rank_upper}`;
}

/** Decimals of the index and of each metric's column: as many as the noise of its values leaves. */
export function catalogueDecimals(
  { shoes, metrics }: Pick<PublishedCatalogue, "shoes" | "metrics">,
): { readonly index: number; readonly metric: (id: string) => number } {
  const columns = new Map(metrics.map(({ metric, decimals }) => {
    const own = shoes.flatMap(({ values }) => values.filter((value) => value.metric === metric));
    const valued = own.flatMap((one) => one.value === null ? [] : [{ ...one, value: one.value }]);
    return [metric, tellingDecimals(valued, columnDecimals(own, decimals))];
  }));
  return {
    index: scoreDecimals(
      shoes.map(({ score_lower, score_upper }) => ({ lower: score_lower, upper: score_upper })),
    ),
    metric: (id) => columns.get(id) ?? 0,
  };
}

/** How a shoe stands on a metric, in one or a few words that its interval allows. */
export function partWords(
  metric: Pick<PublishedMetric, "better" | "published_as" | "cuts" | "unit" | "decimals">,
  { parts, bound }: Pick<PublishedValue, "parts" | "bound">,
): string {
  if (bound !== null) {
    const where = metric.cuts.length === 0 ? "" : `, ${partWords(metric, { parts, bound: null })}`;
    return `${boundInUnit(bound, metric)}${where}`;
  }
  if (parts === null) return metric.cuts.length === 0 ? "too few shoes for groups" : "can't tell";
  const valued = metric.better === "higher" || metric.better === "lower";
  const names = metric.published_as === "groups"
    ? valued ? ["better half", "other half"] : ["higher half", "lower half"]
    : valued
    ? ["best third", "middle third", "last third"]
    : ["highest third", "middle third", "lowest third"];
  const [first, last] = parts;
  if (first === last) return names[first];
  if (last - first === names.length - 1) return "can't tell";
  return `${names[first].replace(" third", "")} or ${names[last]}`;
}

/** What a reader may take from a metric's column, for its head. */
export function trustWords(
  { published_as, verdict, withdrawn, too_coarse }: PublishedMetric,
): string {
  if (withdrawn !== null) return `withheld: withdrawn by the tester (${withdrawn})`;
  if (too_coarse) return "withheld: most of its readings ran off the end of its scale";
  switch (published_as) {
    case "single shoes":
      return "repeatable enough to set single shoes in order, within their intervals";
    case "tiers":
      return "good for thirds of the table, not for single places";
    case "groups":
      return "good for halves of the table only, so no value is given";
    case "withheld":
      return verdict === "too few shoes to tell" || verdict === "can't tell"
        ? "withheld: too little was read twice to say how far it can be trusted"
        : "withheld: its scatter is as wide as the shoes differ";
  }
}

/** The same in a word or two, for the head of a narrow column. */
export function trustShort({ published_as }: Pick<PublishedMetric, "published_as">): string {
  return {
    "single shoes": "for single shoes",
    tiers: "for thirds",
    groups: "for halves",
    withheld: "withheld",
  }[
    published_as
  ];
}

/** Of what the table is said, where models have one pair each: places, and the columns it is true of. */
function pairsWords({ metrics, index_about }: PublishedCatalogue): string[] {
  const shown = metrics.filter(({ published_as }) => published_as !== "withheld");
  const single = shown.filter(({ about }) => about === "pairs");
  const what = [
    ...(index_about === "pairs" ? ["places"] : []),
    ...(single.length === 0 ? [] : [
      single.length === shown.length
        ? "all columns"
        : `the columns ${listed(single.map(({ title }) => midSentence(title)))}`,
    ]),
  ];
  return what.length === 0 ? [] : [
    `One pair of each model was benched: ${
      listed(what)
    } are of these pairs, and how far another pair of a model may differ is not known.`,
  ];
}

/** How to read the table, in three to six sentences: what is not on it is not explained. */
export function howToRead(catalogue: PublishedCatalogue): readonly string[] {
  const { rule, confidence, metrics, shoes, rating, until } = catalogue;
  const percent = `${Math.round(confidence * 100)}%`;
  const products = shoes.filter(({ reference }) => !reference);
  const ranked = products.filter(({ rank }) => rank !== null).length;
  const withdrawn = metrics.filter((metric) => metric.withdrawn !== null);
  const withheld = metrics.filter((metric) =>
    metric.published_as === "withheld" && metric.withdrawn === null
  );
  const rated = shoes.some(({ ratings }) => ratings.length > 0);
  const placed = products.some(({ rank_lower }) => rank_lower !== null);
  const limited = shoes.some(({ values }) => values.some(({ lower }) => lower !== null));
  const untold = withheld.filter(({ verdict }) =>
    verdict === "can't tell" || verdict === "too few shoes to tell"
  );
  const cause = untold.length === 0
    ? "since they don't repeat well enough"
    : untold.length === withheld.length
    ? "since too little was read twice"
    : "since they don't repeat well enough or too little was read twice";
  return [
    rule === null
      ? "There is no index in this table, because no rule is in force."
      : `The index is “${rule.title}”, version ${rule.version}; ${ranked} of ${products.length} shoes have what it asks for.`,
    ...(placed
      ? [
        "A place such as “1 to 19” is all that the noise of the tests allows: shoes whose places overlap may be equal, whatever their order here.",
      ]
      : rule === null
      ? []
      : [
        "No shoe has a place, since the noise of the scores is unknown: their order here may be chance.",
      ]),
    ...(limited
      ? [
        `Numbers behind a value, such as (30.1 to 32.3), are its ${percent} interval for this shoe on this bench; “best third” is said only where the whole interval lies in it, and a column “for thirds” is too noisy for more than that.`,
      ]
      : []),
    ...pairsWords(catalogue),
    withheld.length === 0
      ? withdrawn.length === 0
        ? "Every test of the bench repeats well enough to be in the table in some form."
        : `Withdrawn by the tester: ${listed(withdrawn.map(({ title }) => midSentence(title)))}.`
      : `Left out, ${cause}: ${listed(withheld.map(({ title }) => midSentence(title)))}${
        withdrawn.length === 0
          ? ""
          : `; withdrawn by the tester: ${listed(withdrawn.map(({ title }) => midSentence(title)))}`
      }.`,
    `${
      rated
        ? `Impressions are the panel's ratings from ${rating.min} to ${rating.max}, with each tester's leniency taken out; all`
        : "All"
    } readings are of the shoes benched up to ${until}, and a bench figure is no safety rating.`,
  ];
}

/** A cell of the table as a person reads it. */
export function valueWords(metric: PublishedMetric, value: PublishedValue): string {
  if (value.value === null) return partWords(metric, value);
  const limits = value.lower === null || value.upper === null
    ? "noise unknown"
    : [value.lower, value.upper].map((end) => signed(end, decimalsOf(value, metric.decimals))).join(
      " to ",
    );
  return `${valueInUnit(value.value, metric, value)} (${limits})`;
}
