import { dirname, join } from "node:path";
import {
  type JupyterMessage,
  newMessage,
  packMessage,
  parseMessage,
} from "../../lib/notebook/messages.ts";
import { registerKernel } from "../../lib/notebook/register_kernel.ts";
import type { ConnectionFile } from "../../lib/notebook/front_end.ts";
import {
  connectZmtp,
  subscribeToAll,
  type ZmtpConnection,
  type ZmtpSocketType,
} from "../../lib/notebook/zmtp.ts";
import { kitDir, withFolders } from "./with_kernel.ts";

/** What came of a cell at the front end: its messages and the reply's status. */
export type Ran = { readonly shown: readonly JupyterMessage[]; readonly status: unknown };

/** The other side of the wire: what a notebook page does. */
export type Front = {
  run(code: string): Promise<Ran>;
  control(type: string): Promise<Record<string, unknown>>;
  /** Asks on the shell channel, such as for an inspection. */
  ask(type: string, content: object): Promise<Record<string, unknown>>;
  beat(): Promise<Uint8Array[] | null>;
  forge(code: string): Promise<void>;
};

/** Starts the registered kernel as a front end does, for one test. */
export async function withRegisteredKernel(
  test: (
    front: Front,
    at: { dataDir: string; outDir: string; outsideDir: string; child: Deno.ChildProcess },
  ) => Promise<void>,
): Promise<void> {
  await withFolders(async ({ dataDir, outDir, outsideDir }) => {
    const jupyterDir = join(outsideDir, "jupyter");
    const folder = await registerKernel({ kitDir, dataDirs: [dataDir], outDir, jupyterDir });
    const { argv } = JSON.parse(Deno.readTextFileSync(join(folder, "kernel.json")));
    const connection = connectionOnFreePorts();
    const file = join(outsideDir, "connection.json");
    Deno.writeTextFileSync(file, JSON.stringify(connection));
    const [program, ...words] = argv.map((word: string) => word.replace("{connection_file}", file));
    const child = new Deno.Command(program, {
      args: words,
      cwd: dirname(file),
      stdin: "null",
      stdout: "null",
      stderr: "null",
    }).spawn();
    const front = await connectFrontEnd(connection);
    try {
      await test(front, { dataDir, outDir, outsideDir, child });
    } finally {
      front.close();
      try {
        child.kill("SIGTERM");
      } catch { /* has ended */ }
      await child.status;
    }
  });
}

async function connectFrontEnd(connection: ConnectionFile): Promise<Front & { close(): void }> {
  const { key } = connection;
  const session = "front";
  const identity = new TextEncoder().encode(session);
  const open = async (type: ZmtpSocketType, port: number): Promise<ZmtpConnection> => {
    for (let attempt = 0;; attempt++) {
      try {
        return await connectZmtp({ type, port, identity });
      } catch (error) {
        if (attempt > 1_000) throw error;
      }
      await new Promise((resolve) => setTimeout(resolve, 10));
    }
  };
  const iopub = await open("SUB", connection.iopub_port);
  await iopub.send(subscribeToAll);
  const shell = await open("DEALER", connection.shell_port);
  const control = await open("DEALER", connection.control_port);
  const heart = await open("REQ", connection.hb_port);

  const published = new Map<string, JupyterMessage[]>();
  const idle = new Map<string, PromiseWithResolvers<void>>();
  const idleOf = (id: string) => {
    const found = idle.get(id) ?? Promise.withResolvers<void>();
    idle.set(id, found);
    return found;
  };
  (async () => {
    for (let frames = await iopub.receive(); frames; frames = await iopub.receive()) {
      const message = parseMessage(frames, key);
      const id = message.parent_header.msg_id ?? "";
      published.set(id, [...published.get(id) ?? [], message]);
      if (message.content.execution_state === "idle") idleOf(id).resolve();
    }
  })();
  const replies = new Map<string, (message: JupyterMessage) => void>();
  const listen = async (channel: ZmtpConnection) => {
    for (let frames = await channel.receive(); frames; frames = await channel.receive()) {
      const message = parseMessage(frames, key);
      replies.get(message.parent_header.msg_id ?? "")?.(message);
    }
  };
  listen(shell);
  listen(control);
  const request = async (channel: ZmtpConnection, type: string, content: object) => {
    const message = newMessage(type, content as Record<string, unknown>, { session });
    const id = message.header.msg_id;
    const reply = new Promise<JupyterMessage>((resolve) => replies.set(id, resolve));
    await channel.send(packMessage(message, key));
    return { id, content: (await reply).content };
  };
  const cell = (code: string) => ({
    code,
    silent: false,
    store_history: true,
    user_expressions: {},
    allow_stdin: false,
    stop_on_error: true,
  });
  return {
    run: async (code) => {
      const { id, content } = await request(shell, "execute_request", cell(code));
      await idleOf(id).promise;
      // What is here at idle is all that a front end may count on.
      const shown = (published.get(id) ?? []).filter(({ header }) =>
        !["status", "execute_input"].includes(header.msg_type)
      );
      return { shown, status: content.status };
    },
    ask: async (type, content) => (await request(shell, type, content)).content,
    control: async (type) => (await request(control, type, {})).content,
    beat: async () => {
      await heart.send([new Uint8Array(), new Uint8Array([1, 2])]);
      return await heart.receive();
    },
    forge: async (code) => {
      const message = newMessage("execute_request", cell(code), { session });
      await shell.send(packMessage(message, "not the key"));
    },
    close: () => {
      for (const channel of [iopub, shell, control, heart]) channel.close();
    },
  };
}

function connectionOnFreePorts(): ConnectionFile {
  const listeners = Array.from(
    { length: 5 },
    () => Deno.listen({ hostname: "127.0.0.1", port: 0 }),
  );
  const ports = listeners.map((listener) => (listener.addr as Deno.NetAddr).port);
  for (const listener of listeners) listener.close();
  return {
    ip: "127.0.0.1",
    transport: "tcp",
    key: crypto.randomUUID(),
    signature_scheme: "hmac-sha256",
    shell_port: ports[0],
    control_port: ports[1],
    iopub_port: ports[2],
    stdin_port: ports[3],
    hb_port: ports[4],
  };
}
