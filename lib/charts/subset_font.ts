/**
 * What of this font is needed to set this text?
 *
 * Keeps the outlines, widths and character codes of the glyphs used, with the parts of composed ones, and drops
 * hinting, kerning and everything else. The same font and characters give the same bytes.
 *
 * @param font a TrueType font with a `glyf` table and a character map of format 4
 * @param text the characters to keep; those the font lacks are left out
 * @returns a TrueType font of a few thousand bytes
 * @throws {TypeError} if the bytes are no such font
 * @see OpenType specification 1.9: tables cmap, glyf, head, hhea, hmtx, loca, maxp, name, OS/2, post
 */
export function subsetFont(font: Uint8Array, text: string): Uint8Array {
  const view = new DataView(font.buffer, font.byteOffset, font.byteLength);
  const table = readDirectory(font, view);
  const glyphOf = readCharacterMap(table("cmap"));
  const glyphData = readGlyphs(table);

  const codes = [...new Set([...text].map((character) => character.codePointAt(0)!))]
    .filter((code) => glyphOf(code) !== 0)
    .sort((a, b) => a - b);
  const kept = [0, ...new Set(codes.map(glyphOf))];
  for (const glyph of kept) {
    // The list grows while it is read: parts may have parts.
    for (const { part } of partsOf(glyphData(glyph))) if (!kept.includes(part)) kept.push(part);
  }
  const newId = new Map(kept.map((glyph, index) => [glyph, index]));

  const outlines = kept.map((glyph) => renumber(stripHints(glyphData(glyph)), newId));
  const padded = outlines.map((outline) => pad(outline, 4));
  const offsets = [0];
  for (const outline of padded) offsets.push(offsets.at(-1)! + outline.length);

  const head = copy(table("head"));
  setUint32(head, 8, 0);
  setUint16(head, 50, 1);
  const hhea = copy(table("hhea"));
  const widthsGiven = view16(hhea, 34);
  setUint16(hhea, 34, kept.length);
  const hmtx = table("hmtx");
  const widths = kept.flatMap((glyph) => {
    const width = view16(hmtx, 4 * Math.min(glyph, widthsGiven - 1));
    const bearing = glyph < widthsGiven
      ? view16(hmtx, 4 * glyph + 2)
      : view16(hmtx, 4 * widthsGiven + 2 * (glyph - widthsGiven));
    return [width, bearing];
  });
  const maxp = copy(table("maxp"));
  setUint16(maxp, 4, kept.length);
  const post = new Uint8Array(32);
  post.set(table("post").slice(0, 32));
  setUint32(post, 0, 0x00030000);

  return assemble([
    ["OS/2", copy(table("OS/2"))],
    ["cmap", characterMap(codes.map((code) => [code, newId.get(glyphOf(code))!]))],
    ["glyf", join(padded)],
    ["head", head],
    ["hhea", hhea],
    ["hmtx", numbers(widths, 2)],
    ["loca", numbers(offsets, 4)],
    ["maxp", maxp],
    ["name", shortNames(table("name"))],
    ["post", post],
  ]);
}

function readDirectory(font: Uint8Array, view: DataView): (tag: string) => Uint8Array {
  const places = new Map<string, Uint8Array>();
  const count = font.length < 12 ? 0 : view.getUint16(4);
  for (let index = 0; index < count; index++) {
    const at = 12 + 16 * index;
    const tag = String.fromCharCode(...font.subarray(at, at + 4));
    const start = view.getUint32(at + 8);
    places.set(tag, font.subarray(start, start + view.getUint32(at + 12)));
  }
  return (tag) => {
    const found = places.get(tag);
    if (found === undefined) throw new TypeError(`Not a TrueType font: it has no table "${tag}"`);
    return found;
  };
}

function readCharacterMap(cmap: Uint8Array): (code: number) => number {
  let map: number | undefined;
  for (let index = 0; index < view16(cmap, 2); index++) {
    const at = view32(cmap, 8 + 8 * index);
    if (view16(cmap, at) === 4) map = at;
  }
  if (map === undefined) throw new TypeError("The font has no character map of format 4");
  const start = map;
  const segments = view16(cmap, start + 6) / 2;
  const column = (number: number, segment: number) =>
    start + 14 + 2 * segments * number + (number > 0 ? 2 : 0) + 2 * segment;
  return (code) => {
    for (let segment = 0; segment < segments; segment++) {
      if (code > view16(cmap, column(0, segment))) continue;
      const first = view16(cmap, column(1, segment));
      if (code < first) return 0;
      const delta = view16(cmap, column(2, segment));
      const rangeAt = column(3, segment);
      const range = view16(cmap, rangeAt);
      if (range === 0) return (code + delta) & 0xffff;
      const glyph = view16(cmap, rangeAt + range + 2 * (code - first));
      return glyph === 0 ? 0 : (glyph + delta) & 0xffff;
    }
    return 0;
  };
}

function readGlyphs(table: (tag: string) => Uint8Array): (glyph: number) => Uint8Array {
  const [glyf, loca] = [table("glyf"), table("loca")];
  const long = view16(table("head"), 50) === 1;
  const offset = (index: number) => long ? view32(loca, 4 * index) : 2 * view16(loca, 2 * index);
  return (glyph) => glyf.subarray(offset(glyph), offset(glyph + 1));
}

/** The glyphs that a composed glyph is made of, and where their numbers stand. */
function partsOf(outline: Uint8Array): { readonly at: number; readonly part: number }[] {
  if (outline.length === 0 || view16(outline, 0) < 0x8000) return [];
  const parts = [];
  let at = 10;
  for (;;) {
    const flags = view16(outline, at);
    parts.push({ at: at + 2, part: view16(outline, at + 2) });
    at += 4 + (flags & 0x0001 ? 4 : 2) +
      (flags & 0x0008 ? 2 : flags & 0x0040 ? 4 : flags & 0x0080 ? 8 : 0);
    if (!(flags & 0x0020)) return parts;
  }
}

/** Hinting programs call tables that are dropped, so they go too. */
function stripHints(outline: Uint8Array): Uint8Array {
  if (outline.length === 0) return outline;
  const contours = view16(outline, 0);
  if (contours >= 0x8000) {
    const bare = copy(outline);
    const parts = partsOf(outline);
    for (const { at } of parts) setUint16(bare, at - 2, view16(bare, at - 2) & ~0x0100);
    return bare;
  }
  const lengthAt = 10 + 2 * contours;
  const length = view16(outline, lengthAt);
  return join([
    outline.subarray(0, lengthAt),
    new Uint8Array(2),
    outline.subarray(lengthAt + 2 + length),
  ]);
}

function renumber(outline: Uint8Array, newId: ReadonlyMap<number, number>): Uint8Array {
  const renumbered = copy(outline);
  for (const { at, part } of partsOf(outline)) setUint16(renumbered, at, newId.get(part)!);
  return renumbered;
}

/** Format 12, one group a character: simple, and a few hundred bytes. */
function characterMap(pairs: readonly (readonly [number, number])[]): Uint8Array {
  const header = numbers([0, 1, 3, 10], 2);
  const groups = pairs.flatMap(([code, glyph]) => [code, code, glyph]);
  return join([
    header,
    numbers([12], 4),
    numbers([12, 0], 2),
    numbers([16 + 12 * pairs.length, 0, pairs.length, ...groups], 4),
  ]);
}

/** Copyright, names and licence address stay: the licence asks for the first, renderers find a font by the others. */
function shortNames(name: Uint8Array): Uint8Array {
  const storage = view16(name, 4);
  const records: number[][] = [];
  const texts: Uint8Array[] = [];
  let offset = 0;
  for (let index = 0; index < view16(name, 2); index++) {
    const at = 6 + 12 * index;
    const [platform, encoding, language, id, length, start] = [0, 2, 4, 6, 8, 10].map((field) =>
      view16(name, at + field)
    );
    if (platform !== 3 || ![0, 1, 2, 4, 6, 14].includes(id)) continue;
    records.push([platform, encoding, language, id, length, offset]);
    texts.push(name.subarray(storage + start, storage + start + length));
    offset += length;
  }
  const header = [0, records.length, 6 + 12 * records.length];
  return join([numbers([...header, ...records.flat()], 2), ...texts]);
}

function assemble(tables: readonly (readonly [string, Uint8Array])[]): Uint8Array {
  const count = tables.length;
  const power = 2 ** Math.floor(Math.log2(count));
  const header = join([
    numbers([0x00010000], 4),
    numbers([count, power * 16, Math.log2(power), (count - power) * 16], 2),
  ]);
  let start = 12 + 16 * count;
  const entries: Uint8Array[] = [];
  const bodies: Uint8Array[] = [];
  let headAt = 0;
  for (const [tag, bytes] of tables) {
    if (tag === "head") headAt = start;
    const body = pad(bytes, 4);
    entries.push(
      Uint8Array.from(tag, (character) => character.charCodeAt(0)),
      numbers([checksum(body), start, bytes.length], 4),
    );
    bodies.push(body);
    start += body.length;
  }
  const font = join([header, ...entries, ...bodies]);
  setUint32(font, headAt + 8, (0xb1b0afba - checksum(font)) >>> 0);
  return font;
}

function checksum(bytes: Uint8Array): number {
  let total = 0;
  for (let at = 0; at < bytes.length; at += 4) total = (total + view32(bytes, at)) >>> 0;
  return total;
}

function view16(bytes: Uint8Array, at: number): number {
  return bytes[at] << 8 | bytes[at + 1];
}

function view32(bytes: Uint8Array, at: number): number {
  return view16(bytes, at) * 0x10000 + view16(bytes, at + 2);
}

function setUint16(bytes: Uint8Array, at: number, value: number): void {
  bytes.set([value >> 8 & 0xff, value & 0xff], at);
}

function setUint32(bytes: Uint8Array, at: number, value: number): void {
  setUint16(bytes, at, value >>> 16);
  setUint16(bytes, at + 2, value & 0xffff);
}

function numbers(values: readonly number[], size: 2 | 4): Uint8Array {
  const bytes = new Uint8Array(values.length * size);
  values.forEach((value, index) =>
    size === 2 ? setUint16(bytes, 2 * index, value) : setUint32(bytes, 4 * index, value)
  );
  return bytes;
}

function join(parts: readonly Uint8Array[]): Uint8Array {
  const bytes = new Uint8Array(parts.reduce((total, part) => total + part.length, 0));
  let at = 0;
  for (const part of parts) {
    bytes.set(part, at);
    at += part.length;
  }
  return bytes;
}

function pad(bytes: Uint8Array, to: number): Uint8Array {
  return bytes.length % to === 0 ? bytes : join([bytes, new Uint8Array(to - bytes.length % to)]);
}

function copy(bytes: Uint8Array): Uint8Array {
  return bytes.slice();
}
