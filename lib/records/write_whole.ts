import { basename, dirname, join } from "node:path";

/**
 * Writes a file whole or not at all.
 *
 * The text goes to a file of its own in the same folder, which then takes the name in one step: a
 * reader sees the old file or the new one, and two runs at once leave one of the two, never a mixture.
 * A run that is killed may leave its waiting file; `removeLeftovers` takes it away later.
 *
 * @throws whatever the system says when the folder can't be written; nothing is left behind then
 */
export async function writeWhole(path: string, content: string | Uint8Array): Promise<void> {
  const waiting = join(dirname(path), `.${basename(path)}-${crypto.randomUUID()}`);
  try {
    const bytes = typeof content === "string" ? new TextEncoder().encode(content) : content;
    using file = await Deno.open(waiting, { write: true, createNew: true });
    for (let at = 0; at < bytes.length;) at += await file.write(bytes.subarray(at));
    // Else a power cut after the rename could leave the new name on a file without its content.
    await file.sync();
    await Deno.rename(waiting, path);
  } catch (error) {
    await Deno.remove(waiting).catch(() => {});
    throw error;
  }
}

const LEFTOVER = /^\..+-[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$/;

/**
 * Takes away what killed runs left in a folder: waiting files that nobody has touched for an hour.
 *
 * Younger ones may belong to a run that is still writing. A folder that can't be read is left alone.
 */
export async function removeLeftovers(
  dir: string,
  { now = Date.now() }: { readonly now?: number } = {},
): Promise<void> {
  try {
    for await (const { name, isFile } of Deno.readDir(dir)) {
      if (!isFile || !LEFTOVER.test(name)) continue;
      const { mtime } = await Deno.stat(join(dir, name));
      const isOld = mtime !== null && now - mtime.getTime() > 3_600_000;
      if (isOld) await Deno.remove(join(dir, name));
    }
  } catch {
    return; // they harm nobody
  }
}
