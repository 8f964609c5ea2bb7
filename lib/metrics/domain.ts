/** A reading that must be a finite number; throws a RangeError that says what was given. */
export function requireFinite(name: string, given: number): number {
  if (!Number.isFinite(given)) throw wrong(name, given, "a finite number");
  return given;
}

/** A reading that must be above a bound. */
export function requireAbove(name: string, given: number, bound: number): number {
  if (!(Number.isFinite(given) && given > bound)) {
    throw wrong(name, given, `a number above ${bound}`);
  }
  return given;
}

/** A reading that must not be below a bound. */
export function requireAtLeast(name: string, given: number, bound: number): number {
  if (!(Number.isFinite(given) && given >= bound)) {
    throw wrong(name, given, `a number of at least ${bound}`);
  }
  return given;
}

/** A reading that must lie between two bounds, both allowed; `why` tells where they come from. */
export function requireBetween(
  name: string,
  given: number,
  [low, high]: readonly [number, number],
  why = "",
): number {
  if (!(Number.isFinite(given) && given >= low && given <= high)) {
    throw wrong(name, given, `a number from ${low} to ${high}${why === "" ? "" : ` (${why})`}`);
  }
  return given;
}

/** A word that must be one of a few. */
export function requireOneOf<Word extends string | number>(
  name: string,
  given: Word,
  words: readonly Word[],
): Word {
  if (!words.includes(given)) throw wrong(name, given, `one of ${words.join(", ")}`);
  return given;
}

/** Two series read together: same length, not empty, every number finite. */
export function requireSeries(
  first: readonly [name: string, given: readonly number[]],
  second: readonly [name: string, given: readonly number[]],
): void {
  if (first[1].length !== second[1].length) {
    throw new RangeError(
      `${first[0]} holds ${first[1].length} readings and ${second[0]} ${second[1].length}, ` +
        "expected as many of one as of the other",
    );
  }
  if (first[1].length === 0) {
    throw new RangeError(`${first[0]} holds no reading, expected at least one`);
  }
  for (const [name, given] of [first, second]) {
    given.forEach((reading, i) => requireFinite(`${name}[${i}]`, reading));
  }
}

/** The error for a reading outside its domain. */
export function wrong(name: string, given: unknown, expected: string): RangeError {
  const shown = typeof given === "string" ? JSON.stringify(given) : String(given);
  return new RangeError(`${name} is ${shown}, expected ${expected}`);
}
