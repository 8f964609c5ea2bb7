import type { ComparedOn } from "../studies/comparison/compared_on.ts";
import { unitWords } from "../words/unit_words.ts";
import { betterWords } from "./better_words.ts";

/** What stands beside an axis: title, unit, and which way is better. */
export function onAxisWords(on: ComparedOn): string {
  const unit = on.unit === null
    ? on.attribute === null ? "points" : "rating points"
    : unitWords(on.unit);
  return `${on.title}${unit === "" ? "" : ` (${unit})`}${
    on.better === "none" ? "" : `, ${betterWords(on)}`
  }`;
}
