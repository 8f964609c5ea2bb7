import { crc32 } from "node:zlib";
import { unzipSync } from "fflate";

/** The files inside an .xlsx file that matter here, by path. */
export type XlsxFiles = Readonly<Record<string, Uint8Array>>;

/** More than any sheet that a person can look through; a small file can be made to swell without end. */
const MOST_BYTES = 200_000_000;

/**
 * What files does an .xlsx file hold?
 *
 * Each is held to the checksum that was stored with it: a damaged file can else unpack to other
 * figures without a word.
 *
 * @throws {Error} saying what is wrong, when the file is damaged or far too large
 * @see APPNOTE.TXT 6.3.10, the .ZIP file format: 4.3.12 central directory, 4.3.16 its end; from memory
 */
export function importUnzip(bytes: Uint8Array): XlsxFiles {
  const checksums = readDirectory(bytes);
  let total = 0;
  const files = unzipSync(bytes, {
    filter: ({ name, originalSize }) => {
      if (!/\.(xml|rels)$/.test(name)) return false;
      total += originalSize;
      if (total > MOST_BYTES) throw new Error("unpacked it is larger than 200 MB");
      return true;
    },
  });
  for (const [name, content] of Object.entries(files)) {
    if (crc32(content) !== checksums.get(name)) throw new Error(`${name} in it is damaged`);
  }
  return files;
}

const END_OF_DIRECTORY = 0x06054b50;
const DIRECTORY_ENTRY = 0x02014b50;

/** The checksum of each file, as the directory at the end of the archive says it. */
function readDirectory(bytes: Uint8Array): ReadonlyMap<string, number> {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const cut = () => new Error("it is cut off");
  let end = bytes.length - 22;
  while (end >= 0 && view.getUint32(end, true) !== END_OF_DIRECTORY) end--;
  if (end < 0) throw cut();
  const checksums = new Map<string, number>();
  let at = view.getUint32(end + 16, true);
  for (let left = view.getUint16(end + 10, true); left > 0; left--) {
    if (at + 46 > bytes.length || view.getUint32(at, true) !== DIRECTORY_ENTRY) throw cut();
    const [name, extra, comment] = [28, 30, 32].map((offset) => view.getUint16(at + offset, true));
    const text = new TextDecoder().decode(bytes.subarray(at + 46, at + 46 + name));
    if (checksums.has(text)) throw new Error(`${text} is in it twice`);
    checksums.set(text, view.getUint32(at + 16, true));
    at += 46 + name + extra + comment;
  }
  return checksums;
}
