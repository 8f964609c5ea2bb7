import type { ComparedOn } from "../../studies/comparison/compared_on.ts";
import { boundInUnit, valueInUnit } from "../unit_words.ts";

/** A value of a metric or a rating, with its unit, no finer than its noise: its limits, or an MDC. */
export function measured(
  value: number,
  { unit, decimals }: Pick<ComparedOn, "unit" | "decimals">,
  noise: Parameters<typeof valueInUnit>[2] = null,
): string {
  if (unit === null) return `${valueInUnit(value, { unit: "1", decimals }, noise)} points`;
  return valueInUnit(value, { unit, decimals }, noise);
}

/** A shoe's value of which only a bound is known, with the trials behind it: `<1 mm (6 trials)`. */
export function boundedWords(
  shoe_id: string,
  on: Pick<ComparedOn, "metric" | "unit" | "decimals">,
  bounded: readonly {
    readonly metric: string;
    readonly shoe_id: string;
    readonly bound: { readonly below: number } | { readonly above: number };
    readonly readings: number;
  }[],
): string | null {
  const own = bounded.find((row) => row.metric === on.metric && row.shoe_id === shoe_id);
  return own === undefined
    ? null
    : `${boundInUnit(own.bound, { unit: on.unit!, decimals: on.decimals })} (${
      own.readings === 1 ? "1 trial" : `${own.readings} trials`
    })`;
}
