/** Three correlations among three variables: 1 is the shared outcome, 2 and 3 are compared. */
export type CorrelationTriple = {
  readonly r12: number;
  readonly r13: number;
  readonly r23: number;
  readonly n: number;
};

/** @throws {RangeError} if no three variables could have these correlations, or n is no count */
export function checkTriple({ r12, r13, r23, n }: CorrelationTriple): void {
  for (const [name, r] of Object.entries({ r12, r13, r23 })) {
    if (!(r >= -1 && r <= 1)) throw new RangeError(`${name} lies from -1 to 1, was given ${r}`);
  }
  if (!Number.isInteger(n) || n < 0) {
    throw new RangeError(`n is a whole number of rows, was given ${n}`);
  }
  if (determinant({ r12, r13, r23 }) < -1e-9) {
    throw new RangeError(
      `No three variables have correlations r12 = ${r12}, r13 = ${r13} and r23 = ${r23}`,
    );
  }
}

/** Determinant of the 3 × 3 correlation matrix. */
export function determinant(
  { r12, r13, r23 }: Pick<CorrelationTriple, "r12" | "r13" | "r23">,
): number {
  return 1 - r12 * r12 - r13 * r13 - r23 * r23 + 2 * r12 * r13 * r23;
}
