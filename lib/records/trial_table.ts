import type { Bench, Shoe } from "./types.ts";
import type { TableRow } from "./write_table.ts";

/**
 * What was read on the bench, one row a trial with all that is known about it?
 *
 * Every trial, those that don't count with their reason in `excluded`; lost ones, and those known by their `bound`
 * only, with a null `value`. Derived metrics stand beside those that were read.
 *
 * @returns the columns of trials.csv (`value` in the metric's unit, named in `unit`), those of the session, and
 *   maker, model, surface and price of the shoe
 *
 * @example The trials that count of one metric on clay shoes
 * ```ts
 * import { loadBench, records } from "bench-to-court";
 * records.trialTable(await loadBench("data-demo")).filter((trial) =>
 *   trial.metric_id === "mass" && trial.surface === "clay" && trial.excluded === null
 * );
 * ```
 */
export function trialTable(bench: Bench): readonly TableRow[] {
  const shoes = shoesById(bench);
  const units = new Map(bench.metrics.map(({ id, unit }) => [id, unit]));
  const sessions = new Map(bench.sessions.map((one) => [one.session_id, one]));
  return bench.trials.map(({ given_unit: _, bound, ...trial }): TableRow => {
    const { note: __, ...session } = sessions.get(trial.session_id)!;
    return {
      ...session,
      ...about(shoes.get(trial.shoe_id)!),
      ...trial,
      bound: bound === null ? null : "below" in bound ? `<${bound.below}` : `>${bound.above}`,
      unit: units.get(trial.metric_id),
    };
  });
}

/**
 * What was felt on court, one row a rating with all that is known about it?
 *
 * @returns the columns of impressions.csv, where `surface` is the court played on; maker, model and price of the
 *   shoe, and the court it is made for in `made_for`; style, mass and years of the tester, where testers.csv has them
 *
 * @example Ratings of the blind tests
 * ```ts
 * import { loadBench, records } from "bench-to-court";
 * records.impressionTable(await loadBench("data-demo")).filter(({ blind }) => blind === "yes");
 * ```
 */
export function impressionTable(bench: Bench): readonly TableRow[] {
  const shoes = shoesById(bench);
  const testers = new Map(bench.testers.map((one) => [one.tester, one]));
  return bench.impressions.map((impression): TableRow => {
    const { surface, ...shoe } = about(shoes.get(impression.shoe_id)!);
    const tester = testers.get(impression.tester);
    return {
      ...shoe,
      ...impression,
      made_for: surface,
      tester_style: tester?.style ?? null,
      tester_mass_kg: tester?.mass_kg ?? null,
      tester_years_playing: tester?.years_playing ?? null,
    };
  });
}

function shoesById(bench: Bench): ReadonlyMap<string, Shoe> {
  return new Map(bench.shoes.map((shoe) => [shoe.shoe_id, shoe]));
}

function about({ maker, model, edition, surface, price, currency }: Shoe) {
  return { maker, model, edition, surface, price, currency };
}
