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
  await using file = await waitingFile(path, content);
  await file.place();
}

/** A file under a waiting name, whole on the disk; taken away unless it is given its place. */
type WaitingFile = AsyncDisposable & { place(): Promise<void> };

async function waitingFile(path: string, content: string | Uint8Array): Promise<WaitingFile> {
  const waiting = join(dirname(path), `.${basename(path)}-${crypto.randomUUID()}`);
  const atExit = () => {
    try {
      Deno.removeSync(waiting);
    } catch { /* has its place already */ }
  };
  globalThis.addEventListener("unload", atExit);
  let file: Deno.FsFile | null = null;
  const end = async () => {
    globalThis.removeEventListener("unload", atExit);
    file?.close();
    await Deno.remove(waiting).catch(() => {});
  };
  try {
    const bytes = typeof content === "string" ? new TextEncoder().encode(content) : content;
    file = await Deno.open(waiting, { write: true, createNew: true });
    // The system lets go of it when this process ends, however it ends: so a leftover can be told.
    await file.lock(true).catch(() => {}); // not every file system has locks
    for (let at = 0; at < bytes.length;) at += await file.write(bytes.subarray(at));
    // Else a power cut after the rename could leave the new name on a file without its content.
    await file.sync();
  } catch (error) {
    await end();
    throw error;
  }
  return { place: () => Deno.rename(waiting, path), [Symbol.asyncDispose]: end };
}

/**
 * Puts every file of one folder into another, as one result: all of them or none.
 *
 * Nothing changes before all of them lie whole on the disk beside their places. Then the JSON, which says
 * what the others show, is taken away first and put back last, so that a run killed in between leaves no
 * picture and no page beside another run's figures.
 *
 * @param stale files of an earlier result under the same name, which go with it
 * @returns what was placed, by its path in `to`
 * @throws whatever the system says when `to` can't be written; the earlier result is whole then
 */
export async function placeTogether(
  from: string,
  to: string,
  { stale = () => false }: { readonly stale?: (file: string) => boolean } = {},
): Promise<readonly string[]> {
  const files = await filesIn(from);
  await using waiting = new AsyncDisposableStack();
  const ready: { readonly file: string; readonly waits: WaitingFile }[] = [];
  for (const file of files) {
    await Deno.mkdir(dirname(join(to, file)), { recursive: true });
    const bytes = await Deno.readFile(join(from, file));
    ready.push({ file, waits: waiting.use(await waitingFile(join(to, file), bytes)) });
  }
  const isJson = (file: string) => file.endsWith(".json");
  const old = (await filesIn(to)).filter((file) => !files.includes(file) && stale(file));
  for (const file of [...files.filter(isJson), ...old]) await removed(join(to, file));
  for (const { file, waits } of ready) if (!isJson(file)) await waits.place();
  for (const { file, waits } of ready) if (isJson(file)) await waits.place();
  return files;
}

/** The files of a folder and of those directly in it, in their order. */
async function filesIn(dir: string): Promise<readonly string[]> {
  const files: string[] = [];
  for (const { name, isDirectory } of await Array.fromAsync(Deno.readDir(dir))) {
    if (!isDirectory) files.push(name);
    else {
      for await (const inner of Deno.readDir(join(dir, name))) {
        if (!inner.isDirectory) files.push(join(name, inner.name));
      }
    }
  }
  return files.sort();
}

async function removed(path: string): Promise<void> {
  await Deno.remove(path).catch((error) => {
    if (!(error instanceof Deno.errors.NotFound)) throw error; // somebody else took it away
  });
}

const LEFTOVER = /^\..+-[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$/;
/** Between a waiting file and its lock lies a moment. */
const YOUNG_MS = 2_000;

/**
 * Takes away what killed runs left in a folder: waiting files that no process holds any more.
 *
 * A folder that can't be read is left alone.
 */
export async function removeLeftovers(
  dir: string,
  { now = Date.now() }: { readonly now?: number } = {},
): Promise<void> {
  try {
    for await (const { name, isFile } of Deno.readDir(dir)) {
      if (!isFile || !LEFTOVER.test(name)) continue;
      using file = await Deno.open(join(dir, name), { read: true });
      const { mtime } = await file.stat();
      const isYoung = mtime !== null && now - mtime.getTime() < YOUNG_MS;
      if (!isYoung && await file.tryLock(true)) await Deno.remove(join(dir, name));
    }
  } catch {
    return; // they harm nobody
  }
}
