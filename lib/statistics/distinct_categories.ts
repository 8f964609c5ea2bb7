import type { Reason } from "./reason.ts";

/**
 * Into how many groups that do not overlap can a bench sort its subjects?
 *
 * 1.41 times the subjects' SD over the bench's SD, cut down to a whole number.
 *
 * @param subjectSd SD between subjects
 * @param benchSd SD of a reading from everything else: trials, operators, sessions
 * @returns whole groups and the figure before it was cut; null with a reason if the bench shows no noise
 * @throws {RangeError} if an SD is negative or not finite
 * @see Measurement Systems Analysis reference manual, 4th edition 2010 (the factor 1.41 is theirs)
 */
export function distinctCategories(
  subjectSd: number,
  benchSd: number,
): {
  readonly categories: number | null;
  readonly categories_reason: Reason | null;
  readonly beforeCut: number | null;
} {
  for (const sd of [subjectSd, benchSd]) {
    if (!(sd >= 0 && sd < Infinity)) {
      throw new RangeError(`An SD is a number of 0 or more, was given ${sd}`);
    }
  }
  if (benchSd === 0) {
    return {
      categories: null,
      categories_reason: { code: "no-noise", of: "bench" },
      beforeCut: null,
    };
  }
  const beforeCut = 1.41 * subjectSd / benchSd;
  return { categories: Math.floor(beforeCut), categories_reason: null, beforeCut };
}
