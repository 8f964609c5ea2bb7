/** Points and weights for the integral of f(x)·exp(−x²) over the line. */
type GaussHermite = {
  readonly points: readonly number[];
  readonly weights: readonly number[];
};

/**
 * Where should a function be evaluated to integrate it against a bell curve?
 *
 * @param count how many points; exact for polynomials up to degree 2·count − 1
 * @throws {RangeError} if count is not a whole number from 1 to 60
 * @see Golub & Welsch 1969 for the theory; roots here by Newton's method on the orthonormal recurrence
 */
export function gaussHermite(count: number): GaussHermite {
  if (!Number.isInteger(count) || count < 1 || count > 60) {
    throw new RangeError(`count is a whole number from 1 to 60, was given ${count}`);
  }
  const points = new Array<number>(count).fill(0);
  const weights = new Array<number>(count).fill(0);
  const half = Math.floor(count / 2);
  // Roots interlace: scan for sign changes of the polynomial, then polish.
  const limit = Math.sqrt(2 * count + 1);
  const steps = 40 * count;
  const roots: number[] = [];
  let before = hermite(count, 1e-12).value;
  for (let k = 1; k <= steps && roots.length < half; k++) {
    const x = limit * k / steps;
    const { value } = hermite(count, x);
    if (Math.sign(value) !== Math.sign(before)) roots.push(polish(count, x - limit / steps / 2));
    before = value;
  }
  if (count % 2 === 1) weights[half] = 1 / hermite(count, 0).below ** 2 / count;
  roots.forEach((root, k) => {
    const weight = 1 / hermite(count, root).below ** 2 / count;
    const up = count - half + k;
    const down = half - 1 - k;
    points[up] = root;
    points[down] = -root;
    weights[up] = weights[down] = weight;
  });
  return { points, weights };
}

/** The orthonormal Hermite polynomial of this degree, and the one below it, at x. */
function hermite(degree: number, x: number): { value: number; below: number } {
  let below = 0;
  let value = Math.PI ** -0.25;
  for (let k = 1; k <= degree; k++) {
    const next = x * Math.sqrt(2 / k) * value - Math.sqrt((k - 1) / k) * below;
    below = value;
    value = next;
  }
  return { value, below };
}

function polish(degree: number, start: number): number {
  let x = start;
  for (let step = 0; step < 50; step++) {
    const { value, below } = hermite(degree, x);
    const change = value / (Math.sqrt(2 * degree) * below);
    x -= change;
    if (Math.abs(change) < 1e-15 * Math.max(1, Math.abs(x))) break;
  }
  return x;
}
