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
  let [a, b, c, d] = initialState([seed, ...substream]);
  let spare = NaN;

  // xoshiro128**: the fill functions repeat these lines with the state in locals, which is what
  // makes a block several times as fast as calls through the closure.
  function next(): number {
    let word = Math.imul(b, 5);
    word = Math.imul((word << 7) | (word >>> 25), 9);
    const t = b << 9;
    c ^= a;
    d ^= b;
    b ^= c;
    a ^= d;
    c ^= t;
    d = (d << 11) | (d >>> 21);
    return word >>> 0;
  }

  function uniform(): number {
    const high = next() >>> 5;
    return (high * 67108864 + (next() >>> 6)) * TWO_TO_MINUS_53;
  }

  function integer(n: number): number {
    checkCount(n);
    // The few top words that would favour small results are thrown away.
    const reject = 4294967296 - (4294967296 % n);
    let word = next();
    while (word >= reject) word = next();
    return word % n;
  }

  function normal(): number {
    if (spare === spare) {
      const kept = spare;
      spare = NaN;
      return kept;
    }
    // Marsaglia's polar method.
    while (true) {
      const x = 2 * uniform() - 1;
      const y = 2 * uniform() - 1;
      const square = x * x + y * y;
      if (square >= 1 || square === 0) continue;
      const scale = Math.sqrt(-2 * Math.log(square) / square);
      spare = y * scale;
      return x * scale;
    }
  }

  function fillUniform(into: Float64Array): Float64Array {
    let s0 = a, s1 = b, s2 = c, s3 = d;
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
    a = s0, b = s1, c = s2, d = s3;
    return into;
  }

  function fillIntegers<T extends Int32Array | Uint32Array | Uint16Array>(into: T, n: number): T {
    checkCount(n);
    const reject = 4294967296 - (4294967296 % n);
    // A remainder by multiplying is twice as fast as by dividing; the quotient may be one off.
    const inverse = 1 / n;
    const length = into.length;
    let s0 = a, s1 = b, s2 = c, s3 = d;
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
    a = s0, b = s1, c = s2, d = s3;
    return into;
  }

  function fillNormal(into: Float64Array): Float64Array {
    let i = 0;
    if (spare === spare && into.length > 0) {
      into[i++] = spare;
      spare = NaN;
    }
    let s0 = a, s1 = b, s2 = c, s3 = d;
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
      else spare = y * scale;
    }
    a = s0, b = s1, c = s2, d = s3;
    return into;
  }

  function shuffle<T extends { [index: number]: unknown; readonly length: number }>(list: T): T {
    for (let i = list.length - 1; i > 0; i--) {
      const j = integer(i + 1);
      const kept = list[i];
      list[i] = list[j];
      list[j] = kept;
    }
    return list;
  }

  return {
    uniform,
    integer,
    normal,
    fillUniform,
    fillIntegers,
    fillNormal,
    shuffle,
    substream: (index) => randomStream(seed, ...substream, index),
  };
}

/** Four state words from any list of whole numbers; every bit of every one of them counts. */
function initialState(parts: readonly number[]): [number, number, number, number] {
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
  return words as [number, number, number, number];
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
