import { counted, listed, midSentence } from "../phrases.ts";

/**
 * How many shoes, and which, ran off the end of a scale, test by test, so that an answer leaves them out?
 *
 * @param so what that does to them here, such as `they are in no maker's mean`
 * @returns a note, or none where every shoe was read
 */
export function boundedNotes(
  bounded: readonly { readonly name: string; readonly title: string }[],
  so: string,
): string[] {
  if (bounded.length === 0) return [];
  const shoes = new Set(bounded.map(({ name }) => name)).size;
  const tests = [...Map.groupBy(bounded, ({ title }) => title)].map(([title, own]) =>
    `on ${midSentence(title)} ${listed(own.map(({ name }) => name), 12)}`
  );
  return [
    `${
      counted(shoes, "shoe")
    } ran off the end of a scale, where a bound is all that is known: ${so} (${tests.join("; ")}).`,
  ];
}
