import { fileURLToPath } from "node:url";

/** The kit's folder. */
export const kit = fileURLToPath(new URL("../..", import.meta.url)).replace(/\/$/, "");

/** One step of a task and how long it took. */
export type Step = { readonly step: string; readonly seconds: number };

/** Collects the seconds of one step after another. */
export function stepTimes() {
  const steps: Step[] = [];
  const time = async <T>(step: string, work: () => T | Promise<T>): Promise<T> => {
    const start = performance.now();
    const result = await work();
    steps.push({ step, seconds: (performance.now() - start) / 1000 });
    return result;
  };
  return { steps, time };
}

/** Runs Deno in the kit's folder and waits for it. */
export async function runDeno(...args: string[]): Promise<void> {
  const { success, stderr } = await new Deno.Command(Deno.execPath(), {
    args,
    cwd: kit,
    // Relative paths of a task are the caller's; here they are the kit's.
    env: { INIT_CWD: kit },
    stdout: "null",
    stderr: "piped",
  }).output();
  if (!success) throw new Error(new TextDecoder().decode(stderr));
}

/** One line a step. */
export function printSteps(steps: readonly Step[]): void {
  for (const { step, seconds } of steps) {
    console.log(`${seconds.toFixed(2).padStart(6)} s  ${step}`);
  }
}
