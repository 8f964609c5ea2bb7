import { join } from "node:path";

/**
 * Keeps other runs of the kit from writing into a folder until this one is done.
 *
 * The system lets go of the lock when its process ends, however it ends, so that a lock file that was
 * left behind blocks nobody.
 *
 * @param name of the lock file, which is taken away again at the end
 * @param onWait called once, when another run holds the folder
 */
export async function folderLock(
  dir: string,
  name: string,
  { onWait = () => {} }: { readonly onWait?: () => void } = {},
): Promise<AsyncDisposable> {
  const path = join(dir, name);
  let told = false;
  while (true) {
    await removeLink(path);
    const file = await Deno.open(path, { create: true, write: true });
    if (!(await file.tryLock(true))) {
      if (!told) onWait();
      told = true;
      await file.lock(true);
    }
    if (await isStillThere(path, file)) {
      const atExit = () => {
        try {
          Deno.removeSync(path);
        } catch { /* gone already */ }
      };
      globalThis.addEventListener("unload", atExit);
      return {
        async [Symbol.asyncDispose]() {
          globalThis.removeEventListener("unload", atExit);
          // Taken away while it is still held: whoever waits for it sees that it is gone, and asks anew.
          await Deno.remove(path).catch(() => {});
          file.close();
        },
      };
    }
    file.close();
  }
}

/** A lock file that is a link would be made somewhere else. */
async function removeLink(path: string): Promise<void> {
  try {
    if ((await Deno.lstat(path)).isSymlink) await Deno.remove(path);
  } catch (error) {
    if (!(error instanceof Deno.errors.NotFound)) throw error;
  }
}

/** The run that held the lock before takes its file away: a lock on that one keeps nobody out. */
async function isStillThere(path: string, file: Deno.FsFile): Promise<boolean> {
  const held = await file.stat();
  try {
    const there = await Deno.stat(path);
    return there.ino === held.ino && there.dev === held.dev;
  } catch (error) {
    if (error instanceof Deno.errors.NotFound) return false;
    throw error;
  }
}
