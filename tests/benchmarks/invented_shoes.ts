import { randomStream } from "../../lib/statistics/random_stream.ts";

/** Invented columns over the same shoes: a common part and noise, rounded so that there are ties. */
export function inventedColumns(seed: number, count: number, shoes: number, levels: number) {
  const stream = randomStream(seed);
  const common = Array.from({ length: shoes }, () => stream.normal());
  return Array.from(
    { length: count },
    () => common.map((shared) => Math.round((0.5 * shared + stream.normal()) * levels)),
  );
}

/** Invented predictors that share a common part, one row per shoe, and an outcome of three of them. */
export function inventedPredictors(seed: number, shoes: number, predictors: number) {
  const stream = randomStream(seed);
  const X = Array.from({ length: shoes }, () => {
    const common = stream.normal();
    return Array.from({ length: predictors }, () => 0.6 * common + stream.normal());
  });
  const y = X.map((row) => 0.8 * row[0] + 0.5 * row[3] + 0.2 * row[5] + stream.normal());
  return { X, y };
}
