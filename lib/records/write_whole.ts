import { basename, dirname, join } from "node:path";

/**
 * Writes a file whole or not at all.
 *
 * The text goes to a file of its own in the same folder, which then takes the name in one step: a
 * reader sees the old file or the new one, and two runs at once leave one of the two, never a mixture.
 *
 * @throws whatever the system says when the folder can't be written; nothing is left behind then
 */
export async function writeWhole(path: string, content: string | Uint8Array): Promise<void> {
  const waiting = join(dirname(path), `.${basename(path)}-${crypto.randomUUID()}`);
  try {
    if (typeof content === "string") await Deno.writeTextFile(waiting, content);
    else await Deno.writeFile(waiting, content);
    await Deno.rename(waiting, path);
  } catch (error) {
    await Deno.remove(waiting).catch(() => {});
    throw error;
  }
}
