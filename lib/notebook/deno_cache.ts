import { join } from "node:path";

/** Variables by which Deno finds its package cache, and the registry whose packages lie in it. */
const cacheVariables = [
  "HOME",
  "USERPROFILE",
  "LOCALAPPDATA",
  "XDG_CACHE_HOME",
  "DENO_DIR",
  "NPM_CONFIG_REGISTRY",
  "SystemRoot",
];

/** Variables by which Deno reaches a registry from behind a company's door. */
const networkVariables = [
  "HTTP_PROXY",
  "HTTPS_PROXY",
  "NO_PROXY",
  "http_proxy",
  "https_proxy",
  "no_proxy",
  "DENO_CERT",
  "DENO_TLS_CA_STORE",
  "SSL_CERT_FILE",
  "SSL_CERT_DIR",
];

/** The environment variables that a process which starts kernels should be allowed to read. */
export const kernelVariables: readonly string[] = [...cacheVariables, ...networkVariables];

/**
 * The kernel's whole environment.
 *
 * Time and language are fixed, so that a date in a cell reads the same everywhere. Asking for a package
 * outside the lock would tell its name to a registry before it is refused, and no permission is asked
 * for that: so the kernel's own way out leads nowhere, and packages must lie in the cache already.
 */
export function kernelEnvironment(): Record<string, string> {
  const nowhere = "http://127.0.0.1:9";
  return {
    ...inherited(cacheVariables),
    NO_COLOR: "1",
    PATH: "/usr/bin:/bin", // so that a program is refused, not looked for in vain
    TZ: "UTC",
    LANG: "en_US.UTF-8",
    DENO_NO_UPDATE_CHECK: "1",
    HTTP_PROXY: nowhere,
    HTTPS_PROXY: nowhere,
    ALL_PROXY: nowhere,
  };
}

/**
 * Sees to it that every package behind the kit's door lies in Deno's cache, as the lock file names them.
 *
 * Quick when they do. A failure is left to the cell that misses a package, which can say which.
 */
export async function cachePackages(
  { deno, kitDir }: { readonly deno: string; readonly kitDir: string },
): Promise<void> {
  const door = join(kitDir, "lib", "mod.ts");
  const child = new Deno.Command(deno, {
    args: ["cache", "--frozen", door],
    cwd: kitDir,
    clearEnv: true,
    env: { ...inherited(kernelVariables), DENO_NO_UPDATE_CHECK: "1" },
    stdin: "null",
    stdout: "null",
    stderr: "null",
  });
  await child.output();
}

/** The folder where Deno keeps the packages it has loaded: a cell may read a package's own files there. */
export async function packageCacheOf(
  { deno, kitDir }: { readonly deno: string; readonly kitDir: string },
): Promise<string> {
  const { success, stdout, stderr } = await new Deno.Command(deno, {
    args: ["info", "--json"],
    cwd: kitDir,
    clearEnv: true,
    env: { ...inherited(cacheVariables), NO_COLOR: "1" },
    stdin: "null",
    stdout: "piped",
    stderr: "piped",
  }).output();
  const text = new TextDecoder();
  if (!success) throw new Error(`Cannot ask Deno for its cache: ${text.decode(stderr)}`);
  return JSON.parse(text.decode(stdout)).npmCache;
}

/** Those of the variables that are set and that this process may read. */
function inherited(names: readonly string[]): Record<string, string> {
  const environment: Record<string, string> = {};
  for (const variable of names) {
    if (Deno.permissions.querySync({ name: "env", variable }).state !== "granted") continue;
    const value = Deno.env.get(variable);
    if (value !== undefined) environment[variable] = value;
  }
  return environment;
}
