// Numbers of twice the usual precision: an unevaluated sum of two doubles, some 32 digits.
// Dekker 1971, Numerische Mathematik 18:224; Knuth, The Art of Computer Programming 2, 4.2.2.

/** A vector of double-doubles: the numbers, and what rounding left over of each. */
export type LongVector = { readonly high: Float64Array; readonly low: Float64Array };

/** One double-double. */
export type Long = readonly [high: number, low: number];

const SPLITTER = 134217729; // 2^27 + 1

export function longVector(values: ArrayLike<number>): LongVector {
  return { high: Float64Array.from(values), low: new Float64Array(values.length) };
}

function normalised(high: number, low: number): Long {
  const sum = high + low;
  return [sum, low - (sum - high)];
}

/** What a·b loses in rounding. */
function productError(a: number, b: number, product: number): number {
  const scaledA = SPLITTER * a;
  const scaledB = SPLITTER * b;
  const a1 = scaledA - (scaledA - a);
  const b1 = scaledB - (scaledB - b);
  const a2 = a - a1;
  const b2 = b - b1;
  return a2 * b2 - (product - a1 * b1 - a2 * b1 - a1 * b2);
}

export function longAdd(a: Long, b: Long): Long {
  const sum = a[0] + b[0];
  const part = sum - a[0];
  return normalised(sum, a[0] - (sum - part) + (b[0] - part) + a[1] + b[1]);
}

export function longMultiply(a: Long, b: Long): Long {
  const product = a[0] * b[0];
  return normalised(product, productError(a[0], b[0], product) + a[0] * b[1] + a[1] * b[0]);
}

export function longDivide(a: Long, b: Long): Long {
  const first = a[0] / b[0];
  const rest = longAdd(a, longMultiply([-first, 0], b));
  const second = rest[0] / b[0];
  const left = longAdd(rest, longMultiply([-second, 0], b));
  return longAdd(normalised(first, second), [left[0] / b[0], 0]);
}

export function longNegate(a: Long): Long {
  return [-a[0], -a[1]];
}

/** Sum of products of two vectors. */
export function longDot(a: LongVector, b: LongVector): Long {
  let high = 0;
  let low = 0;
  for (let i = 0; i < a.high.length; i++) {
    const x = a.high[i], y = b.high[i];
    const product = x * y;
    const rest = productError(x, y, product) + x * b.low[i] + a.low[i] * y;
    const sum = high + product;
    const part = sum - high;
    const spare = high - (sum - part) + (product - part) + low + rest;
    high = sum + spare;
    low = spare - (high - sum);
  }
  return [high, low];
}

/** Takes a multiple of one vector from another, in place. */
export function longSubtractMultiple(from: LongVector, factor: Long, of: LongVector): void {
  const [f, g] = factor;
  for (let i = 0; i < from.high.length; i++) {
    const x = of.high[i];
    const product = f * x;
    const rest = productError(f, x, product) + f * of.low[i] + g * x;
    const start = from.high[i];
    const sum = start - product;
    const part = sum - start;
    const spare = start - (sum - part) - (product + part) + from.low[i] - rest;
    from.high[i] = sum + spare;
    from.low[i] = spare - (from.high[i] - sum);
  }
}

/** Elementwise product, for powers of a column. */
export function longProduct(a: LongVector, b: LongVector): LongVector {
  const high = new Float64Array(a.high.length);
  const low = new Float64Array(a.high.length);
  for (let i = 0; i < high.length; i++) {
    const product = longMultiply([a.high[i], a.low[i]], [b.high[i], b.low[i]]);
    high[i] = product[0];
    low[i] = product[1];
  }
  return { high, low };
}
