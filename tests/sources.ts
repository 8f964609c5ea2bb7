import { join } from "node:path";

/** The library, as a path. */
export const lib = new URL("../lib/", import.meta.url).pathname;

/** Every source file in a folder and in the folders within it. */
export async function sources(dir: string): Promise<string[]> {
  const files: string[] = [];
  for await (const entry of Deno.readDir(dir)) {
    const path = join(dir, entry.name);
    if (entry.isDirectory) files.push(...await sources(path));
    else if (entry.name.endsWith(".ts")) files.push(path);
  }
  return files;
}
