import {
  type JupyterMessage,
  type MessageContent,
  type MessageHeader,
  newMessage,
  packMessage,
  parseMessage,
} from "./messages.ts";
import { listenZmtp, type ZmtpConnection, type ZmtpListener } from "./zmtp.ts";

/** What a front end writes for the kernel it starts. */
export type ConnectionFile = {
  readonly ip: string;
  readonly transport: string;
  readonly key: string;
  readonly signature_scheme: string;
  readonly shell_port: number;
  readonly control_port: number;
  readonly iopub_port: number;
  readonly stdin_port: number;
  readonly hb_port: number;
};

/** A request with the connection it came by. */
export type Request = { readonly message: JupyterMessage; readonly from: ZmtpConnection };

/** The request that a message answers; empty where there is none. */
export type Parent = MessageHeader | Record<string, never>;

/** What of a message of this type may be passed on. */
type Filter = (type: string, content: MessageContent) => MessageContent;

type Handlers = { onShell: (r: Request) => void; onControl: (r: Request) => void };

/** The five sockets that a front end connects to. */
export type FrontEnd = ReturnType<typeof frontEnd>;

/**
 * Opens the five sockets that a front end connects to; what it asks waits until `start` is called.
 *
 * @throws {ZmtpError} if one of the ports cannot be bound
 */
export function frontEnd(connection: ConnectionFile) {
  const { key } = connection;
  const session = crypto.randomUUID();
  const subscribers = new Set<ZmtpConnection>();
  const inputs = new Set<ZmtpConnection>();
  let lastSent: Promise<unknown> = Promise.resolve();
  let answerInput: ((value: string) => void) | null = null;
  let handlers: Handlers | null = null;
  const early: (() => void)[] = [];
  const inTurn = (act: () => void) => handlers ? act() : void early.push(act);

  const send = (to: ZmtpConnection, message: JupyterMessage) => {
    const sent = to.send(packMessage(message, key)).catch(() => subscribers.delete(to));
    lastSent = Promise.all([lastSent, sent]);
  };
  const close = openPorts(connection, {
    subscribers,
    inputs,
    onShell: (request) => inTurn(() => handlers!.onShell(request)),
    onControl: (request) => inTurn(() => handlers!.onControl(request)),
    onInput: (text) => inTurn(() => answerInput?.(text)),
  });

  // Everything that a front end is told goes through here.
  let pass: Filter = (_, content) => content;
  const publish = (type: string, content: MessageContent, parent: Parent) => {
    const message = newMessage(type, pass(type, content), { session });
    const topic = new TextEncoder().encode(type);
    for (const subscriber of subscribers) {
      send(subscriber, { ...message, parent_header: parent, identities: [topic] });
    }
  };
  const reply = (request: Request, content: MessageContent) => {
    const { header } = request.message;
    const type = header.msg_type.replace(/_request$/, "_reply");
    const message = newMessage(type, pass(type, content), { session });
    send(request.from, { ...message, parent_header: header });
  };
  return {
    publish,
    reply,
    close,
    passOnly: (filter: Filter) => void (pass = filter),
    start: (given: Handlers) => {
      handlers = given;
      for (const take of early.splice(0)) take();
    },
    /** Asks the reader at the front end that the request came from. */
    ask: (request: Request, question: { readonly prompt: string; readonly password: boolean }) => {
      const same = [...inputs].filter((input) => sameIdentity(input, request.from));
      const message = newMessage("input_request", question, { session });
      const answer = new Promise<string>((resolve) => answerInput = resolve);
      for (const input of same.length > 0 ? same : inputs) {
        send(input, { ...message, parent_header: request.message.header });
      }
      return answer;
    },
    /** A request that could not be handled still ends, with the reason. */
    complain: (request: Request, error: unknown) => {
      const { name, message } = error instanceof Error ? error : new Error(String(error));
      const { header } = request.message;
      reply(request, { status: "error", ename: name, evalue: message, traceback: [] });
      publish("status", { execution_state: "idle" }, header);
    },
    flush: async () => {
      await lastSent;
      // What has been written must also leave before the sockets close.
      await new Promise((resolve) => setTimeout(resolve, 50));
    },
  };
}

/** Opens the ports and listens on each; gives what closes them. Where one can't be bound, none stays open. */
function openPorts(
  connection: ConnectionFile,
  { subscribers, inputs, onShell, onControl, onInput }: Handlers & {
    /** Those that hear what is published, and those that can ask a reader; both kept up to date. */
    readonly subscribers: Set<ZmtpConnection>;
    readonly inputs: Set<ZmtpConnection>;
    readonly onInput: (text: string) => void;
  },
): () => void {
  const listeners: ZmtpListener[] = [];
  const close = () => {
    for (const listener of listeners) listener.close();
  };
  const bind = (
    type: "ROUTER" | "PUB" | "REP",
    port: number,
    onConnection: (connection: ZmtpConnection) => void,
  ) => listeners.push(listenZmtp({ type, port, onConnection }));
  const { key } = connection;
  try {
    bind("PUB", connection.iopub_port, async (subscriber) => {
      subscribers.add(subscriber);
      // Subscriptions come as messages; whatever was subscribed to, everything is sent.
      await eachFrame(subscriber, () => {});
      subscribers.delete(subscriber);
    });
    bind("ROUTER", connection.shell_port, (from) => {
      eachMessage(from, key, (message) => onShell({ message, from }));
    });
    bind("ROUTER", connection.control_port, (from) => {
      eachMessage(from, key, (message) => onControl({ message, from }));
    });
    bind("ROUTER", connection.stdin_port, async (from) => {
      inputs.add(from);
      await eachMessage(from, key, ({ header, content }) => {
        if (header.msg_type === "input_reply") onInput(String(content.value ?? ""));
      });
      inputs.delete(from);
    });
    bind("REP", connection.hb_port, (from) => {
      eachFrame(from, (beat) => from.send(beat));
    });
  } catch (error) {
    close();
    throw error;
  }
  return close;
}

/** Takes what comes by a connection until it ends or breaks off; a front end may come back. */
async function eachFrame(
  from: ZmtpConnection,
  take: (frames: NonNullable<Awaited<ReturnType<ZmtpConnection["receive"]>>>) => unknown,
): Promise<void> {
  try {
    for (let frames = await from.receive(); frames; frames = await from.receive()) {
      await take(frames);
    }
  } catch { /* broken off */ }
}

async function eachMessage(
  from: ZmtpConnection,
  key: string,
  take: (message: JupyterMessage) => void,
): Promise<void> {
  await eachFrame(from, (frames) => {
    let message: JupyterMessage;
    try {
      message = parseMessage(frames, key);
    } catch {
      return; // unsigned or broken: not from our front end
    }
    take(message);
  });
}

function sameIdentity(a: ZmtpConnection, b: ZmtpConnection): boolean {
  return a.peerIdentity.length > 0 && a.peerIdentity.length === b.peerIdentity.length &&
    a.peerIdentity.every((byte, i) => byte === b.peerIdentity[i]);
}
