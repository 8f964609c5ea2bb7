import { editsBetween } from "../similar_names.ts";

/**
 * Which of these were probably meant?
 *
 * Names that hold what was typed, or every word of it, come first, then those a few letters away.
 *
 * @returns at most three, nearest first
 */
export function nearNames(name: string, candidates: readonly string[]): string[] {
  const typed = plain(name);
  if (typed === "") return [];
  const distance = (candidate: string) => {
    const other = plain(candidate);
    const words = typed.split("-").filter((word) => word.length > 1);
    if (other.includes(typed)) return (other.length - typed.length) / 1000;
    if (words.length > 0 && words.every((word) => other.includes(word))) return 0.5;
    return editsBetween(typed, other);
  };
  const most = Math.max(2, Math.floor(typed.length / 3));
  return candidates
    .map((candidate) => ({ candidate, edits: distance(candidate) }))
    .filter(({ edits }) => edits <= most)
    .sort((a, b) => a.edits - b.edits || (a.candidate < b.candidate ? -1 : 1))
    .slice(0, 3)
    .map(({ candidate }) => candidate);
}

/** A clause that offers what was probably meant, or says how many there are. */
export function offerNames(name: string, candidates: readonly string[]): string {
  const near = nearNames(name, candidates);
  if (near.length > 0) return `Did you mean ${near.join(" or ")}?`;
  if (candidates.length === 1) return `There is only ${candidates[0]}.`;
  return candidates.length <= 15
    ? `There are ${candidates.join(", ")}.`
    : `There are ${candidates.length}, such as ${candidates.slice(0, 5).join(", ")}.`;
}

function plain(text: string): string {
  return text.toLowerCase().replace(/[^\p{L}\p{N}]+/gu, "-").replace(/^-|-$/g, "");
}
