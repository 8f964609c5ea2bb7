import type { Metric, Trial } from "./types.ts";
import { convert, unitOf } from "./units.ts";

/**
 * The number with two digits the other way round, if that is what the shoe typically reads.
 *
 * Any far reading has some exchange that comes near the others, so that near is not enough here.
 */
export function likelySwap(
  { given_value, given_unit }: Pick<Trial, "given_value" | "given_unit">,
  metric: Metric,
  isTypical: (value: number) => boolean,
): string | null {
  if (given_value === null) return null;
  const swapped = neighboursSwapped(given_value)
    .find((value) => isTypical(convert(value, given_unit, metric.unit)));
  return swapped === undefined ? null : `Was it ${swapped}, with two digits the other way round?`;
}

/**
 * The reading with the decimal point elsewhere or in another unit, if that is near the others: what may
 * happen to every reading of a visit at once.
 */
export function likelyShift(
  { given_value, given_unit }: Pick<Trial, "given_value" | "given_unit">,
  metric: Metric,
  near: (value: number) => boolean,
): string | null {
  if (given_value === null) return null;
  const inMetric = (value: number) => convert(value, given_unit, metric.unit);
  for (const factor of [10, 0.1, 100, 0.01]) {
    const value = Number((given_value * factor).toPrecision(12));
    if (near(inMetric(value))) return `Was it ${value}, with the decimal point elsewhere?`;
  }
  const unit = otherUnits(given_unit).find((other) =>
    near(convert(given_value, other, metric.unit))
  );
  if (unit !== undefined) {
    const value = Number(convert(given_value, unit, metric.unit).toPrecision(4));
    return `Was it ${given_value} ${unit}? That is ${value} ${metric.unit}.`;
  }
  return null;
}

/** Units of the same dimension that somebody may read off an instrument by mistake. */
function otherUnits(unit: string): readonly string[] {
  const known = unitOf(unit);
  const everyday = ["[degF]", "Cel", "[in_i]", "cm", "[oz_av]", "g", "[lbf_av]", "N", "kgf"];
  return everyday.filter((code) =>
    code !== known?.code && unitOf(code)?.dimension === known?.dimension
  );
}

/** The numbers that come of exchanging two neighbouring digits, across the decimal point too. */
function neighboursSwapped(value: number): number[] {
  const text = String(value);
  if (/e/.test(text)) return [];
  const digits = [...text].flatMap((letter, i) => /\d/.test(letter) ? [i] : []);
  return digits.slice(1).flatMap((at, i) => {
    const letters = [...text];
    const before = digits[i];
    if (letters[at] === letters[before]) return [];
    [letters[at], letters[before]] = [letters[before], letters[at]];
    return [Number(letters.join(""))];
  });
}
