/** A value's limits; null where there are none. */
type Limits = { readonly lower: number | null; readonly upper: number | null };

/**
 * Decimals that a figure of noise (an SD, SEM, MDC, the half of an interval) deserves: two significant digits.
 *
 * @see JCGM 100 (GUM), 7.2.6: at most two significant digits are usually enough (from memory)
 */
export function noiseDecimals(noise: number): number {
  if (noise === 0 || !Number.isFinite(noise)) return 0;
  // Rounded first: 0.0996 has its two digits as 0.10.
  const rounded = Math.abs(Number(noise.toPrecision(2)));
  return Math.max(0, 1 - Math.floor(Math.log10(rounded)));
}

/**
 * Decimals that a value deserves beside its noise: it ends where the noise does, 41.2 beside ±1.3.
 *
 * @param noise its limits, or a figure of its noise such as an MDC; null if unknown
 * @param most as many as it is ever written with; unknown noise leaves them
 */
export function decimalsOf(noise: Limits | number | null, most: number): number {
  const size = noiseOf(noise);
  return size === 0 ? most : Math.min(most, noiseDecimals(size));
}

/** How large the noise is: half of its limits, or its own figure; 0 where it is unknown. */
export function noiseOf(noise: Limits | number | null): number {
  return (noise === null || typeof noise === "number" ? noise : half(noise)) ?? 0;
}

/**
 * Decimals for a column of values: those that its middle interval leaves, so that they stand below each other.
 *
 * @param most as for `decimalsOf`, also where no value has limits
 */
export function columnDecimals(values: readonly Limits[], most: number): number {
  const halves = values.map(half).filter((size) => size !== null && size > 0)
    .toSorted((a, b) => a! - b!);
  return decimalsOf(halves[Math.floor(halves.length / 2)] ?? null, most);
}

/**
 * Decimals at which values that surely differ, their intervals apart, are written apart too.
 *
 * @param decimals as many as they would have otherwise
 */
export function tellingDecimals(
  values: readonly (Limits & { readonly value: number })[],
  decimals: number,
): number {
  const known = values.flatMap(({ value, lower, upper }) =>
    lower === null || upper === null ? [] : [{ value, lower, upper }]
  );
  const areMixed = (same: typeof known) =>
    Math.max(...same.map(({ lower }) => lower)) > Math.min(...same.map(({ upper }) => upper));
  // Doubles have no more digits than that to tell.
  for (let more = decimals; more < 12; more++) {
    const alike = Map.groupBy(known, ({ value }) => Number(value.toFixed(more)));
    if (![...alike.values()].some(areMixed)) return more;
  }
  return decimals;
}

/** Scores of an index with their limits; without a limit they are written to two decimals. */
export function scoreDecimals(scores: readonly Limits[]): number {
  const known = scores.some((score) => (half(score) ?? 0) > 0);
  return columnDecimals(scores, known ? 6 : 2);
}

function half({ lower, upper }: Limits): number | null {
  return lower === null || upper === null ? null : Math.abs(upper - lower) / 2;
}
