/** One published check: the source's data and what an outside program makes of them. */
// deno-lint-ignore no-explicit-any -- each check has a shape of its own
export type PublishedCheck = { id: string; data: any; computed: any; published: any };

const folder = new URL("../references/published/", import.meta.url);

/** Finds a check by its id in one of the published reference files. */
export function publishedCheck(topic: string, id: string): PublishedCheck {
  const { checks } = JSON.parse(Deno.readTextFileSync(new URL(`${topic}.json`, folder)));
  const found = checks.find((check: PublishedCheck) => check.id === id);
  if (found === undefined) throw new RangeError(`${topic}.json has no check "${id}"`);
  return found;
}

/** Reads a reference table: column name to values, as text. */
export function publishedTable(file: string): Record<string, string[]> {
  const [header, ...lines] = Deno.readTextFileSync(new URL(`data/${file}`, folder)).trim().split(
    /\r?\n/,
  )
    .map((line) => line.split(","));
  return Object.fromEntries(header.map((name, j) => [name, lines.map((line) => line[j])]));
}

/** The named columns of a reference table as one row per line. */
export function publishedMatrix(file: string, names: readonly string[]): number[][] {
  const table = publishedTable(file);
  return table[names[0]].map((_, i) => names.map((name) => Number(table[name][i])));
}
