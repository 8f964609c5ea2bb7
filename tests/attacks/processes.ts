import { isRunning } from "../notebook/with_kernel.ts";

/** The processes below one, by what the system says of parents; itself first. */
export function familyOf(pid: number): readonly number[] {
  const children = new Map<number, number[]>();
  for (const { name } of Deno.readDirSync("/proc")) {
    if (!/^\d+$/.test(name)) continue;
    try {
      const stat = Deno.readTextFileSync(`/proc/${name}/stat`);
      const parent = Number(stat.slice(stat.lastIndexOf(")") + 2).split(" ")[1]);
      children.set(parent, [...children.get(parent) ?? [], Number(name)]);
    } catch { /* has ended meanwhile */ }
  }
  const family = [pid];
  for (let i = 0; i < family.length; i++) family.push(...children.get(family[i]) ?? []);
  return family;
}

/** Waits until a process has so many others below it; false when the time is up. */
export async function hasGrown(pid: number, members: number, limitMs = 20_000): Promise<boolean> {
  for (let waited = 0; waited < limitMs; waited += 50) {
    if (familyOf(pid).length >= members) return true;
    await new Promise((resolve) => setTimeout(resolve, 50));
  }
  return false;
}

/** Which of these processes are still there two seconds from now at the latest? */
export async function survivors(
  pids: readonly number[],
  limitMs = 2_000,
): Promise<readonly number[]> {
  for (let waited = 0; waited < limitMs; waited += 50) {
    if (!pids.some(isRunning)) return [];
    await new Promise((resolve) => setTimeout(resolve, 50));
  }
  return pids.filter(isRunning);
}

/** The processes whose call or environment names a folder; those that have ended don't count. */
export function processesNaming(folder: string): readonly number[] {
  return [...Deno.readDirSync("/proc")].filter(({ name }) => /^\d+$/.test(name)).map(({ name }) =>
    Number(name)
  ).filter((pid) => {
    try {
      return ["cmdline", "environ"].some((file) =>
        Deno.readTextFileSync(`/proc/${pid}/${file}`).includes(folder)
      ) && isRunning(pid);
    } catch {
      return false; // has ended meanwhile, or is another user's
    }
  });
}
