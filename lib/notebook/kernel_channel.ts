import { KernelError } from "./kernel_error.ts";
import {
  type JupyterMessage,
  type MessageContent,
  newMessage,
  packMessage,
  parseMessage,
} from "./messages.ts";
import { firstOf, secondsOf, type WatchedProcess } from "./watched_process.ts";
import { connectZmtp, type ZmtpConnection, type ZmtpSocketType } from "./zmtp.ts";

/** So long a kernel may take to come up. */
export const START_LIMIT_MS = 30_000;

/** Sends requests and hands each reply to who asked. */
export type Channel = {
  request(type: string, content: MessageContent): Promise<JupyterMessage>;
};

/** A channel on which requests are answered one for one. */
export function channel(connection: ZmtpConnection, key: string, session: string): Channel {
  const waiting = new Map<string, (reply: JupyterMessage) => void>();
  pump(connection, key, (message) => {
    const id = message.parent_header.msg_id ?? "";
    waiting.get(id)?.(message);
    waiting.delete(id);
  });
  return {
    request: async (type, content) => {
      const message = newMessage(type, content, { session });
      const reply = new Promise<JupyterMessage>((resolve) =>
        waiting.set(message.header.msg_id, resolve)
      );
      await connection.send(packMessage(message, key));
      return await reply;
    },
  };
}

/** Reads messages until the connection ends; the process's own end tells the rest of the story. */
export async function pump(
  connection: ZmtpConnection,
  key: string,
  take: (message: JupyterMessage) => void,
): Promise<void> {
  try {
    for (let frames = await connection.receive(); frames; frames = await connection.receive()) {
      take(parseMessage(frames, key));
    }
  } catch { /* broken off */ }
}

/** Has the kernel run code; the reply comes when it is through. */
export function execute(
  shell: Channel,
  code: string,
  { silent, storeHistory = !silent, allowInput = false }: {
    readonly silent: boolean;
    readonly storeHistory?: boolean;
    readonly allowInput?: boolean;
  },
): Promise<JupyterMessage> {
  return shell.request("execute_request", {
    code,
    silent,
    store_history: storeHistory,
    user_expressions: {},
    allow_stdin: allowInput,
    stop_on_error: false,
  });
}

/** Asks until the kernel both replies and is heard on iopub: a subscription takes a moment to hold. */
export async function waitUntilReady(
  shell: Channel,
  process: WatchedProcess,
  listen: (hear: (message: JupyterMessage) => void) => void,
): Promise<void> {
  const heard = Promise.withResolvers<null>();
  listen(() => heard.resolve(null));
  const deadline = performance.now() + START_LIMIT_MS;
  while (performance.now() < deadline) {
    const reply = shell.request("kernel_info_request", {});
    const both = Promise.all([reply, heard.promise]).then(() => null);
    const outcome = await firstOf({ reply: both, death: process.death, limitMs: 500 });
    if (outcome === "dead") throw new KernelError(process.obituary());
    if (outcome === null) return;
  }
  throw new KernelError(`The kernel did not answer within ${secondsOf(START_LIMIT_MS)}`);
}

/** Connects as soon as the kernel listens. */
export async function connectWhenUp(
  type: ZmtpSocketType,
  port: number,
  process: WatchedProcess,
): Promise<ZmtpConnection> {
  const deadline = performance.now() + START_LIMIT_MS;
  while (true) {
    try {
      return await connectZmtp({ type, port });
    } catch (error) {
      if (process.ended()) throw new KernelError(process.obituary(), { cause: error });
      if (performance.now() > deadline) throw error;
    }
    await new Promise((resolve) => setTimeout(resolve, 10));
  }
}
