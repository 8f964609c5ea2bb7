import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { type Kernel, startKernel } from "../../lib/notebook/kernel.ts";

/** Folders as a run has them, beside one that it must not touch. */
export type Folders = {
  readonly kitDir: string;
  readonly dataDir: string;
  readonly outDir: string;
  readonly outsideDir: string;
};

/** This kit's own folder. */
export const kitDir = fileURLToPath(new URL("../..", import.meta.url)).replace(/\/$/, "");

/** Makes folders for one test and removes them after it. */
export async function withFolders(test: (folders: Folders) => Promise<void>): Promise<void> {
  const parent = Deno.realPathSync(await Deno.makeTempDir({ prefix: "kit-test-" }));
  const folders = {
    kitDir,
    dataDir: join(parent, "data"),
    outDir: join(parent, "out"),
    outsideDir: join(parent, "outside"),
  };
  try {
    for (const dir of [folders.dataDir, folders.outDir, folders.outsideDir]) Deno.mkdirSync(dir);
    Deno.writeTextFileSync(join(folders.dataDir, "shoes.csv"), "shoe_id\ns1\n");
    Deno.writeTextFileSync(join(folders.outsideDir, "secret.json"), '{"secret":true}');
    await test(folders);
  } finally {
    await Deno.remove(parent, { recursive: true });
  }
}

/** Starts a real kernel for one test and ends it after it. */
export async function withKernel(
  test: (kernel: Kernel, folders: Folders) => Promise<void>,
): Promise<void> {
  await withFolders(async (folders) => {
    const kernel = await startKernel({
      kitDir,
      readable: [folders.dataDir],
      writable: [folders.outDir],
    });
    try {
      await test(kernel, folders);
    } finally {
      await kernel.close();
    }
  });
}

/** Whether a process with this number still runs. */
export function isRunning(pid: number): boolean {
  try {
    Deno.kill(pid, "SIGCONT");
  } catch {
    return false;
  }
  try {
    // An ended process that nobody has taken note of yet still has its number.
    return !/^State:\s*[ZX]/m.test(Deno.readTextFileSync(`/proc/${pid}/status`));
  } catch {
    return true;
  }
}
