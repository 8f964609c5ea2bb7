/**
 * Tail areas and quantiles of the distributions that intervals and tests need.
 *
 * Every distribution has a lower area (`…Cdf`), an upper area (`…Upper`, never computed as one minus
 * the lower one, so a p of 1e-200 keeps its digits), a quantile for a lower area (`…Quantile`) and one
 * for an upper area (`…UpperQuantile`). Degrees of freedom may be fractions and, where a limit
 * exists, `Infinity`.
 *
 * Incomplete gamma and beta functions are summed as a power series or as a continued fraction
 * (NIST Digital Library of Mathematical Functions, 8.7.1, 8.9.2; Didonato & Morris 1992) times a density that is
 * formed from deviances instead of from differences of large logarithms (Loader 2000, "Fast and
 * accurate computation of binomial probabilities"), which is what holds the digits at large freedom.
 *
 * @module
 */

const HALF_LOG_TWO_PI = 0.918938533204672741780329736406;
const EULER_GAMMA = 0.577215664901532860606512090082;
const TINY = 1e-300;
const ENOUGH = 1e-16;
const MOST_TERMS = 5_000_000;

// ---------------------------------------------------------------- gamma function

/** Riemann zeta minus one at 2, 3, …: the coefficients of log-gamma around 1. */
const ZETA_MINUS_ONE = Array.from({ length: 60 }, (_, i) => zetaMinusOne(i + 2));

/**
 * What is the logarithm of the gamma function?
 *
 * @param x a positive number
 * @returns ln Γ(x), to about 15 digits also beside its zeros at 1 and 2
 * @throws {RangeError} if `x` is not positive
 */
export function logGamma(x: number): number {
  if (!(x > 0)) throw new RangeError(`logGamma needs a positive number, was given ${x}`);
  if (x === Infinity) return Infinity;
  if (x < 0.5) return logGammaNearOne(x) - Math.log(x);
  if (x <= 1.5) return logGammaNearOne(x - 1);
  if (x < 2.5) return Math.log1p(x - 2) + logGammaNearOne(x - 2);
  if (x < 15) {
    let product = 1;
    let y = x;
    while (y >= 2.5) {
      y -= 1;
      product *= y;
    }
    return Math.log(product) + Math.log1p(y - 2) + logGammaNearOne(y - 2);
  }
  return (x - 0.5) * Math.log(x) - x + HALF_LOG_TWO_PI + stirlingSeries(x);
}

/** ln Γ(1 + x) for |x| ≤ 1/2. */
function logGammaNearOne(x: number): number {
  let total = 0;
  let power = -x;
  for (let k = 2; k < 62; k++) {
    power *= -x;
    const term = power * ZETA_MINUS_ONE[k - 2] / k;
    total += term;
    if (Math.abs(term) < 1e-18 * Math.abs(total)) break;
  }

  return -Math.log1p(x) + x * (1 - EULER_GAMMA) + total;
}

function zetaMinusOne(s: number): number {
  const last = 20;
  let total = 0;
  for (let k = last - 1; k >= 2; k--) total += k ** -s;
  // Euler and Maclaurin's tail from `last` on.
  const head = last ** -s;
  const tail = head * last / (s - 1) + head / 2 + s * head / (12 * last) -
    s * (s + 1) * (s + 2) * head / (720 * last ** 3) +
    s * (s + 1) * (s + 2) * (s + 3) * (s + 4) * head / (30240 * last ** 5);
  return total + tail;
}

/** What Stirling's formula for ln Γ(x) leaves out, for x ≥ 15. */
function stirlingSeries(x: number): number {
  const square = 1 / (x * x);
  return (1 / 12 -
    square * (1 / 360 - square * (1 / 1260 - square * (1 / 1680 - square * (1 / 1188 - square *
                      (691 / 360360 - square / 156)))))) / x;
}

/** ln(x!) minus Stirling's approximation of it, for any x > 0. */
function stirlingError(x: number): number {
  if (x >= 15) return stirlingSeries(x);
  return logGamma(x) + Math.log(x) - (x + 0.5) * Math.log(x) + x - HALF_LOG_TWO_PI;
}

/** x·ln(x/mean) + mean − x without cancellation. */
function deviance(x: number, mean: number): number {
  const u = (x - mean) / mean;
  if (Math.abs(u) < 0.2) {
    // (1 + u)·ln(1 + u) − u = Σ (−u)^k / (k(k − 1)), k from 2
    let total = 0;
    let power = -u;
    for (let k = 2; k < 60; k++) {
      power *= -u;
      const term = power / (k * (k - 1));
      total += term;
      if (Math.abs(term) <= 1e-17 * Math.abs(total)) break;
    }
    return mean * total;
  }
  if (x === 0) return mean;
  const ratio = x / mean;
  return x * (ratio > 0 && ratio < Infinity ? Math.log(ratio) : Math.log(x) - Math.log(mean)) +
    mean - x;
}

/** ln of x^a·y^b / B(a, b), with x + y = 1. */
function logBetaKernel(a: number, b: number, x: number, y: number): number {
  const n = a + b;
  return stirlingError(n) - stirlingError(a) - stirlingError(b) - deviance(a, n * x) -
    deviance(b, n * y) + 0.5 * Math.log(a * (b / n)) - HALF_LOG_TWO_PI;
}

/** ln of x^a·e^−x / Γ(a). */
function logGammaKernel(a: number, x: number): number {
  return -stirlingError(a) - deviance(a, x) + 0.5 * Math.log(a) - HALF_LOG_TWO_PI;
}

// ---------------------------------------------------------------- incomplete gamma

/** Lower and upper regularised incomplete gamma function. */
function gammaAreas(a: number, x: number): readonly [lower: number, upper: number] {
  if (x <= 0) return [0, 1];
  if (x === Infinity) return [1, 0];
  const kernel = Math.exp(logGammaKernel(a, x));
  if (x < a + 1) {
    let term = 1 / a;
    let total = term;
    for (let k = 1; k < MOST_TERMS; k++) {
      term *= x / (a + k);
      total += term;
      if (term < total * ENOUGH) break;
    }
    const lower = Math.min(1, kernel * total);
    return [lower, 1 - lower];
  }
  let b = x + 1 - a;
  let c = 1 / TINY;
  let d = 1 / b;
  let h = d;
  for (let k = 1; k < MOST_TERMS; k++) {
    const factor = -k * (k - a);
    b += 2;
    d = factor * d + b;
    if (Math.abs(d) < TINY) d = TINY;
    c = b + factor / c;
    if (Math.abs(c) < TINY) c = TINY;
    d = 1 / d;
    const step = d * c;
    h *= step;
    if (Math.abs(step - 1) < 2 * ENOUGH) break;
  }
  const upper = Math.min(1, kernel * h);
  return [1 - upper, upper];
}

// ---------------------------------------------------------------- incomplete beta

/** Lower and upper regularised incomplete beta function at x, with y = 1 − x given beside it. */
function betaAreas(
  a: number,
  b: number,
  x: number,
  y: number,
): readonly [lower: number, upper: number] {
  if (x <= 0) return [0, 1];
  if (y <= 0) return [1, 0];
  if (x > (a + 1) / (a + b + 2)) {
    const upper = betaFraction(b, a, y, x);
    return [1 - upper, upper];
  }
  const lower = betaFraction(a, b, x, y);
  return [lower, 1 - lower];
}

/** The continued fraction of Didonato & Morris 1992 (ACM Algorithm 708, their BFRAC). */
function betaFraction(a: number, b: number, x: number, y: number): number {
  const kernel = Math.exp(logBetaKernel(a, b, x, y));
  if (kernel === 0) return 0;
  // a − (a + b)x, from whichever of x and y keeps the digits.
  const lead = x < y ? a - (a + b) * x : (a + b) * y - b;
  let h = a / (a + 1) * (lead + 1);
  if (Math.abs(h) < TINY) h = TINY;
  let c = h;
  let d = 0;
  for (let n = 1; n < MOST_TERMS; n++) {
    const odd = a + 2 * n - 1;
    const above = (a + n - 1) / odd * ((a + b + n - 1) / odd) * n * (b - n) * x * x;
    const below = n + n * (b - n) * x / odd + (a + n) / (odd + 2) * (lead + 1 + n * (1 + y));
    d = below + above * d;
    if (Math.abs(d) < TINY) d = TINY;
    c = below + above / c;
    if (Math.abs(c) < TINY) c = TINY;
    d = 1 / d;
    const step = c * d;
    h *= step;
    if (Math.abs(step - 1) < 4 * ENOUGH) break;
  }
  return Math.min(1, kernel / h);
}

// ---------------------------------------------------------------- normal

/** How dense is the standard normal distribution at z? */
export function normalDensity(z: number): number {
  return Math.exp(-0.5 * z * z - HALF_LOG_TWO_PI);
}

/** How much of the standard normal distribution lies at or below z? */
export function normalCdf(z: number): number {
  return normalUpper(-z);
}

/** How much of the standard normal distribution lies above z? Exact in the far tail. */
export function normalUpper(z: number): number {
  if (Number.isNaN(z)) throw new RangeError("A normal tail area needs a number, was given NaN");
  const size = Math.abs(z);
  if (size < 2.5) return 0.5 - normalCentral(z);
  const tail = 0.5 * gammaAreas(0.5, 0.5 * size * size)[1];
  return z > 0 ? tail : 1 - tail;
}

/** The area from 0 to z. */
function normalCentral(z: number): number {
  const square = z * z;
  let term = z;
  let total = z;
  for (let k = 3; Math.abs(term) > Math.abs(total) * ENOUGH; k += 2) {
    term *= square / k;
    total += term;
  }
  return total * normalDensity(z);
}

/** Below which z does the share `p` of the standard normal distribution lie? */
export function normalQuantile(p: number): number {
  return -normalUpperQuantile(p);
}

/** Above which z does the share `p` of the standard normal distribution lie? */
export function normalUpperQuantile(p: number): number {
  checkShare(p);
  if (p === 0) return Infinity;
  if (p === 1) return -Infinity;
  if (Math.abs(p - 0.5) < 0.3) {
    const wanted = 0.5 - p;
    let z = wanted / 0.3989422804014327;
    for (let round = 0; round < 20; round++) {
      const step = (normalCentral(z) - wanted) / normalDensity(z);
      const halley = step / (1 + 0.5 * z * step);
      z -= halley;
      if (Math.abs(halley) <= 1e-16 * Math.abs(z)) break;
    }
    return z;
  }
  const tail = Math.min(p, 1 - p);
  const t = Math.sqrt(-2 * Math.log(tail));
  // Abramowitz & Stegun 26.2.23, good to 4.5e-4; Newton on the logarithm does the rest.
  let z = t -
    (2.515517 + t * (0.802853 + t * 0.010328)) /
      (1 + t * (1.432788 + t * (0.189269 + t * 0.001308)));
  for (let round = 0; round < 20; round++) {
    const area = normalUpper(z);
    const step = Math.log(area / tail) * area / normalDensity(z);
    z += step;
    if (Math.abs(step) <= 1e-15 * z) break;
  }
  return p < 0.5 ? z : -z;
}

// ---------------------------------------------------------------- chi-squared

/** How much of a chi-squared distribution lies at or below x? */
export function chiSquaredCdf(x: number, freedom: number): number {
  checkFreedom(freedom);
  checkPlace(x);
  return gammaAreas(freedom / 2, x / 2)[0];
}

/** How much of a chi-squared distribution lies above x? Exact in the far tail. */
export function chiSquaredUpper(x: number, freedom: number): number {
  checkFreedom(freedom);
  checkPlace(x);
  return gammaAreas(freedom / 2, x / 2)[1];
}

/** Below which x does the share `p` of a chi-squared distribution lie? */
export function chiSquaredQuantile(p: number, freedom: number): number {
  return chiSquaredSolve(p, freedom, false);
}

/** Above which x does the share `p` of a chi-squared distribution lie? */
export function chiSquaredUpperQuantile(p: number, freedom: number): number {
  return chiSquaredSolve(p, freedom, true);
}

function chiSquaredSolve(p: number, freedom: number, fromAbove: boolean): number {
  checkFreedom(freedom);
  checkShare(p);
  const a = freedom / 2;
  const spread = 2 / (9 * freedom);
  const z = p === 0 || p === 1 ? 0 : (fromAbove ? normalUpperQuantile(p) : normalQuantile(p));
  const cubeRoot = freedom * (1 - spread + z * Math.sqrt(spread)) ** 3;
  // ln x = (ln p + ln Γ(a + 1)) / a + ln 2 where the lower tail is a pure power.
  const power = fromAbove ? -Infinity : (Math.log(p) + logGamma(a + 1)) / a + Math.log(2);
  const start = cubeRoot > 0.05 * freedom ? Math.log(cubeRoot) : power > -Infinity ? power : 0;
  return positiveQuantile(p, fromAbove, start, (x) => gammaAreas(a, x / 2), (x) => {
    return logGammaKernel(a, x / 2);
  });
}

// ---------------------------------------------------------------- F

/** How much of an F distribution lies at or below f? */
export function fCdf(f: number, freedom1: number, freedom2: number): number {
  return fAreas(f, freedom1, freedom2)[0];
}

/** How much of an F distribution lies above f? Exact in the far tail. */
export function fUpper(f: number, freedom1: number, freedom2: number): number {
  return fAreas(f, freedom1, freedom2)[1];
}

function fAreas(f: number, freedom1: number, freedom2: number): readonly [number, number] {
  checkFreedom(freedom1, true);
  checkFreedom(freedom2, true);
  checkPlace(f);
  if (f <= 0) return [0, 1];
  if (f === Infinity) return [1, 0];
  if (freedom2 === Infinity) {
    if (freedom1 === Infinity) return f < 1 ? [0, 1] : [1, 0];
    return gammaAreas(freedom1 / 2, freedom1 * f / 2);
  }
  if (freedom1 === Infinity) {
    const [lower, upper] = gammaAreas(freedom2 / 2, freedom2 / f / 2);
    return [upper, lower];
  }
  const above = freedom1 * f;
  const whole = above + freedom2;
  if (whole === Infinity) return [1, 0];
  return betaAreas(freedom1 / 2, freedom2 / 2, above / whole, freedom2 / whole);
}

/** Below which f does the share `p` of an F distribution lie? */
export function fQuantile(p: number, freedom1: number, freedom2: number): number {
  return fSolve(p, freedom1, freedom2, false);
}

/** Above which f does the share `p` of an F distribution lie? */
export function fUpperQuantile(p: number, freedom1: number, freedom2: number): number {
  return fSolve(p, freedom1, freedom2, true);
}

function fSolve(p: number, freedom1: number, freedom2: number, fromAbove: boolean): number {
  checkFreedom(freedom1, true);
  checkFreedom(freedom2, true);
  checkShare(p);
  if (freedom2 === Infinity) {
    if (freedom1 === Infinity) return 1;
    return chiSquaredSolve(p, freedom1, fromAbove) / freedom1;
  }
  if (freedom1 === Infinity) return freedom2 / chiSquaredSolve(p, freedom2, !fromAbove);
  const a = freedom1 / 2;
  const b = freedom2 / 2;
  let start = 0;
  if (p > 0 && p < 1) {
    // A normal approximation of ln F (twice Fisher's z).
    const z = fromAbove ? normalUpperQuantile(p) : normalQuantile(p);
    start = 1 / freedom2 - 1 / freedom1 + z * Math.sqrt(2 / freedom1 + 2 / freedom2);
    if (!(Math.abs(start) < 20)) start = Math.sign(start) * 20;
  }
  return positiveQuantile(p, fromAbove, start, (f) => fAreas(f, freedom1, freedom2), (f) => {
    const above = freedom1 * f;
    const whole = above + freedom2;
    return logBetaKernel(a, b, above / whole, freedom2 / whole);
  });
}

// ---------------------------------------------------------------- Student's t

/** How much of Student's t distribution lies at or below t? */
export function tCdf(t: number, freedom: number): number {
  return tUpper(-t, freedom);
}

/** How much of Student's t distribution lies above t? Exact in the far tail. */
export function tUpper(t: number, freedom: number): number {
  checkFreedom(freedom, true);
  if (Number.isNaN(t)) throw new RangeError("A t tail area needs a number, was given NaN");
  if (freedom === Infinity) return normalUpper(t);
  if (t === Infinity) return 0;
  if (t === -Infinity) return 1;
  const size = Math.abs(t);
  // Two ratios, so that neither t² nor freedom/t² overflows or loses the small one.
  const scaled = size / Math.sqrt(freedom);
  let x = 1 / (1 + scaled * scaled);
  let y = scaled * scaled / (1 + scaled * scaled);
  if (scaled > 1e8) {
    x = 1 / scaled / scaled;
    y = 1;
  }
  const [both, middle] = betaAreas(freedom / 2, 0.5, x, y);
  if (both < 0.5) return t > 0 ? both / 2 : 1 - both / 2;
  return t > 0 ? 0.5 - middle / 2 : 0.5 + middle / 2;
}

/** Below which t does the share `p` of Student's t distribution lie? */
export function tQuantile(p: number, freedom: number): number {
  return -tUpperQuantile(p, freedom);
}

/** Above which t does the share `p` of Student's t distribution lie? */
export function tUpperQuantile(p: number, freedom: number): number {
  checkFreedom(freedom, true);
  checkShare(p);
  if (freedom === Infinity) return normalUpperQuantile(p);
  if (p === 0.5) return 0;
  if (p === 0) return Infinity;
  if (p === 1) return -Infinity;
  const tail = Math.min(p, 1 - p);
  const size = tail > 0.25
    ? Math.sqrt(fQuantile(1 - 2 * tail, 1, freedom))
    : Math.sqrt(fUpperQuantile(2 * tail, 1, freedom));
  return p < 0.5 ? size : -size;
}

// ---------------------------------------------------------------- beta and binomial

/** How much of a beta distribution lies at or below x? */
export function betaCdf(x: number, a: number, b: number): number {
  checkShapes(a, b);
  checkPlace(x);
  return betaAreas(a, b, x, 1 - x)[0];
}

/** How much of a beta distribution lies above x? Exact in the far tail. */
export function betaUpper(x: number, a: number, b: number): number {
  checkShapes(a, b);
  checkPlace(x);
  return betaAreas(a, b, x, 1 - x)[1];
}

/** Below which x does the share `p` of a beta distribution lie? */
export function betaQuantile(p: number, a: number, b: number): number {
  checkShapes(a, b);
  return shareOfOdds(fSolve(p, 2 * a, 2 * b, false), a, b);
}

/** Above which x does the share `p` of a beta distribution lie? */
export function betaUpperQuantile(p: number, a: number, b: number): number {
  checkShapes(a, b);
  return shareOfOdds(fSolve(p, 2 * a, 2 * b, true), a, b);
}

/** A beta variable is af / (af + b) with f an F variable. */
function shareOfOdds(f: number, a: number, b: number): number {
  if (f === Infinity) return 1;
  const odds = a * f / b;
  return odds < 1 ? odds / (1 + odds) : 1 / (1 + 1 / odds);
}

/** How likely are `successes` or fewer out of `trials`, each with the given `chance`? */
export function binomialCdf(successes: number, trials: number, chance: number): number {
  checkShare(chance);
  const most = Math.floor(successes);
  if (most < 0) return 0;
  if (most >= trials) return 1;
  return betaAreas(trials - most, most + 1, 1 - chance, chance)[0];
}

/** How likely are more than `successes` out of `trials`, each with the given `chance`? */
export function binomialUpper(successes: number, trials: number, chance: number): number {
  checkShare(chance);
  const most = Math.floor(successes);
  if (most < 0) return 1;
  if (most >= trials) return 0;
  return betaAreas(trials - most, most + 1, 1 - chance, chance)[1];
}

// ---------------------------------------------------------------- shared

/**
 * Inverts the areas of a positive variable by Newton's method on ln(area) against ln(x), where both
 * tails are close to straight lines, inside a bracket that only shrinks.
 */
function positiveQuantile(
  p: number,
  fromAbove: boolean,
  start: number,
  areas: (x: number) => readonly [number, number],
  logDensityTimesX: (x: number) => number,
): number {
  if (p === 0 || p === 1) return (p === 1) === fromAbove ? 0 : Infinity;
  // The smaller tail is solved for: it is the one whose logarithm has the digits.
  const useUpper = fromAbove ? p <= 0.5 : p > 0.5;
  const wanted = p <= 0.5 ? p : 1 - p;
  let low = -Infinity;
  let high = Infinity;
  let u = start;
  for (let round = 0; round < 400; round++) {
    const x = Math.exp(u);
    const area = areas(x)[useUpper ? 1 : 0];
    const tooFar = useUpper ? area < wanted : area > wanted;
    if (tooFar) high = u;
    else low = u;
    const slope = Math.exp(logDensityTimesX(x));
    const gap = area > 0 ? Math.log(area / wanted) : -Infinity;
    let next = u + (useUpper ? 1 : -1) * gap * area / slope;
    const widest = Math.max(1, Math.abs(u));
    if (!Number.isFinite(next) || Math.abs(next - u) > widest) {
      next = u + (tooFar ? -widest : widest);
    }
    // Rounding at the root looks like leaving the bracket; the midpoint is then as good.
    if (next <= low || next >= high) next = insideOf(low, high, widest);
    if (Math.abs(next - u) <= 1e-15 * Math.max(1, Math.abs(u)) || next === u) {
      return Math.exp(next);
    }
    if (next < -745) return 0;
    if (next > 709.7) return Infinity;
    u = next;
  }
  return Math.exp(u);
}

/** The middle of a bracket; where one end is open, a step in from the other. */
function insideOf(low: number, high: number, step: number): number {
  if (low === -Infinity) return high - step;
  return high === Infinity ? low + step : (low + high) / 2;
}

function checkShare(p: number): void {
  if (!(p >= 0 && p <= 1)) {
    throw new RangeError(`A share of a distribution lies between 0 and 1, was given ${p}`);
  }
}

function checkFreedom(freedom: number, mayBeInfinite = false): void {
  if (!(freedom > 0) || (!mayBeInfinite && freedom === Infinity)) {
    throw new RangeError(`Degrees of freedom must be positive, was given ${freedom}`);
  }
}

function checkPlace(x: number): void {
  if (Number.isNaN(x)) throw new RangeError("A tail area needs a number, was given NaN");
}

function checkShapes(a: number, b: number): void {
  if (!(a > 0 && b > 0 && a < Infinity && b < Infinity)) {
    throw new RangeError(`Shapes of a beta distribution must be positive, was given ${a} and ${b}`);
  }
}
