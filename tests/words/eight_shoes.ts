import { loadBench } from "../../lib/records/load_bench.ts";
import type { Bench } from "../../lib/records/types.ts";

/** The demo bench. */
export const demo = await loadBench(new URL("../../data-demo", import.meta.url).pathname);

/** The one of the eight that is a reference of theirs. */
export const REFERENCE = "tolmeck-steddle-1";

const few = [
  "dhostane-skerrim-1",
  "wembrack-trovane-1",
  "ellvarn-harrowel-1",
  "quenbar-lumbrine-1",
  "surrilo-krindle-1",
  "pavrico-fenlope-1",
  "tolmeck-yelmar-2",
  REFERENCE,
];
const ofFew = <Row extends { readonly shoe_id: string }>(rows: readonly Row[]) =>
  rows.filter(({ shoe_id }) => few.includes(shoe_id));

/** A small bench: eight shoes of the demo, seven of different lines and one reference. */
export const eight: Bench = {
  ...demo,
  shoes: ofFew(demo.shoes),
  trials: ofFew(demo.trials),
  impressions: ofFew(demo.impressions),
  features: ofFew(demo.features),
  settings: { ...demo.settings, reference_shoes: [REFERENCE] },
};
