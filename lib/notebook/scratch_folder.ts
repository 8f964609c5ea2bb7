import { join } from "node:path";

/** Held as long as the run lives: the system lets go of it however the run ends. */
const LOCK = "lock";

/** What scratch folders are called in the system's temporary folder. */
export const scratchPrefix = "bench-to-court-";
/** Between a folder and its lock lies a moment. */
const LOCK_COMES_MS = 5_000;
/** Between a lock and its being held lies another. */
const LOCK_IS_HELD_MS = 250;
const NAME = /^bench-to-court-[0-9a-f-]{8,}$/;

/** In the scratch folder of a task: the process id of a program that it has opened. */
export const programFile = "program.pid";

/** A folder of short-lived files, and how to take it away. */
export type ScratchFolder = { readonly path: string; remove(): void };

/** Makes a scratch folder that only this user may look into, and marks it as in use. */
export function makeScratch(path: string): ScratchFolder {
  Deno.mkdirSync(path, { recursive: true, mode: 0o700 });
  const lock = Deno.openSync(join(path, LOCK), { create: true, write: true });
  lock.lockSync(true);
  return {
    path,
    remove: () => {
      removeScratch(path);
      try {
        lock.close();
      } catch { /* closed before */ }
    },
  };
}

/** Takes a scratch folder away; one that can't be removed is left to the system's own sweeping. */
export function removeScratch(path: string): void {
  // While a process ends, a write that it had begun may still put a file where all were removed.
  for (let attempt = 0; attempt < 20; attempt++) {
    try {
      Deno.removeSync(path, { recursive: true });
      return;
    } catch (error) {
      if (error instanceof Deno.errors.NotFound || error instanceof Deno.errors.NotCapable) return;
    }
  }
}

/** Scratch folders in `dir` whose runs were killed: nobody holds their lock any more. */
export function deadScratch(dir: string): readonly string[] {
  try {
    return [...Deno.readDirSync(dir)].filter(({ name, isDirectory }) =>
      isDirectory && NAME.test(name)
    )
      .map(({ name }) => join(dir, name)).filter(isDead);
  } catch {
    return []; // a folder that can't be read hides them; they harm nobody
  }
}

function isDead(path: string): boolean {
  try {
    using lock = Deno.openSync(join(path, LOCK), { read: true });
    const { mtime } = lock.statSync();
    // A run that begins right now has made its lock and is about to hold it.
    if (mtime !== null && Date.now() - mtime.getTime() < LOCK_IS_HELD_MS) return false;
    return lock.tryLockSync(true);
  } catch (error) {
    if (!(error instanceof Deno.errors.NotFound)) return false;
    const { mtime } = Deno.statSync(path);
    return mtime !== null && Date.now() - mtime.getTime() > LOCK_COMES_MS;
  }
}

// The front of a task may write nothing itself: it has this do it for a task that was killed.
if (import.meta.main) removeScratch(Deno.args[0]);
