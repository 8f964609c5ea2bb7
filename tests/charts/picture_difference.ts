import assert from "node:assert/strict";
import { inflateSync } from "node:zlib";

/** Pixels of a picture, four bytes each (red, green, blue, opacity), row by row. */
export type Pixels = { readonly width: number; readonly height: number; readonly data: Uint8Array };

/** A channel may differ by so much, of 255, before its pixel counts as another: edges are smoothed. */
const ALIKE = 40;

/**
 * Which part of a picture's pixels is another than in the second one? 1 where the sizes differ.
 *
 * @param from, to PNG files of 8 bits a channel with opacity, not interlaced
 */
export function pictureDifference(from: Uint8Array, to: Uint8Array): number {
  const [a, b] = [pixelsOf(from), pixelsOf(to)];
  if (a.width !== b.width || a.height !== b.height) return 1;
  let other = 0;
  for (let at = 0; at < a.data.length; at += 4) {
    for (let channel = 0; channel < 4; channel++) {
      if (Math.abs(a.data[at + channel] - b.data[at + channel]) > ALIKE) {
        other++;
        break;
      }
    }
  }
  return other / (a.width * a.height);
}

/** Reads a PNG as the kit writes it (ISO/IEC 15948: chunks, then one filter a row). */
export function pixelsOf(png: Uint8Array): Pixels {
  const view = new DataView(png.buffer, png.byteOffset, png.byteLength);
  const parts: Uint8Array[] = [];
  let [width, height] = [0, 0];
  for (let at = 8; at < png.length;) {
    const length = view.getUint32(at);
    const kind = String.fromCharCode(...png.subarray(at + 4, at + 8));
    if (kind === "IHDR") {
      [width, height] = [view.getUint32(at + 8), view.getUint32(at + 12)];
      assert.deepEqual([...png.subarray(at + 16, at + 21)], [8, 6, 0, 0, 0], "another kind of PNG");
    } else if (kind === "IDAT") parts.push(png.subarray(at + 8, at + 8 + length));
    at += length + 12;
  }
  const packed = new Uint8Array(parts.reduce((sum, part) => sum + part.length, 0));
  let filled = 0;
  for (const part of parts) {
    packed.set(part, filled);
    filled += part.length;
  }
  const rows = inflateSync(packed);
  const row = width * 4;
  const data = new Uint8Array(row * height);
  for (let y = 0; y < height; y++) {
    const filter = rows[y * (row + 1)];
    for (let x = 0; x < row; x++) {
      const left = x < 4 ? 0 : data[y * row + x - 4];
      const up = y === 0 ? 0 : data[(y - 1) * row + x];
      const corner = x < 4 || y === 0 ? 0 : data[(y - 1) * row + x - 4];
      const guess = [0, left, up, (left + up) >> 1, nearest(left, up, corner)][filter];
      data[y * row + x] = rows[y * (row + 1) + 1 + x] + guess;
    }
  }
  return { width, height, data };
}

/** Paeth's predictor, filter 4 of a PNG. */
function nearest(left: number, up: number, corner: number): number {
  const estimate = left + up - corner;
  const [a, b, c] = [left, up, corner].map((value) => Math.abs(estimate - value));
  return a <= b && a <= c ? left : b <= c ? up : corner;
}
