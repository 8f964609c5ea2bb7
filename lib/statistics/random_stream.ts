/** A reproducible source of random numbers. The same seed and substream give the same numbers, always. */
export type RandomStream = {
  /** One number from [0, 1), 53 bits. */
  readonly uniform: () => number;
  /** One whole number from 0 to n − 1, each equally likely. */
  readonly integer: (n: number) => number;
  /** One standard normal number. */
  readonly normal: () => number;
  /** Fills a buffer with numbers from [0, 1): the same ones as repeated `uniform()`. */
  readonly fillUniform: (into: Float64Array) => Float64Array;
  /** Fills a buffer with whole numbers from 0 to n − 1: the same ones as repeated `integer(n)`. */
  readonly fillIntegers: <T extends Int32Array | Uint32Array | Uint16Array>(
    into: T,
    n: number,
  ) => T;
  /** Fills a buffer with standard normal numbers: the same ones as repeated `normal()`. */
  readonly fillNormal: (into: Float64Array) => Float64Array;
  /** Puts a list in random order, in place. */
  readonly shuffle: <T extends { [index: number]: unknown; readonly length: number }>(
    list: T,
  ) => T;
  /** The `index`-th stream of its own under this one, whatever has been drawn here before. */
  readonly substream: (index: number) => RandomStream;
};

const TWO_TO_MINUS_53 = 2 ** -53;

/**
 * Where do a resample's random numbers come from?
 *
 * Blackman & Vigna's xoshiro128** with its state set by a chain of splitmix32 steps over the seed and
 * every substream index, so that neighbouring seeds share nothing and the k-th resample has its own
 * numbers, on whichever thread and in whichever order it is drawn.
 *
 * @param seed a whole number from 0 to 2^53 − 1
 * @param substream whole numbers that name one stream under the seed, such as metric and resample
 * @throws {RangeError} if the seed or an index is not such a number
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { statistics } from "bench-to-court";
 * assert.equal(statistics.randomStream(7, 3).uniform(), statistics.randomStream(7).substream(3).uniform());
 * ```
 */
export function randomStream(seed: number, ...substream: readonly number[]): RandomStream {
  for (const part of [seed, ...substream]) {
    if (!Number.isSafeInteger(part) || part < 0) {
      throw new RangeError(`A seed is a whole number from 0 to 2^53 − 1, was given ${part}`);
    }
  }
  const state = initialState([seed, ...substream]);
  const spare = new Float64Array(1).fill(NaN);
  const integer = (n: number) => drawInteger(state, n);
  return {
    uniform: () => drawUniform(state),
    integer,
    normal: () => drawNormal(state, spare),
    fillUniform: (into) => fillUniform(state, into),
    fillIntegers: (into, n) => fillIntegers(state, into, n),
    fillNormal: (into) => fillNormal(state, spare, into),
    shuffle: (list) => {
      for (let i = list.length - 1; i > 0; i--) {
        const j = integer(i + 1);
        const kept = list[i];
        list[i] = list[j];
        list[j] = kept;
      }
      return list;
    },
    substream: (index) => randomStream(seed, ...substream, index),
  };
}

/** The four words of xoshiro128**. */
type State = Int32Array;

/** The next word of xoshiro128**: the fill functions repeat these lines with the state in locals. */
function next(state: State): number {
  const b = state[1];
  let word = Math.imul(b, 5);
  word = Math.imul((word << 7) | (word >>> 25), 9);
  const c = state[2] ^ state[0];
  const d = state[3] ^ b;
  state[1] = b ^ c;
  state[0] ^= d;
  state[2] = c ^ (b << 9);
  state[3] = (d << 11) | (d >>> 21);
  return word >>> 0;
}

function drawUniform(state: State): number {
  const high = next(state) >>> 5;
  return (high * 67108864 + (next(state) >>> 6)) * TWO_TO_MINUS_53;
}

function drawInteger(state: State, n: number): number {
  checkCount(n);
  // The few top words that would favour small results are thrown away.
  const reject = 4294967296 - (4294967296 % n);
  let word = next(state);
  while (word >= reject) word = next(state);
  return word % n;
}

/** Marsaglia's polar method, which gives two; the second is kept in `spare`, NaN when there is none. */
function drawNormal(state: State, spare: Float64Array): number {
  const kept = spare[0];
  if (kept === kept) {
    spare[0] = NaN;
    return kept;
  }
  while (true) {
    const x = 2 * drawUniform(state) - 1;
    const y = 2 * drawUniform(state) - 1;
    const square = x * x + y * y;
    if (square >= 1 || square === 0) continue;
    const scale = Math.sqrt(-2 * Math.log(square) / square);
    spare[0] = y * scale;
    return x * scale;
  }
}

function fillUniform(state: State, into: Float64Array): Float64Array {
  let [s0, s1, s2, s3] = state;
  for (let i = 0; i < into.length; i++) {
    let high = Math.imul(s1, 5);
    high = Math.imul((high << 7) | (high >>> 25), 9);
    let t = s1 << 9;
    s2 ^= s0;
    s3 ^= s1;
    s1 ^= s2;
    s0 ^= s3;
    s2 ^= t;
    s3 = (s3 << 11) | (s3 >>> 21);
    let low = Math.imul(s1, 5);
    low = Math.imul((low << 7) | (low >>> 25), 9);
    t = s1 << 9;
    s2 ^= s0;
    s3 ^= s1;
    s1 ^= s2;
    s0 ^= s3;
    s2 ^= t;
    s3 = (s3 << 11) | (s3 >>> 21);
    into[i] = ((high >>> 5) * 67108864 + (low >>> 6)) * TWO_TO_MINUS_53;
  }
  state[0] = s0, state[1] = s1, state[2] = s2, state[3] = s3;
  return into;
}

function fillIntegers<T extends Int32Array | Uint32Array | Uint16Array>(
  state: State,
  into: T,
  n: number,
): T {
  checkCount(n);
  const reject = 4294967296 - (4294967296 % n);
  // A remainder by multiplying is twice as fast as by dividing; the quotient may be one off.
  const inverse = 1 / n;
  const length = into.length;
  let [s0, s1, s2, s3] = state;
  let i = 0;
  while (i < length) {
    let word = Math.imul(s1, 5);
    word = Math.imul((word << 7) | (word >>> 25), 9) >>> 0;
    const t = s1 << 9;
    s2 ^= s0;
    s3 ^= s1;
    s1 ^= s2;
    s0 ^= s3;
    s2 ^= t;
    s3 = (s3 << 11) | (s3 >>> 21);
    if (word >= reject) continue;
    let rest = word - Math.floor(word * inverse) * n;
    if (rest < 0) rest += n;
    else if (rest >= n) rest -= n;
    into[i++] = rest;
  }
  state[0] = s0, state[1] = s1, state[2] = s2, state[3] = s3;
  return into;
}

function fillNormal(state: State, spare: Float64Array, into: Float64Array): Float64Array {
  let i = 0;
  if (spare[0] === spare[0] && into.length > 0) {
    into[i++] = spare[0];
    spare[0] = NaN;
  }
  let [s0, s1, s2, s3] = state;
  while (i < into.length) {
    // Two uniform numbers, four words: `uniform()` twice.
    let word = Math.imul(s1, 5);
    word = Math.imul((word << 7) | (word >>> 25), 9);
    let t = s1 << 9;
    s2 ^= s0;
    s3 ^= s1;
    s1 ^= s2;
    s0 ^= s3;
    s2 ^= t;
    s3 = (s3 << 11) | (s3 >>> 21);
    let low = Math.imul(s1, 5);
    low = Math.imul((low << 7) | (low >>> 25), 9);
    t = s1 << 9;
    s2 ^= s0;
    s3 ^= s1;
    s1 ^= s2;
    s0 ^= s3;
    s2 ^= t;
    s3 = (s3 << 11) | (s3 >>> 21);
    const x = 2 * (((word >>> 5) * 67108864 + (low >>> 6)) * TWO_TO_MINUS_53) - 1;
    word = Math.imul(s1, 5);
    word = Math.imul((word << 7) | (word >>> 25), 9);
    t = s1 << 9;
    s2 ^= s0;
    s3 ^= s1;
    s1 ^= s2;
    s0 ^= s3;
    s2 ^= t;
    s3 = (s3 << 11) | (s3 >>> 21);
    low = Math.imul(s1, 5);
    low = Math.imul((low << 7) | (low >>> 25), 9);
    t = s1 << 9;
    s2 ^= s0;
    s3 ^= s1;
    s1 ^= s2;
    s0 ^= s3;
    s2 ^= t;
    s3 = (s3 << 11) | (s3 >>> 21);
    const y = 2 * (((word >>> 5) * 67108864 + (low >>> 6)) * TWO_TO_MINUS_53) - 1;
    const square = x * x + y * y;
    if (square >= 1 || square === 0) continue;
    const scale = Math.sqrt(-2 * Math.log(square) / square);
    into[i++] = x * scale;
    if (i < into.length) into[i++] = y * scale;
    else spare[0] = y * scale;
  }
  state[0] = s0, state[1] = s1, state[2] = s2, state[3] = s3;
  return into;
}

/** Four state words from any list of whole numbers; every bit of every one of them counts. */
function initialState(parts: readonly number[]): State {
  let hash = 0;
  for (const part of parts) {
    hash = mix(hash ^ (part >>> 0));
    hash = mix(hash ^ Math.floor(part / 4294967296));
  }
  const second = mix(hash ^ Math.imul(parts.length, 0x85ebca6b));
  const words: number[] = [0, 1, 2, 3].map((i) =>
    mix(mix(hash + Math.imul(i, 0x3c6ef372)) ^ second)
  );
  for (const part of parts) {
    // A second pass with the words as keys widens the state beyond the 32 bits of one hash.
    for (let i = 0; i < 4; i++) {
      words[i] = mix(words[i] + mix((part >>> 0) ^ Math.imul(i + 1, 0x9e3779b1)));
      words[i] = mix(words[i] ^ Math.floor(part / 4294967296));
    }
  }
  // All zeros is the one state the generator cannot leave.
  if (!words.some((word) => word !== 0)) words[0] = 1;
  return Int32Array.from(words);
}

/** One step of splitmix32: add the golden ratio, then scramble. */
function mix(state: number): number {
  let z = (state + 0x9e3779b9) | 0;
  z = Math.imul(z ^ (z >>> 16), 0x21f0aaad);
  z = Math.imul(z ^ (z >>> 15), 0x735a2d97);
  return z ^ (z >>> 15);
}

function checkCount(n: number): void {
  if (!Number.isInteger(n) || n < 1 || n > 4294967296) {
    throw new RangeError(`integer(n) needs a whole number of at least 1, was given ${n}`);
  }
}
