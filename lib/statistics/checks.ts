/** Throws unless every reading is a finite number. */
export function checkReadings(readings: readonly (number | null)[], doing: string): void {
  // An index: a reading may be undefined itself, which `find` could not tell from none.
  const odd = readings.findIndex((reading) => reading !== null && !Number.isFinite(reading));
  if (odd >= 0) throw new RangeError(`Cannot ${doing}: ${readings[odd]} is not finite`);
}

/** Throws unless a level of confidence lies between 0 and 1. */
export function checkConfidence(confidence: number): void {
  if (!(confidence > 0 && confidence < 1)) {
    throw new RangeError(`Confidence lies between 0 and 1, was given ${confidence}`);
  }
}

/** Mean and sum of squares around it, from a pivot so that an offset costs no digits. */
export function momentsOf(
  readings: readonly number[],
): { readonly mean: number; readonly squares: number; readonly rounding: number } {
  const pivot = readings[0];
  let shift = 0;
  let largest = 0;
  for (const x of readings) {
    shift += (x - pivot) / readings.length;
    largest = Math.max(largest, Math.abs(x));
  }
  let squares = 0;
  let left = 0;
  for (const x of readings) {
    const distance = x - pivot - shift;
    squares += distance * distance;
    left += distance;
  }
  return {
    mean: pivot + shift,
    squares: squares - left * left / readings.length,
    rounding: readings.length * (2 * Number.EPSILON * largest) ** 2,
  };
}
