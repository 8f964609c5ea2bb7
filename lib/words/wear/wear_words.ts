import { benchCaution, sizeCaution, slipCaution } from "../../metrics/cautions.ts";
import type { WearChange, WornPair } from "../../studies/wear/wear_change.ts";
import type { Estimate } from "../../statistics/estimate.ts";
import type { Told } from "../comparison/told.ts";
import { sayReason } from "../reasons.ts";
import { valueInUnit } from "../unit_words.ts";
import { amountLimits, counted, midSentence } from "../phrases.ts";

/** What does a wear study say to a viewer: sentence, picture in words, notes and cautions? */
export function wearWords(wear: WearChange): Told {
  const sentence = wearSentence(wear);
  const { group } = wear.on;
  return {
    sentence,
    alt: `${sentence} ${wear.pairs.map((pair) => pairSentence(pair)).join(" ")}`,
    notes: wearNotes(wear),
    cautions: [
      group === "traction" ? slipCaution : benchCaution,
      ...(group === "fit" ? [sizeCaution] : []),
    ],
  };
}

/** What does play do to a metric? The mean over pairs where it can be told, else what each pair shows. */
export function wearSentence({ on, pairs, mean_change: change }: WearChange): string {
  const title = midSentence(on.title);
  if (pairs.length === 1) return pairSentence(pairs[0], on);
  const [lower, upper] = [change.lower!, change.upper!];
  const range = rangeWords(change, on);
  const hours = [...new Set(pairs.map((pair) => pair.hours))].toSorted((a, b) => a - b);
  const span = hours.length === 1 ? String(hours[0]) : `${hours[0]} to ${hours.at(-1)}`;
  const played = `${pairs.length} pairs after ${span} h`;
  const changed = pairs.filter(({ word }) => word.startsWith("changed")).length;
  const surely = changed === 0
    ? "no single pair changed surely"
    : `${counted(changed, "pair")} of ${pairs.length} changed surely`;
  return lower > 0 || upper < 0
    ? `With play ${title} ${change.estimate! < 0 ? "falls" : "rises"} by ${
      valueInUnit(Math.abs(change.estimate!), on, change)
    } (${range}) on average of ${played}; ${surely}.`
    : `Whether play changes ${title} can't be told from ${played} (${range} on average); ${surely}.`;
}

/** Limits of a change: as amounts, smallest first, where both lie on one side of 0; else with their signs. */
function rangeWords({ lower, upper, ...change }: Estimate, on: WearChange["on"]): string {
  return amountLimits(lower!, upper!).map((limit) =>
    valueInUnit(limit, on, { lower, upper, ...change })
  ).join(" to ");
}

function pairSentence(
  { name, pair, hours, change, word }: WornPair,
  on?: WearChange["on"],
): string {
  const who = `${name}${pair === 1 ? "" : `, pair ${pair},`} after ${hours} h`;
  if (on === undefined) return `${who}: ${word}.`;
  const range = change.lower === null ? ", its noise is not known" : ` (${rangeWords(change, on)})`;
  return `${who} reads ${valueInUnit(Math.abs(change.estimate!), on, change)} ${
    change.estimate! < 0 ? "less" : "more"
  } in ${midSentence(on.title)} than new${range}: ${word}. This is one pair.`;
}

function wearNotes({ never_fresh, fresh_hours, pairs, mean_change, on }: WearChange): string[] {
  const few = mean_change.estimate === null ? [sayReason(mean_change.estimate_reason!)] : [];
  const apart = pairs.filter(({ against_others: other }) =>
    other !== null && other.lower !== null && (other.lower > 0 || other.upper! < 0)
  );
  return [
    `A pair counts as new up to ${fresh_hours} h of play (fresh_hours in bench.json); only new ones make up published values.`,
    ...few.map((reason) => `No mean change: ${reason}.`),
    ...apart.map(({ name, against_others: other }) =>
      `${name} changed ${valueInUnit(Math.abs(other!.estimate!), on, other)} ${
        other!.estimate! < 0 ? "less" : "more"
      } than the others on average.`
    ),
    ...(never_fresh > 0
      ? [
        `${
          counted(never_fresh, "pair was", "pairs were")
        } benched after play only, and can't be set against new.`,
      ]
      : []),
  ];
}
