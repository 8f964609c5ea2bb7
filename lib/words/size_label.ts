const systems: Readonly<Record<string, string>> = {
  "eu": "EU",
  "uk": "UK",
  "us-men": "US men's",
  "us-women": "US women's",
};

/** How does a size read in a sentence? `us-men 11` as `US men's 11`; a system without a short name as it is. */
export function sizeLabel(label: string): string {
  const [system, ...rest] = label.split(" ");
  return [Object.hasOwn(systems, system) ? systems[system] : system, ...rest].join(" ");
}
