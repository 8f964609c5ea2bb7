import { drawableText, isDrawable } from "../charts/drawable_text.ts";
import { kitWords } from "../words/kit_words.ts";
import type { Provenance } from "../studies/review/provenance.ts";
import { boundedWords, measured } from "../words/comparison/answer_words.ts";
import { inUnit } from "../words/unit_words.ts";
import { type ComparedOn, isOn } from "../studies/comparison/compared_on.ts";
import type { ShoeComparison } from "../studies/comparison/shoe_comparison.ts";
import { comparedStanding } from "../words/comparison/answer_rows.ts";
import { standingWords } from "../words/comparison/catalogue_words.ts";
import { conditionWords, foundWords, openWords } from "../words/comparison/shortlist_words.ts";
import type { Answer } from "../words/comparison/tell_answer.ts";
import type { Told } from "../words/comparison/told.ts";
import { sayReason } from "../words/reasons.ts";
import { moreFigures } from "./question_figures.ts";
import { interval, table, text } from "./report_table.ts";
import { counted, listed, signed } from "../words/phrases.ts";
import { sizeLabel } from "../words/size_label.ts";

/** What stands beside a picture: the verdict in plain words, the figures, the alt text and where it comes from. */
export function answerReport(
  answer: Answer & Told,
  { head, foot, headline, headline_by }: {
    readonly head: Provenance;
    readonly foot: string;
    /** What stands above the picture. */
    readonly headline: string;
    readonly headline_by: "kit" | "author";
  },
): string {
  const parts = [
    `# ${text(answer.sentence)}`,
    ...(headline_by === "author"
      ? [`**Above the picture, in the author's own words:** ${text(headline)}`]
      : headline === answer.sentence
      ? []
      : [`Above the picture: ${text(headline)}`]),
    ...(head.invented ? ["**Invented data.** Nothing here was measured."] : []),
    ...figures(answer),
    ...section("What to know", [...answer.notes, ...head.warnings].map(item)),
    ...section("Letters that the picture's font lacks", undrawn(answer).map(item)),
    ...section("Caution", answer.cautions.map(item)),
    "## Alt text",
    text(answer.alt),
    "## Where it comes from",
    text(foot),
    [
      `- Kit ${kitWords(head.made_with)}, Deno ${head.made_with.deno}, seed ${head.seed}`,
      ...Object.entries(head.data).map(([file, hash]) => `- ${text(file)}: SHA-256 ${hash}`),
    ].join("\n"),
  ];
  return `${parts.join("\n\n")}\n`;
}

/** Names that stand in the picture in other words than their own. */
function undrawn(answer: Answer): string[] {
  const names = new Set<string>();
  const look = (value: unknown, key = ""): void => {
    if (typeof value === "string" && ["name", "title", "label", "model"].includes(key)) {
      if (!isDrawable(value)) names.add(value);
    } else if (typeof value === "object" && value !== null) {
      for (const [own, inner] of Object.entries(value)) look(inner, own);
    }
  };
  look(answer);
  return [...names].slice(0, 60).map((name) => `${name} is drawn as: ${drawableText(name)}`);
}

function section(title: string, items: readonly string[]): string[] {
  return items.length === 0 ? [] : [`## ${title}`, items.join("\n")];
}

function item(line: string): string {
  return `- ${text(line)}`;
}

function figures(answer: Answer): string[] {
  switch (answer.question) {
    case "comparison":
      return comparisonFigures(answer);
    case "court":
      return [table(
        ["Court", "Ratings", "Shoes"],
        answer.courts.map(({ court, ratings, shoes }) => [
          text(court),
          String(ratings),
          String(shoes),
        ]),
      )];
    case "catalogue":
      return standingFigures(answer);
    case "wear":
      return wearFigures(answer);
    case "pair":
      return pairFigures(answer);
    case "editions":
      return editionFigures(answer);
    case "shortlist":
      return shortlistFigures(answer);
    case "fit":
      return fitFigures(answer);
    default:
      return moreFigures(answer);
  }
}

type Of<Question extends Answer["question"]> = Extract<Answer, { readonly question: Question }>;

function standingFigures(answer: Of<"catalogue">): string[] {
  return [table(
    ["Place", "Shoe", "Value", "Interval", "Standing", "Trials"],
    answer.shoes.map((shoe, index) => [
      shoe.reference || answer.told_in !== "places" ? "" : String(index + 1),
      shoe.asked ? `**${text(shoe.name)}**` : text(shoe.name),
      measured(shoe.value, answer.on, shoe),
      interval(shoe.lower, shoe.upper, answer.on),
      standingWords(shoe, answer),
      String(shoe.trials),
    ]),
  )];
}

function wearFigures(answer: Of<"wear">): string[] {
  return [table(
    ["Shoe", "Pair", "Hours", "New", "Worn", "Change", "Interval", "Word"],
    answer.pairs.map((pair) => [
      text(pair.name),
      String(pair.pair),
      String(pair.hours),
      measured(pair.fresh, answer.on),
      measured(pair.worn, answer.on),
      measured(pair.change.estimate!, answer.on, pair.change),
      interval(pair.change.lower, pair.change.upper, answer.on),
      pair.word,
    ]),
  )];
}

function pairFigures(answer: Of<"pair">): string[] {
  return [table(
    ["Shoe", answer.x.title, answer.y.title],
    answer.shoes.filter((shoe) => shoe.asked || answer.shoes.length <= 60).map((shoe) => [
      shoe.asked ? `**${text(shoe.name)}**` : text(shoe.name),
      measured(shoe.x, answer.x),
      measured(shoe.y, answer.y),
    ]),
  )];
}

function editionFigures(answer: Of<"editions">): string[] {
  return [table(
    ["Edition", "Released", answer.on.title, "Change", "Interval of the change", "Word"],
    answer.editions.map((edition) => [
      text(edition.name),
      edition.released ?? "",
      measured(edition.value.estimate!, answer.on, edition.value),
      // Kept as the edition before minus this one; a reader wants it the other way round.
      edition.change?.difference.estimate == null
        ? ""
        : measured(-edition.change.difference.estimate, answer.on, edition.change.difference),
      edition.change?.difference.lower == null ? "" : interval(
        -edition.change.difference.upper!,
        -edition.change.difference.lower,
        answer.on,
      ),
      edition.change?.word ?? "",
    ]),
  )];
}

function shortlistFigures(answer: Of<"shortlist">): string[] {
  return [
    `Conditions: ${answer.asked.map(conditionWords).map(text).join("; ")}. Chances are the ${
      text(answer.method)
    }.`,
    table(
      ["Shoe", "Chance", "Word", ...answer.asked.map(conditionWords)],
      answer.shoes.filter(({ word }) => word !== "off the list").map((shoe) => [
        text(shoe.name),
        shoe.probability === null ? text(openWords(shoe)) : chance(shoe.probability),
        shoe.word,
        ...shoe.conditions.map((met, index) =>
          text(foundWords(met, answer.asked[index])) +
          (met.probability === null ? "" : ` (${chance(met.probability)})`)
        ),
      ]),
    ),
  ];
}

function fitFigures(answer: Of<"fit">): string[] {
  return [table(
    [
      "Shoe",
      "Size benched",
      "Room before the toe, mm",
      "Room in width, mm",
      "Try first",
      "Word",
    ],
    answer.shoes.map((shoe) => [
      text(shoe.name),
      sizeLabel(`${shoe.size_system} ${shoe.size ?? "not recorded"}`),
      around(shoe.toe_room_mm, shoe.toe_room_lower, shoe.toe_room_upper),
      shoe.width_room_mm === null
        ? text(shoe.width_room_reason === null ? "" : sayReason(shoe.width_room_reason))
        : around(shoe.width_room_mm, shoe.width_room_lower, shoe.width_room_upper),
      shoe.suggested_size === null
        ? `${shoe.size_step >= 0 ? "+" : "−"}${Math.abs(shoe.size_step)}`
        : String(shoe.suggested_size),
      shoe.word,
    ]),
  )];
}

function comparisonFigures(answer: ShoeComparison): string[] {
  const name = (id: string) => answer.shoes.find((shoe) => shoe.shoe_id === id)!.name;
  const rows = answer.compared_on.flatMap((on) =>
    answer.comparisons.filter((pair) => isOn(pair, on)).map((pair) => [
      text(on.title),
      `${text(name(pair.a))} minus ${text(name(pair.b))}`,
      pair.difference.estimate === null
        ? text(sayReason(pair.difference.estimate_reason!))
        : measured(pair.difference.estimate, on, pair.difference),
      interval(pair.difference.lower, pair.difference.upper, on),
      pair.mdc === null ? "" : measured(pair.mdc, on, pair.mdc),
      felt(on),
      pair.word,
    ])
  );
  const values = answer.compared_on.map((on) => [
    text(on.title),
    ...answer.shoes.map(({ shoe_id }) => {
      const own = answer.values.find((row) => isOn(row, on) && row.shoe_id === shoe_id);
      if (own === undefined || own.value.estimate === null) {
        return boundedWords(shoe_id, on, answer.bounded) ?? "none";
      }
      return `${measured(own.value.estimate, on, own.value)} (${
        counted(own.readings, on.metric === null ? "rating" : "trial")
      }${comparedStanding(own)})`;
    }),
  ]);
  return [
    `Intervals hold ${Math.round(100 * answer.confidence)}% together (${text(answer.adjustment)})${
      answer.values.some((own) => comparedStanding(own) !== "")
        ? "; the limits of a share of the catalogue hold for that shoe by itself, tested against every other shoe"
        : ""
    }. MDC is what noise alone reaches between two shoes.`,
    table(
      ["On", "Difference of", "Difference", "Interval", "MDC", "A player feels", "Word"],
      rows,
    ),
    "## Values",
    table(["On", ...answer.shoes.map(({ name }) => name)], values),
  ];
}

/** Nothing drawn from noise is certain, so neither 100 nor 0. */
function chance(probability: number): string {
  const percent = Math.round(100 * probability);
  return percent >= 100 ? ">99%" : percent <= 0 ? "<1%" : `${percent}%`;
}

function felt(on: ComparedOn): string {
  return on.smallest_difference === null
    ? "not set"
    : inUnit(on.smallest_difference, { unit: on.unit!, decimals: on.decimals });
}

function around(value: number, lower: number | null, upper: number | null): string {
  return signed(value, 1) +
    (lower === null || upper === null ? "" : ` (${signed(lower, 1)} to ${signed(upper, 1)})`);
}

/** What an answer rests on, in one line at the foot of a picture. */
export function footLine(
  { trials, last_trial }: Pick<Answer, "trials" | "last_trial">,
  ratings: number,
): string {
  const counted = listed([
    ...(trials === 0 && ratings > 0 ? [] : [`${trials} ${trials === 1 ? "trial" : "trials"}`]),
    ...(ratings > 0 ? [`${ratings} ratings`] : []),
  ]);
  return `${counted}${last_trial === null ? "" : ` to ${last_trial}`}`;
}
