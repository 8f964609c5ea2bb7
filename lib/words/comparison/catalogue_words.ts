import { betterDirection } from "../../statistics/percentile.ts";
import type {
  CatalogueShoe,
  CatalogueStanding,
} from "../../studies/comparison/catalogue_standing.ts";
import { sayReason } from "../reasons.ts";
import { measured } from "./answer_words.ts";
import { answerCautions } from "./comparison_notes.ts";
import { aboutOf, saidOf, type Told } from "./told.ts";
import { counted, listed, midSentence } from "../phrases.ts";
import { boundInUnit } from "../unit_words.ts";

/** Where shoes stand in the catalogue, in words. */
export function catalogueWords(result: CatalogueStanding): Told {
  const { on, shoes } = result;
  const sentence = saidOf(standingSentence(result), result);
  const values = shoes.map(({ value }) => value);
  const [low, high] = [Math.min(...values), Math.max(...values)];
  return {
    sentence,
    alt: `${sentence} ${on.title} of ${allWords(result)}, from ${measured(low, on)} to ${
      measured(high, on)
    }.`,
    notes: catalogueNotes(result),
    cautions: answerCautions([on]),
    ...aboutOf(result),
  };
}

/** All that are drawn, such as `48 shoes and 2 reference shoes`. */
export function allWords({ shoes }: Pick<CatalogueStanding, "shoes">): string {
  const references = shoes.filter(({ reference }) => reference).length;
  return counted(shoes.length - references, "shoe") +
    (references === 0 ? "" : ` and ${counted(references, "reference shoe")}`);
}

function catalogueNotes(
  { on, shoes, placed, told_in, told_in_reason, session_noise, confidence, bounded }:
    CatalogueStanding,
): string[] {
  const references = shoes.filter(({ reference }) => reference);
  const title = midSentence(on.title);
  const known = shoes.some(({ lower }) => lower !== null);
  return [
    ...(told_in_reason === null || !known ? [] : [
      `Told in ${told_in === "tiers" ? "thirds" : "halves"}, not in single places: ${
        sayReason(told_in_reason)
      }.`,
    ]),
    ...(known && told_in === "places" && placed > 1
      ? [
        `Limits of shares and places hold for each shoe by itself (${
          Math.round(100 * confidence)
        }%), tested against every other shoe at once.`,
      ]
      : []),
    ...(bounded.length > 0
      ? [
        `${counted(bounded.length, "shoe")} ran off the end of the scale: ${
          listed(
            bounded.map(({ name, bound }) =>
              `${name} ${boundInUnit(bound, { unit: on.unit!, decimals: on.decimals })}`
            ),
            6,
          )
        }. They count among the ${placed} and have no place of their own.`,
      ]
      : []),
    ...(references.length > 0
      ? [
        `${listed(references.map(({ name }) => name))} ${
          references.length === 1
            ? "is a reference shoe of the bench: an instrument"
            : "are reference shoes of the bench: instruments"
        }, so without a place.`,
      ]
      : []),
    ...(known && !session_noise
      ? [
        "No shoe was read in two sessions, so the intervals hold the scatter of trials alone and are too narrow.",
      ]
      : []),
    ...(betterDirection(on.better) === 0
      ? [`More ${title} is neither good nor bad in itself.`]
      : []),
  ];
}

function standingSentence(result: CatalogueStanding): string {
  const { on, shoes, placed } = result;
  const title = midSentence(on.title);
  const asked = shoes.filter((shoe) => shoe.asked);
  if (asked.length === 0) return firstSentence(result);
  if (asked.length === 1) {
    const [shoe] = asked;
    const { place } = shoe;
    if (!shoe.reference && place !== null && place.place_lower === null) {
      return `${shoe.name} on ${title}: ${
        measured(shoe.value, on, shoe)
      }, but where that stands among ${
        counted(placed, "shoe")
      } can't be told, since its noise is unknown.`;
    }
    return `${shoe.name} on ${title}: ${standingClause(shoe, result)}${
      shoe.reference ? "" : ` among ${counted(placed, "shoe")}`
    }.`;
  }
  const [first, last] = [asked[0], asked.at(-1)!];
  return `On ${title} ${first.name} reads ${standingClause(first, result)}; ${last.name} ${
    standingClause(last, result)
  }.`;
}

/** Value and standing of one shoe, as finely as the metric bears. */
function standingClause(
  shoe: CatalogueShoe,
  result: Pick<CatalogueStanding, "on" | "told_in" | "placed">,
): string {
  const value = measured(shoe.value, result.on, shoe);
  const words = standingWords(shoe, result);
  return words === "" ? value : `${value}, ${words}`;
}

/** Standing of one shoe: a share of the others with its limits, a third, or a half. */
export function standingWords(
  shoe: CatalogueShoe,
  { on, told_in, placed }: Pick<CatalogueStanding, "on" | "told_in" | "placed">,
): string {
  if (shoe.reference) return "a reference shoe, without a place";
  if (shoe.percentile === null) return "the only shoe benched";
  if (shoe.place === null) return "";
  const { place_lower: first, place_upper: last } = shoe.place;
  if (first === null || last === null) {
    return "its standing can't be told, since its noise is unknown";
  }
  if (told_in !== "places") return tierWords([first, last], { on, told_in, placed });
  const share = shoe.better_than ?? shoe.percentile;
  const range = ` (${percent(shoe.standing_lower!)} to ${percent(shoe.standing_upper!)})`;
  return `${shoe.better_than === null ? "higher" : "better"} than ${
    percent(share)
  } of the others${range}`;
}

/** In which thirds or halves of the catalogue the places from first to last lie. */
function tierWords(
  [first, last]: readonly [number, number],
  { on, told_in, placed }: Pick<CatalogueStanding, "on" | "told_in" | "placed">,
): string {
  const directed = betterDirection(on.better) !== 0;
  const names = told_in === "tiers"
    ? [
      directed ? "best third" : "highest third",
      "middle third",
      directed ? "last third" : "lowest third",
    ]
    : [directed ? "better half" : "higher half", directed ? "worse half" : "lower half"];
  const tierOf = (place: number) =>
    names.findIndex((_, tier) => place <= Math.round((tier + 1) * placed / names.length));
  const possible = names.slice(tierOf(first), tierOf(last) + 1);
  if (possible.length === 1) return `in the ${possible[0]}`;
  return possible.length === names.length
    ? `but which ${told_in === "tiers" ? "third" : "half"} it belongs to can't be told`
    : `in the ${listed(possible).replace(" and ", " or ")}`;
}

/** Who reads first, and who can't be told from it. */
function firstSentence({ on, shoes, placed }: CatalogueStanding): string {
  const title = midSentence(on.title);
  const [first] = shoes;
  const value = measured(first.value, on, first);
  if (first.reference) return `Only reference shoes were benched on ${title}.`;
  if (placed === 1) return `${first.name} is the only shoe benched on ${title}: ${value}.`;
  const lead = betterDirection(on.better) === 0 ? "reads highest" : "reads best";
  const start = `${first.name} ${lead} of ${placed} shoes on ${title}, ${value}`;
  const last = first.place?.place_upper ?? null;
  if (last === null) {
    const tied = shoes.filter((shoe) => !shoe.reference && shoe.value === first.value);
    return `Can't tell which shoe is first on ${title}, since the noise is unknown: ${
      listed(tied.map(({ name }) => name), 3)
    } ${tied.length === 1 ? lead : lead.replace("reads", "read")}, ${value}.`;
  }
  return last === 1
    ? `${start}, and no other can be it.`
    : `${start}, but ${counted(last - 1, "other")} can't be told from it.`;
}

function percent(share: number): string {
  return `${Math.round(share)}%`;
}
