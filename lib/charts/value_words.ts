import { unitWords } from "../words/unit_words.ts";
import { shortenText } from "./text_width.ts";
import { type } from "./theme.ts";

/** An axis label with its unit, no wider than the room there is. */
export function axisLabel(words: string, unit: string, width: number): string {
  const shown = unitWords(unit);
  return shortenText(shown === "" ? words : `${words} (${shown})`, width, type.tick);
}

/** A domain with some room at both ends; never empty. */
export function roomy(values: readonly number[], share = 0.06): [number, number] {
  if (values.length === 0) return [0, 1];
  const low = values.reduce((least, value) => Math.min(least, value), Infinity);
  const high = values.reduce((most, value) => Math.max(most, value), -Infinity);
  const room = high > low ? (high - low) * share : Math.max(Math.abs(low) * 0.1, 0.5);
  return [low - room, high + room];
}
