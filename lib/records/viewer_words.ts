import type { Bench } from "./types.ts";

/**
 * What does this bench look like in the words that viewers use?
 *
 * Titles of metrics and attributes are replaced by those of `look.words` in `bench.json`, so that headings, sentences and
 * tables say 'grip' where the bench says 'tilt at slip'. Ids and figures stay as they are.
 */
export function viewerWords(bench: Bench): Bench {
  const words = new Map(Object.entries(bench.settings.look?.words ?? {}));
  if (words.size === 0) return bench;
  const titled = <Entry extends { readonly id: string; readonly title: string }>(entry: Entry) => {
    const word = words.get(entry.id);
    return word === undefined ? entry : { ...entry, title: word[0].toUpperCase() + word.slice(1) };
  };
  return {
    ...bench,
    metrics: bench.metrics.map(titled),
    settings: { ...bench.settings, attributes: bench.settings.attributes.map(titled) },
  };
}
