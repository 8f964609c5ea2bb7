/** Finds rows whose keys were seen before. */
type RowKeys = {
  /** Adds a row; gives back the number of an earlier row with the same key, or -1. */
  readonly add: (hash: number, row: number) => number;
};

/**
 * Which rows repeat a key?
 *
 * An open-addressing table of row numbers, eight bytes a row at most half full. A hash that was seen
 * before is only a hint: `same` then compares the two rows, so the answer is exact.
 *
 * @param same whether two rows, by number, have the same key
 */
export function rowKeys(same: (a: number, b: number) => boolean): RowKeys {
  let size = 1024;
  let slots = new Int32Array(size); // row number + 1; 0 is empty
  let hashes = new Int32Array(size);
  let used = 0;

  function grow() {
    const [oldSlots, oldHashes] = [slots, hashes];
    size *= 2;
    slots = new Int32Array(size);
    hashes = new Int32Array(size);
    for (let i = 0; i < oldSlots.length; i++) {
      if (oldSlots[i] === 0) continue;
      let at = oldHashes[i] & (size - 1);
      while (slots[at] !== 0) at = (at + 1) & (size - 1);
      slots[at] = oldSlots[i];
      hashes[at] = oldHashes[i];
    }
  }

  return {
    add(hash, row) {
      if (used * 2 >= size) grow();
      let at = hash & (size - 1);
      while (slots[at] !== 0) {
        if (hashes[at] === hash && same(slots[at] - 1, row)) return slots[at] - 1;
        at = (at + 1) & (size - 1);
      }
      slots[at] = row + 1;
      hashes[at] = hash;
      used++;
      return -1;
    },
  };
}

/**
 * Mixes one more whole number into a 32-bit hash.
 *
 * A step of MurmurHash3 (Austin Appleby 2011, public domain); start from 0 and end with `finishHash`.
 */
export function mixHash(hash: number, number: number): number {
  let k = Math.imul(number | 0, 0xcc9e2d51);
  k = (k << 15) | (k >>> 17);
  hash ^= Math.imul(k, 0x1b873593);
  hash = (hash << 13) | (hash >>> 19);
  return (Math.imul(hash, 5) + 0xe6546b64) | 0;
}

/** Spreads what was mixed over all bits, the low ones included. */
export function finishHash(hash: number): number {
  hash ^= hash >>> 16;
  hash = Math.imul(hash, 0x85ebca6b);
  hash ^= hash >>> 13;
  hash = Math.imul(hash, 0xc2b2ae35);
  return hash ^ (hash >>> 16);
}
