/** What is wrong with a JSON text that a parser passes over in silence, or can't take. */
type JsonTrouble = {
  /** Offset in the text. */
  readonly at: number;
  readonly found: string;
  readonly expected: string;
  readonly fix: string;
};

/** No file of a bench needs more; what reads values goes as deep into its own stack. */
const DEEPEST = 60;

/**
 * Which keys stand twice in one object, and is anything nested too deeply to be read?
 *
 * A parser keeps the last of two values, so that the first would be passed over without a word.
 * Text that isn't JSON gives whatever was found up to there; the parser says the rest.
 */
export function jsonTroubles(text: string): readonly JsonTrouble[] {
  const troubles: JsonTrouble[] = [];
  // The keys of each object that is open; null for an array.
  const open: (Set<string> | null)[] = [];
  const token = /"(?:[^"\\]|\\.)*"|[{}[\]]/gs;
  for (let match = token.exec(text); match !== null; match = token.exec(text)) {
    const [found] = match;
    if (found === "{" || found === "[") {
      open.push(found === "{" ? new Set() : null);
      if (open.length <= DEEPEST) continue;
      const expected = `at most ${DEEPEST} levels of brackets`;
      return [{ at: match.index, found: "a deeper level", expected, fix: "" }];
    }
    if (found === "}" || found === "]") {
      open.pop();
      continue;
    }
    const keys = open.at(-1) ?? null;
    if (keys === null || !/^\s*:/.test(text.slice(token.lastIndex, token.lastIndex + 200))) {
      continue;
    }
    const key = keyOf(found);
    if (keys.has(key)) {
      troubles.push({
        at: match.index,
        found: `the key ${found.slice(0, 60)} again`,
        expected: "each key once in an object",
        fix: "Take one of the two away.",
      });
    }
    keys.add(key);
  }
  return troubles;
}

function keyOf(quoted: string): string {
  try {
    return JSON.parse(quoted);
  } catch {
    return quoted;
  }
}
