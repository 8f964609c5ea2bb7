import { editsBetween } from "../similar_names.ts";
import type { Problem, Shoe } from "./types.ts";

/** Shoes, and makers, whose names are the same or differ by one letter: likely one, spelt two ways. */
export function similarShoes(shoes: readonly Shoe[]): Problem[] {
  const problem = (column: string, found: string, expected: string): Problem => ({
    file: "shoes.csv",
    line: null,
    column,
    found,
    expected,
    fix: "If they are one, use one spelling and one shoe_id; else leave them.",
    severity: "warning",
  });
  const makers = [...new Set(shoes.map(({ maker }) => maker))];
  const likeMakers = similarPairs(makers, (maker) => maker).map(([a, b]) =>
    problem("maker", `"${a}" and "${b}"`, "makers whose names differ by more than a letter")
  );
  const spelled = ({ maker, model, edition }: Shoe) =>
    [maker, model, edition ?? ""].join(" ").trim();
  // Two spellings of a maker would show again in each of its shoes.
  const likeShoes = similarPairs(shoes, spelled)
    .filter(([a, b]) => a.maker === b.maker)
    .map(([a, b]) =>
      problem(
        "model",
        spelled(a) === spelled(b)
          ? `"${spelled(a)}" as ${a.shoe_id} and as ${b.shoe_id}`
          : `"${spelled(a)}" (${a.shoe_id}) and "${spelled(b)}" (${b.shoe_id})`,
        "shoes whose names differ by more than a letter",
      )
    );
  return [...likeMakers, ...likeShoes];
}

/**
 * Pairs of things whose names are alike.
 *
 * Names that a letter apart have some shortening by one letter in common, so only those that share one
 * are compared; ten thousand names take a second, not an hour.
 */
function similarPairs<T>(things: readonly T[], nameOf: (thing: T) => string): [T, T][] {
  const names = things.map((thing) => plain(nameOf(thing)));
  const byShortening = new Map<string, number[]>();
  const pairs: [T, T][] = [];
  names.forEach((name, i) => {
    const compared = new Set<number>();
    for (let at = -1; at < name.length; at++) {
      const short = at < 0 ? name : name.slice(0, at) + name.slice(at + 1);
      const others = byShortening.get(short);
      if (others === undefined) byShortening.set(short, [i]);
      else {
        for (const other of others) {
          if (other === i || compared.has(other)) continue;
          compared.add(other);
          if (alike(names[other], name)) pairs.push([things[other], things[i]]);
        }
        if (others.at(-1) !== i) others.push(i);
      }
    }
  });
  return pairs;
}

// Case, hyphens and accents are no difference between names.
function plain(name: string): string {
  return name.normalize("NFKD").replace(/\p{M}/gu, "").toLowerCase()
    .replace(/[^\p{L}\p{N}]+/gu, " ").trim();
}

/**
 * The same, or one letter apart within a word of five or more.
 *
 * A digit is never a slip here (Alder 2 and Alder 3 are two shoes), nor are short words (A and B, men
 * and women's letters, numerals in Roman letters).
 */
function alike(a: string, b: string): boolean {
  if (a === b) return true;
  const [wordsA, wordsB] = [a.split(" "), b.split(" ")];
  if (wordsA.length !== wordsB.length) return a.replaceAll(" ", "") === b.replaceAll(" ", "");
  const different = wordsA.flatMap((word, i) => word === wordsB[i] ? [] : [[word, wordsB[i]]]);
  if (different.length !== 1) return false;
  const [[one, other]] = different;
  if (/\d/.test(one + other) || Math.min(one.length, other.length) < 5) return false;
  return editsBetween(one, other) === 1;
}
