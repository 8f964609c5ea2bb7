import { dirname, join } from "node:path";

/** What a kernelspec says to a front end. */
export type KernelSpec = {
  readonly argv: readonly string[];
  readonly display_name: string;
  readonly language: string;
  readonly interrupt_mode: "message";
  readonly metadata: Readonly<Record<string, unknown>>;
};

/** The name under which notebooks ask for this kernel. */
export const kernelName = "bench-to-court";

/** What a front end calls this kernel in its menus. */
export const kernelTitle = "Bench to Court";

/**
 * How does a front end start this kit's kernel?
 *
 * The paths are those of this machine, so a kernelspec is written when the kit is registered, never shipped.
 *
 * @param dataDirs folders that cells may read besides the kit
 * @param outDir the only folder that cells may write
 * @param tmpDir where scratch folders are made
 */
export function kernelSpec(
  { kitDir, dataDirs, outDir, tmpDir, deno }: {
    readonly kitDir: string;
    readonly dataDirs: readonly string[];
    readonly outDir: string;
    readonly tmpDir: string;
    readonly deno: string;
  },
): KernelSpec {
  return {
    argv: [
      deno,
      "run",
      "--quiet",
      "--no-prompt",
      `--allow-write=${tmpDir}`,
      `--allow-run=${deno}`,
      join(kitDir, "lib", "notebook", "launch_kernel.ts"),
      `--kit=${kitDir}`,
      ...dataDirs.map((dir) => `--data=${dir}`),
      `--out=${outDir}`,
      `--tmp=${tmpDir}`,
      "{connection_file}",
    ],
    display_name: kernelTitle,
    language: "typescript",
    interrupt_mode: "message",
    metadata: {},
  };
}

/**
 * Registers this kit's kernel for the front ends of this user and returns the kernelspec's folder.
 *
 * Needs no Jupyter: the folder is where front ends look. An earlier registration is replaced.
 */
export async function registerKernel(
  { kitDir, dataDirs, outDir, deno = Deno.execPath(), jupyterDir = jupyterDataDir(), tmpDir }: {
    readonly kitDir: string;
    readonly dataDirs: readonly string[];
    readonly outDir: string;
    readonly deno?: string;
    readonly jupyterDir?: string;
    /** Where scratch folders are made; the system's own place unless given. */
    readonly tmpDir?: string;
  },
): Promise<string> {
  const spec = kernelSpec({
    kitDir,
    dataDirs,
    outDir,
    tmpDir: tmpDir ?? await systemTempDir(),
    deno,
  });
  const folder = join(jupyterDir, "kernels", kernelName);
  await Deno.mkdir(folder, { recursive: true });
  const file = join(folder, "kernel.json");
  await Deno.writeTextFile(`${file}.new`, JSON.stringify(spec, null, 1) + "\n");
  await Deno.rename(`${file}.new`, file);
  return folder;
}

async function systemTempDir(): Promise<string> {
  const probe = await Deno.makeTempDir();
  const dir = dirname(await Deno.realPath(probe));
  await Deno.remove(probe);
  return dir;
}

/**
 * Where does Jupyter keep this user's kernels?
 *
 * @see https://docs.jupyter.org/en/stable/use/jupyter-directories.html
 */
export function jupyterDataDir(
  { os = Deno.build.os, variable = (name: string) => Deno.env.get(name) }: {
    readonly os?: string;
    readonly variable?: (name: string) => string | undefined;
  } = {},
): string {
  const chosen = variable("JUPYTER_DATA_DIR");
  if (chosen) return chosen;
  if (os === "windows") {
    const roaming = variable("APPDATA");
    if (roaming) return join(roaming, "jupyter");
    throw new Error("Cannot tell where Jupyter keeps its kernels: APPDATA is not set");
  }
  const home = variable("HOME");
  if (!home) throw new Error("Cannot tell where Jupyter keeps its kernels: HOME is not set");
  if (os === "darwin") return join(home, "Library", "Jupyter");
  return join(variable("XDG_DATA_HOME") || join(home, ".local", "share"), "jupyter");
}
