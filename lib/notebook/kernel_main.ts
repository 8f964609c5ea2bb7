/**
 * The kernel as a program: serves one front end until that asks for the end.
 *
 * Started by launch_kernel.ts, which gives it exactly the permissions below:
 * read the kit, the data, the out folder, the scratch folder and the connection file; write the scratch
 * folder; open ports on this machine and one socket; run Deno.
 */
import { parseArgs } from "node:util";
import { endWithParent } from "./end_with_process.ts";
import { serveKernel } from "./serve_kernel.ts";

if (import.meta.main) {
  const { values } = parseArgs({
    options: {
      connection: { type: "string" },
      kit: { type: "string" },
      data: { type: "string", multiple: true },
      out: { type: "string" },
      scratch: { type: "string" },
      folder: { type: "string" },
    },
  });
  const { connection, kit, data = [], out, scratch, folder } = values;
  if (!connection || !kit || !out || !scratch || !folder) {
    console.error("kernel_main.ts: is started by launch_kernel.ts, which gives it what it needs");
    Deno.exit(2);
  }
  endWithParent();
  const served = await serveKernel({
    connection: JSON.parse(await Deno.readTextFile(connection)),
    kernel: {
      kitDir: kit,
      workingDir: folder,
      readable: data,
      writable: [out],
      scratchDir: scratch,
    },
  });
  // The launcher holds the other end of this pipe: when it is gone, nobody needs this kernel.
  Deno.stdin.read(new Uint8Array(1)).finally(() => Deno.exit(143));
  const { died, why } = await served.ended;
  await served.close();
  if (died) console.error(why);
  Deno.exit(died ? 1 : 0);
}
