// Where a caller gives no seed, these stand: the same data then give the same bytes. There are two, since
// figures of agreement and of variance components were published with the second and must not move.

/** The seed of what is drawn by default: resamples, permutations, simulated benches. */
export const DEFAULT_SEED = 20260101;

/** The seed of the agreement coefficients, the variance components and what is made of them. */
export const AGREEMENT_SEED = 1;
