import { logGamma, tUpper, tUpperQuantile } from "./distributions.ts";

/** How heavy the tails of some noise are, and how far out chance may throw its farthest reading. */
export type TailLimit = {
  /** Chance throws none of the readings farther than this, but for the risk given. */
  readonly limit: number;
  /** Degrees of freedom of the t distribution that is as heavy as the readings allow; infinite for normal noise. */
  readonly freedom: number;
};

/** 1 over the freedom: from normal to t with 4 degrees; few readings would allow for any tail, and none would be out. */
const HEAVINESS = [0, 0.02, 0.04, 0.07, 0.1, 0.13, 0.16, 0.19, 0.22, 0.25];

/** The drop in log-likelihood that a limit on one side at 95% allows. */
const ONE_SIDED = 1.35;

/** A gain in log-likelihood over normal noise that one bench of six has by chance: from there tails count as heavy. */
const SUSPECTED = 0.5;

/**
 * How far may the farthest of some readings lie by chance, if their tails are as heavy as they look?
 *
 * Grubbs' limit takes noise as normal; under heavier tails (t with 4 degrees of freedom, exponential) it calls
 * chance an outlier on every bench. Here Student's t about 0 with a scale and a freedom of its own is fitted
 * by likelihood to all readings but the suspects, of which only so much counts as that they lie beyond the
 * rest: left out whole they would make tails look light, let in whole they would excuse themselves. Where
 * the readings speak against normal noise, the heaviest tail is taken that they allow (95%); else the
 * normal one. A few dozen readings can't show heavy tails: there chance passes for an
 * outlier more often than the risk given.
 *
 * @param others distances from the centre without the suspects, in any order
 * @param suspects how many lie beyond all others
 * @param options.alpha risk of calling any reading of clean noise an outlier
 * @see Lange, Little & Taylor 1989, Journal of the American Statistical Association 84:881, for t as a model of
 * noise whose tails nobody knows
 */
export function tailLimit(
  others: readonly number[],
  suspects: number,
  { alpha }: { readonly alpha: number },
): TailLimit {
  const sizes = Float64Array.from(others, Math.abs).sort();
  const edge = sizes[sizes.length - 1];
  const fits = HEAVINESS.map((heaviness) => fitScale(sizes, edge, suspects, heaviness));
  const best = Math.max(...fits.map(({ likelihood }) => likelihood));
  const heavy = best - fits[0].likelihood > SUSPECTED;
  const chosen = heavy ? fits.findLastIndex(({ likelihood }) => likelihood >= best - ONE_SIDED) : 0;
  const { scale, freedom } = fits[chosen];
  const n = sizes.length + suspects;
  return { limit: scale * tUpperQuantile(alpha / (2 * n), freedom), freedom };
}

/**
 * Tails fall off as a power of the distance at the heaviest: with t of 4 degrees of freedom the chance to lie
 * beyond goes down with the cube of the distance where the farthest of some hundred readings lie.
 */
const HEAVIEST_POWER = 3;

/**
 * How likely does chance leave a gap this wide below the farthest readings, however heavy their tails?
 *
 * Several slips make tails look heavy and so excuse each other by `tailLimit`; what gives them away is that
 * nothing lies between them and the rest. Of tails that fall off as a power, j · ln(x(j) / x(j+1)) is
 * exponential with that power as its rate.
 *
 * @param farthest distance of the j-th farthest reading
 * @param next distance of the one below it, above 0
 * @param count j
 * @returns a chance for the heaviest tails allowed for, 0 to 1
 * @see Rényi 1953, Acta Mathematica Hungarica 4:191, on spacings of order statistics (from memory)
 */
export function gapChance(farthest: number, next: number, count: number): number {
  return Math.min(1, (farthest / next) ** (-HEAVIEST_POWER * count));
}

/** The scale under which readings of a given heaviness are likeliest: golden sections on its logarithm. */
function fitScale(
  sizes: Float64Array,
  edge: number,
  suspects: number,
  heaviness: number,
): { readonly scale: number; readonly freedom: number; readonly likelihood: number } {
  const freedom = heaviness === 0 ? Infinity : 1 / heaviness;
  const constant = heaviness === 0
    ? -0.5 * Math.log(2 * Math.PI)
    : logGamma((freedom + 1) / 2) - logGamma(freedom / 2) - 0.5 * Math.log(freedom * Math.PI);
  const likelihood = (logScale: number) => {
    const scale = Math.exp(logScale);
    let total = sizes.length * (constant - logScale);
    for (const size of sizes) {
      const z = size / scale;
      total -= heaviness === 0 ? z * z / 2 : (freedom + 1) / 2 * Math.log1p(z * z * heaviness);
    }
    return suspects === 0
      ? total
      : total + suspects * Math.log(2 * tUpper(edge / scale, freedom) + 1e-300);
  };
  const spread = Math.log(
    Math.sqrt(sizes.reduce((sum, size) => sum + size * size, 0) / sizes.length),
  );
  const golden = (Math.sqrt(5) - 1) / 2;
  let [low, high] = [spread - 1.5, spread + 0.7];
  let [a, b] = [high - golden * (high - low), low + golden * (high - low)];
  let [atA, atB] = [likelihood(a), likelihood(b)];
  for (let round = 0; round < 24; round++) {
    if (atA > atB) {
      [high, b, atB] = [b, a, atA];
      a = high - golden * (high - low);
      atA = likelihood(a);
    } else {
      [low, a, atA] = [a, b, atB];
      b = low + golden * (high - low);
      atB = likelihood(b);
    }
  }
  const logScale = (low + high) / 2;
  return { scale: Math.exp(logScale), freedom, likelihood: likelihood(logScale) };
}
