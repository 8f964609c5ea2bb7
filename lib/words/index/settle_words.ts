import { hasCode } from "../../statistics/reason.ts";
import type { ShoesToSettle } from "../../studies/index/shoes_to_settle.ts";
import { counted } from "../phrases.ts";
import { sayReason } from "../reasons.ts";

/**
 * How many shoes more would settle a question, in a sentence?
 *
 * @param having what such a shoe needs, such as "a rating and both scores"
 * @returns empty where nothing is open
 */
export function settleWords({ shoes, from, to, reason }: ShoesToSettle, having: string): string {
  if (hasCode(reason, "nothing-open")) return "";
  if (reason?.code === "too-few" && reason.of === "rows") {
    const few = Number(reason.needed) - Number(reason.found);
    return `${counted(few, "more shoe")} with ${having} ${
      few === 1 ? "is" : "are"
    } needed before anything can be said.`;
  }
  if (reason !== null) return `No number of shoes can be named: ${sayReason(reason)}.`;
  const range = from === to ? `${shoes}` : `${shoes} (${from} to ${to})`;
  return `About ${range} more shoes with ${having} would settle it.`;
}
