import type { ComparedOn } from "../../studies/comparison/compared_on.ts";
import { inUnit } from "../unit_words.ts";

/** A list as one says it: "a, b and c"; a long one ends in a count. */
export function listed(items: readonly string[], most = Infinity): string {
  if (items.length > most) {
    const shown = items.slice(0, most - 1);
    const rest = items.length - shown.length;
    return `${shown.join(", ")} and ${rest} more`;
  }
  return items.length < 2 ? items.join("") : `${items.slice(0, -1).join(", ")} and ${items.at(-1)}`;
}

/**
 * A title within a sentence: its first letter small, unless it is an abbreviation, and what stands behind
 * a comma in brackets, so that a list of titles can be read.
 */
export function midSentence(title: string): string {
  const bracketed = title.replace(/^([^,]+), ([^()]+)$/, "$1 ($2)");
  return /^\p{Lu}\p{Ll}/u.test(bracketed)
    ? bracketed[0].toLowerCase() + bracketed.slice(1)
    : bracketed;
}

/** A sentence of its own: its first letter large. */
export function asSentence(text: string): string {
  return text === "" ? "" : text[0].toUpperCase() + text.slice(1);
}

/** A value of a metric or a rating, with its unit. */
export function measured(
  value: number,
  { unit, decimals }: Pick<ComparedOn, "unit" | "decimals">,
): string {
  if (unit === null) return `${inUnit(value, { unit: "1", decimals })} points`;
  return inUnit(value, { unit, decimals });
}

/** A count and its noun. */
export function counted(many: number, noun: string, plural = `${noun}s`): string {
  return `${many} ${many === 1 ? noun : plural}`;
}
