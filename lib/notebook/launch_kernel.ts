/**
 * The program that a front end starts for a kernel of this kit, as the kernelspec says.
 *
 * It makes a scratch folder and starts kernel_main.ts with permissions for exactly the paths of this one
 * kernel; a permission for a socket must name the socket, so it can't be given beforehand.
 */
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { parseArgs } from "node:util";
import { kernelVariables } from "./deno_cache.ts";
import { waitFor } from "./end_with_process.ts";
import { brokerSocketName } from "./kernel.ts";
import { makeScratch, scratchPrefix } from "./scratch_folder.ts";

if (import.meta.main) {
  const { values, positionals } = parseArgs({
    allowPositionals: true,
    options: {
      kit: { type: "string" },
      data: { type: "string", multiple: true },
      out: { type: "string" },
      tmp: { type: "string" },
    },
  });
  const { kit, data = [], out, tmp } = values;
  const [connection] = positionals;
  if (!kit || !out || !tmp || !connection) {
    console.error("launch_kernel.ts: is started by a front end, as `deno task lab` registers it");
    Deno.exit(2);
  }
  const deno = Deno.execPath();
  const folderOfRun = makeScratch(await Deno.makeTempDir({ dir: tmp, prefix: scratchPrefix }));
  const scratch = folderOfRun.path;
  // Charts are drawn as PNG for the front end: the renderer's program is a file of its package.
  const rendererFile = fileURLToPath(import.meta.resolve("@resvg/resvg-wasm/index_bg.wasm"));
  const here = Deno.cwd();
  const folder = here === kit || here.startsWith(`${kit}/`) ? here : kit;
  const child = new Deno.Command(deno, {
    args: [
      "run",
      "--quiet",
      "--no-prompt",
      // Packages look at colour settings while they load; they are told that none is set.
      "--ignore-env",
      `--allow-read=${listOf([kit, ...data, out, scratch, connection, rendererFile])}`,
      `--allow-write=${listOf([scratch])}`,
      `--allow-net=127.0.0.1,${listOf([`unix:${join(scratch, brokerSocketName)}`])}`,
      `--allow-run=${listOf([deno])}`,
      `--allow-env=${kernelVariables.join(",")}`,
      join(import.meta.dirname!, "kernel_main.ts"),
      `--connection=${connection}`,
      `--kit=${kit}`,
      ...data.map((dir) => `--data=${dir}`),
      `--out=${out}`,
      `--scratch=${scratch}`,
      `--folder=${folder}`,
    ],
    stdin: "piped",
  }).spawn();
  // Stop comes as a message; a Ctrl-C at the front end's terminal is not meant for the cells.
  const code = await waitFor(child, { ignore: ["SIGINT"] });
  folderOfRun.remove();
  Deno.exit(code);
}

/** Values for one permission: a comma in one would end it, and give the rest as another. */
function listOf(values: readonly string[]): string {
  const odd = values.find((value) => value.includes(","));
  if (odd === undefined) return values.join(",");
  console.error(`launch_kernel.ts: the runtime takes no path with a comma in it: ${odd}`);
  Deno.exit(2);
}
