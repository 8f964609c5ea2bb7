/** A small bench that loads without a problem, for tests to break one thing in. */

const metrics = [
  {
    id: "heel-rebound-height",
    title: "Rebound height, heel",
    unit: "cm",
    scale: "ratio",
    better: "higher",
    target: null,
    plausible: { low: 10, high: 90 },
    smallest_difference: 2,
    decimals: 1,
    group: "propulsion",
    method: "A ball dropped from 100 cm onto the heel",
    method_version: "1",
    introduced: "2026-01-01",
    retired: null,
  },
  {
    id: "mass",
    title: "Mass of one shoe",
    unit: "g",
    scale: "ratio",
    better: "lower",
    target: null,
    plausible: { low: 100, high: 700 },
    smallest_difference: 15,
    decimals: 0,
    group: "mass",
    method: "Kitchen scale",
    method_version: "1",
    introduced: "2026-01-01",
    retired: null,
  },
  {
    id: "sole-temperature",
    title: "Sole temperature after ten minutes",
    unit: "Cel",
    scale: "interval",
    better: "lower",
    target: null,
    plausible: { low: -10, high: 90 },
    smallest_difference: null,
    decimals: 1,
    group: "ventilation",
    method: "Infrared thermometer",
    method_version: "1",
    introduced: "2026-01-01",
    retired: null,
  },
] as const;

const rule = {
  id: "index",
  version: "1",
  title: "First index",
  effective: "2026-01-01",
  target_attribute: "energy",
  terms: [
    { metric: "heel-rebound-height", weight: 60, scaling: { kind: "range", low: 30, high: 60 } },
    { metric: "mass", weight: 40, scaling: { kind: "range", low: 450, high: 250 } },
  ],
  bonuses: [{ feature: "wide-toe-box", points: 2 }],
  missing: "withhold",
} as const;

const proposal = {
  id: "more-rebound",
  title: "More weight for the rebound",
  asked_on: "2026-02-01",
  asked_by: "a player",
  against: "1",
  rule: { ...rule, version: "2", effective: "2026-04-01" },
  criteria: { min_gain: 0.05, max_rank_moves: 0.3, min_coverage: 0.8, confidence: 0.95 },
  note: null,
} as const;

/** The files of the small bench; JSON ones as values, to be spread and changed. */
export const small = {
  "bench.json": {
    name: "Small bench",
    about: "Invented, for tests",
    invented: true,
    size_system: "eu",
    rating: { min: 0, max: 10, step: 0.5 },
    attributes: [{ id: "energy", title: "Energy", better: "higher" }],
    reference_shoes: ["alder"],
    confidence: 0.95,
    trials_per_visit: 3,
  },
  "metrics.json": metrics,
  "shoes.csv": "shoe_id,maker,model\nalder,Tarnwick,Alder\nbirch,Tarnwick,Birch\n",
  "features.csv": "shoe_id,feature_id,present\nalder,wide-toe-box,yes\nbirch,wide-toe-box,no\n",
  "sessions.csv": "session_id,date,operator,rig,temperature_c\n" +
    "s1,2026-01-10,ann,rig-1,21\ns2,2026-02-10,ben,rig-1,22.5\n",
  "trials.csv": "session_id,shoe_id,metric_id,trial,value,unit,excluded\n" +
    "s1,alder,heel-rebound-height,1,48.5,cm,\n" +
    "s1,alder,heel-rebound-height,2,481,mm,\n" +
    "s1,alder,heel-rebound-height,3,NA,cm,\n" +
    "s1,birch,mass,1,11,oz,\n" +
    "s2,birch,mass,1,312,g,\n" +
    "s2,birch,mass,2,377,g,scale not level\n",
  "impressions.csv": "date,tester,shoe_id,attribute,rating,blind\n" +
    "2026-01-20,t1,alder,energy,7.5,yes\n2026-01-20,t2,alder,energy,-,no\n",
  "testers.csv": "tester,mass_kg,style\nt1,72,baseline\nt2,65,net\n",
  "rules/index-1.json": rule,
  "proposals/more-rebound.json": proposal,
} as const;

/** A folder that goes away with the block that uses it. */
export type TestFolder = AsyncDisposable & { readonly dir: string };

/** Writes the small bench with some files replaced; a file given as null is left out. */
export async function benchFolder(
  changes: Readonly<Record<string, unknown>> = {},
): Promise<TestFolder> {
  const dir = await Deno.makeTempDir({ prefix: "bench-" });
  for (const [file, content] of Object.entries<unknown>({ ...small, ...changes })) {
    if (content === null) continue;
    if (file.includes("/")) await Deno.mkdir(`${dir}/${file.split("/")[0]}`, { recursive: true });
    const text = typeof content === "string" ? content : JSON.stringify(content, null, 2);
    if (content instanceof Uint8Array) await Deno.writeFile(`${dir}/${file}`, content);
    else await Deno.writeTextFile(`${dir}/${file}`, text);
  }
  return { dir, [Symbol.asyncDispose]: () => Deno.remove(dir, { recursive: true }) };
}
