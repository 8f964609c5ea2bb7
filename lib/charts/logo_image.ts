import { CantAnswer } from "../records/cant_answer.ts";
import type { LogoFile } from "../records/read_logo.ts";
import { rasterized } from "./chart_png.ts";
import type { Sender } from "./picture_foot.ts";

/** A logo has this many pixels a side at most: a small file can unpack into a huge one. */
const MOST_PIXELS = 4096;
/** Height that a logo is kept at: more than any picture shows. */
const HEIGHT = 200;

/**
 * What of a logo may stand in a picture?
 *
 * The image is drawn anew with the kit's own renderer, which runs no script and fetches nothing, and kept as a PNG:
 * whatever else the file held stays behind.
 *
 * @throws {CantAnswer} if it can't be drawn, is larger than 4096 pixels a side, or comes out empty
 */
export async function logoImage(
  { file, kind, bytes }: LogoFile,
): Promise<NonNullable<Sender["logo"]>> {
  const refuse = (found: string, fix: string) =>
    new CantAnswer({ code: "logo-unfit", file }, `bench.json, look.logo: ${file} ${found}. ${fix}`);
  let svg: string;
  if (kind === "svg") {
    svg = new TextDecoder().decode(bytes);
    if (/<!(?:DOCTYPE|ENTITY)/i.test(svg)) {
      throw refuse("declares a document type or entities", "Save it as plain SVG or as PNG.");
    }
  } else {
    const size = kind === "png" ? pngSize(bytes) : jpegSize(bytes);
    if (size === null) throw refuse("can't be read as an image", "Save it again, as PNG.");
    const { width, height } = size;
    if (Math.max(width, height) > MOST_PIXELS) {
      throw refuse(
        `is ${width} by ${height} pixels`,
        `Save it at ${MOST_PIXELS} pixels a side or fewer.`,
      );
    }
    svg =
      `<svg xmlns="http://www.w3.org/2000/svg" width="${width}" height="${height}"><image href="data:image/${kind};base64,${bytes.toBase64()}" width="${width}" height="${height}"/></svg>`;
  }
  const drawn = await rasterized(svg, HEIGHT).catch(() => null);
  if (drawn === null) throw refuse("can't be drawn", "Save it again, as PNG.");
  if (drawn.isEmpty) {
    throw refuse("shows nothing when it is drawn", "Save it again, as PNG, with text as paths.");
  }
  return {
    url: `data:image/png;base64,${drawn.png.toBase64()}`,
    width: drawn.width,
    height: drawn.height,
  };
}

type Size = { readonly width: number; readonly height: number };

/** From the header chunk (ISO/IEC 15948, 11.2.2). */
function pngSize(bytes: Uint8Array): Size | null {
  if (bytes.length < 24) return null;
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  return { width: view.getUint32(16), height: view.getUint32(20) };
}

/** From the frame header (ISO/IEC 10918-1, B.2.2), behind the segments that come before it. */
function jpegSize(bytes: Uint8Array): Size | null {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  let at = 2;
  while (at + 9 < bytes.length && bytes[at] === 0xff) {
    const marker = bytes[at + 1];
    const isFrame = marker >= 0xc0 && marker <= 0xcf && ![0xc4, 0xc8, 0xcc].includes(marker);
    if (isFrame) return { height: view.getUint16(at + 5), width: view.getUint16(at + 7) };
    at += 2 + view.getUint16(at + 2);
  }
  return null;
}
