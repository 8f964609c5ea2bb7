import { open } from "node:fs/promises";
import { join } from "node:path";
import { CantAnswer } from "./cant_answer.ts";
import type { Bench } from "./types.ts";

/** A logo larger than this is no logo. */
const MOST_BYTES = 1_000_000;

/** A logo as it lies in the bench folder. */
export type LogoFile = {
  readonly file: string;
  readonly kind: "png" | "jpeg" | "svg";
  readonly bytes: Uint8Array;
};

/**
 * Which logo do the bench's pictures carry?
 *
 * @returns null where `look` names none
 * @throws {CantAnswer} if the file is missing, larger than a megabyte, or not what its name says
 */
export async function readLogo(
  { dir, settings }: Pick<Bench, "dir" | "settings">,
): Promise<LogoFile | null> {
  const file = settings.look?.logo ?? null;
  if (file === null) return null;
  const refuse = (found: string, fix: string) =>
    new CantAnswer(
      { code: "logo-unfit", file },
      `bench.json, look.logo: ${file} ${found}. ${fix}`,
    );
  const bytes = await firstBytes(join(dir, file)).catch(() => null);
  if (bytes === null) {
    throw refuse("can't be read", "Put the file into the bench folder, or take logo out.");
  }
  if (bytes.length > MOST_BYTES) {
    throw refuse("is larger than 1 MB", "Save it smaller: 400 pixels high are enough.");
  }
  const kind = kindOf(bytes);
  if (kind === null) throw refuse("is no PNG, JPEG or SVG", "Save the image as one of these.");
  return { file, kind, bytes };
}

/** No more than tells that it is too large. */
async function firstBytes(path: string): Promise<Uint8Array> {
  const handle = await open(path);
  try {
    const buffer = new Uint8Array(MOST_BYTES + 1);
    let filled = 0;
    while (filled < buffer.length) {
      const { bytesRead } = await handle.read(buffer, filled, buffer.length - filled, filled);
      if (bytesRead === 0) break;
      filled += bytesRead;
    }
    return buffer.slice(0, filled);
  } finally {
    await handle.close();
  }
}

/** By its first bytes: PNG (ISO/IEC 15948), JPEG (ISO/IEC 10918-1), or text that opens an `svg` element. */
function kindOf(bytes: Uint8Array): LogoFile["kind"] | null {
  const starts = (...signature: number[]) => signature.every((byte, i) => bytes[i] === byte);
  if (starts(0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a)) return "png";
  if (starts(0xff, 0xd8, 0xff)) return "jpeg";
  const text = new TextDecoder().decode(bytes);
  return /^\s*(?:<\?xml[^>]*\?>\s*)?(?:<!--[\s\S]*?-->\s*)*<svg[\s>]/.test(text) ? "svg" : null;
}
