import { sizeCaution } from "../../metrics/cautions.ts";
import type { FootFit, ShoeFit } from "../../studies/comparison/foot_fit.ts";
import { aboutOf, saidOf, type Told } from "./told.ts";
import { listed } from "../phrases.ts";

/** How a foot would sit in shoes, in words. */
export function fitWords(result: FootFit): Told {
  const { foot, shoes, wanted_toe_room_mm: [low, high] } = result;
  const sentence = saidOf(fitSentence(foot, shoes), result);
  return {
    sentence,
    alt: `${sentence} Room before the toe against room beside the ball, in mm.`,
    notes: [
      `Toe room of ${low} to ${high} mm is common practice, no source. The foot is measured standing, heel to longest toe, the longer foot counts.`,
      "A longer size is no cure for a narrow shoe: the step is from length alone.",
      ...(foot.width_mm === null ? [] : [
        "Room in width is the gauge's, at a light touch: uppers give, so that a room below 0 is usual. Compare shoes by it, not with 0.",
      ]),
      "The room is that of the size that was benched; another size was not measured.",
    ],
    cautions: [sizeCaution],
    ...aboutOf(result),
  };
}

function fitSentence(foot: FootFit["foot"], shoes: readonly ShoeFit[]): string {
  const who = `a foot of ${foot.length_mm}${
    foot.width_mm === null ? "" : ` by ${foot.width_mm}`
  } mm`;
  if (shoes.length === 1) return oneShoe(shoes[0], who);
  const of = (word: ShoeFit["word"]) => shoes.filter((shoe) => shoe.word === word);
  const [fits, narrow, other, open] =
    (["length fits", "too narrow", "other size", "can't tell"] as const).map(of);
  const rest = [
    ...(open.length > 0 ? [`for ${open.length} it can't be told`] : []),
    ...(other.length > 0
      ? [`${other.length} ${other.length === 1 ? "asks" : "ask"} for another size`]
      : []),
    ...(narrow.length > 0
      ? [`${narrow.length} ${narrow.length === 1 ? "is" : "are"} too narrow`]
      : []),
  ];
  const roomiest = fits.length > 0 && fits[0].width_room_mm !== null
    ? `, ${fits[0].name} reading the widest inside`
    : "";
  const first = fits.length === 0
    ? `No shoe as benched is sure to have the length for ${who}`
    : fits.length <= 3
    ? `${listed(fits.map(({ name }) => name))} ${
      fits.length === 1 ? "has" : "have"
    } the length for ${who} as benched${fits.length === 1 ? "" : roomiest}`
    : `${fits.length} of ${shoes.length} shoes have the length for ${who} as benched${roomiest}`;
  return `${[first, ...rest].join("; ")}.`;
}

function oneShoe(shoe: ShoeFit, who: string): string {
  const room = shoe.toe_room_mm >= 0
    ? `leaves ${who} ${shoe.toe_room_mm.toFixed(0)} mm before the toe`
    : `is ${(-shoe.toe_room_mm).toFixed(0)} mm shorter inside than ${who}`;
  const unit = shoe.size_system === "mondopoint"
    ? " mm"
    : Math.abs(shoe.size_step) === 1
    ? " size"
    : " sizes";
  const step = shoe.size_step === 0
    ? "the size benched is the one to start with"
    : `start trying on ${Math.abs(shoe.size_step)}${unit} ${shoe.size_step > 0 ? "up" : "down"}`;
  return `${shoe.name} ${room}: ${step}${
    shoe.word === "too narrow" ? ", but it is too narrow as benched" : ""
  }.`;
}
