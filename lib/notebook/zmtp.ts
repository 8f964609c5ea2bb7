/**
 * A small ZMTP 3.0 implementation over TCP: the wire format that Jupyter's sockets speak.
 *
 * Only what a Jupyter kernel and its front ends use: the NULL mechanism, whole multipart messages,
 * subscription by message as 3.0 has it, PING answered with PONG.
 *
 * @see https://rfc.zeromq.org/spec/23/ (ZMTP 3.0), https://rfc.zeromq.org/spec/37/ (ZMTP 3.1, PING)
 */

/** The socket types a kernel binds, and their partners on the other side. */
export type ZmtpSocketType = "DEALER" | "ROUTER" | "SUB" | "PUB" | "REQ" | "REP";

/** One message: its frames in order. */
export type Multipart = readonly Uint8Array[];

/** A connection that has shaken hands. */
export type ZmtpConnection = {
  readonly peerType: string;
  /** The identity the peer gave itself, empty when it gave none. */
  readonly peerIdentity: Uint8Array;
  /** Sends one whole message; messages leave in the order of the calls. */
  send(parts: Multipart): Promise<void>;
  /** The next whole message, or null when the connection has ended. */
  receive(): Promise<Uint8Array[] | null>;
  close(): void;
};

/** A bound port that takes any number of connections. */
export type ZmtpListener = {
  readonly port: number;
  close(): void;
};

/** What went wrong on the wire, and with whom. */
export class ZmtpError extends Error {
  /** The error's name. */
  override readonly name = "ZmtpError";
}

const MORE = 0b001;
const LONG = 0b010;
const COMMAND = 0b100;
const LARGEST_FRAME = 2 ** 28;
const HANDSHAKE_LIMIT_MS = 10_000;

const partnersOf: Record<ZmtpSocketType, readonly string[]> = {
  DEALER: ["ROUTER", "DEALER", "REP"],
  ROUTER: ["DEALER", "ROUTER", "REQ"],
  SUB: ["PUB", "XPUB"],
  PUB: ["SUB", "XSUB"],
  REQ: ["REP", "ROUTER"],
  REP: ["REQ", "DEALER"],
};

/**
 * Connects to a bound ZMTP socket and shakes hands.
 *
 * @throws {ZmtpError} if nothing listens there, or what listens is no partner for this socket type
 */
export async function connectZmtp(
  { type, port, hostname = "127.0.0.1", identity = new Uint8Array() }: {
    readonly type: ZmtpSocketType;
    readonly port: number;
    readonly hostname?: string;
    readonly identity?: Uint8Array;
  },
): Promise<ZmtpConnection> {
  const where = `${type} to ${hostname}:${port}`;
  let socket: Deno.TcpConn;
  try {
    socket = await Deno.connect({ hostname, port });
  } catch (cause) {
    throw new ZmtpError(`${where}: cannot connect (${wordsOf(cause)})`, { cause });
  }
  return await shakeHands(socket, { type, identity, where });
}

/**
 * Binds a port; every connection that shakes hands properly is handed to `onConnection`.
 *
 * A caller that does not speak ZMTP, or is no partner for this type, is dropped; the others stay.
 *
 * @throws {ZmtpError} if the port cannot be bound
 */
export function listenZmtp(
  { type, port, hostname = "127.0.0.1", onConnection }: {
    readonly type: ZmtpSocketType;
    readonly port: number;
    readonly hostname?: string;
    readonly onConnection: (connection: ZmtpConnection) => void;
  },
): ZmtpListener {
  let listener: Deno.TcpListener;
  try {
    listener = Deno.listen({ hostname, port });
  } catch (cause) {
    throw new ZmtpError(`${type} on ${hostname}:${port}: cannot listen (${wordsOf(cause)})`, {
      cause,
    });
  }
  const open = new Set<ZmtpConnection>();
  const admit = async (socket: Deno.TcpConn) => {
    try {
      const where = `${type} on ${hostname}:${port}`;
      const connection = await shakeHands(socket, { type, identity: new Uint8Array(), where });
      open.add(connection);
      onConnection(connection);
    } catch { /* not a partner of ours: shakeHands has closed the socket */ }
  };
  (async () => {
    try {
      for await (const socket of listener) admit(socket);
    } catch { /* closed */ }
  })();
  return {
    port: (listener.addr as Deno.NetAddr).port,
    close: () => {
      listener.close();
      for (const connection of open) connection.close();
    },
  };
}

async function shakeHands(
  socket: Deno.TcpConn,
  { type, identity, where }: {
    readonly type: ZmtpSocketType;
    readonly identity: Uint8Array;
    readonly where: string;
  },
): Promise<ZmtpConnection> {
  const tooLate = setTimeout(() => closeQuietly(socket), HANDSHAKE_LIMIT_MS);
  try {
    socket.setNoDelay(true);
    const bytes = byteReader(socket, where);
    await writeAll(socket, greeting());
    const theirs = await bytes(64);
    if (theirs === null) throw new ZmtpError(`${where}: closed before its greeting`);
    if (theirs[0] !== 0xff || theirs[9] !== 0x7f) {
      throw new ZmtpError(`${where}: what answers does not speak ZMTP`);
    }
    if (theirs[10] < 3) throw new ZmtpError(`${where}: speaks ZMTP ${theirs[10]}, expected 3`);
    const mechanism = new TextDecoder().decode(theirs.subarray(12, 32)).replace(/\0+$/, "");
    if (mechanism !== "NULL") {
      throw new ZmtpError(`${where}: asks for the mechanism "${mechanism}", expected NULL`);
    }
    await writeAll(socket, encodeFrame(readyCommand(type, identity), COMMAND));
    const ready = await readFrame(bytes, where);
    const properties = ready && (ready.flags & COMMAND) ? readProperties(ready.body) : null;
    if (!properties) throw new ZmtpError(`${where}: no READY after the greeting`);
    const peerType = new TextDecoder().decode(properties.get("socket-type"));
    if (!partnersOf[type].includes(peerType)) {
      throw new ZmtpError(
        `${where}: is a ${peerType || "nameless"} socket, expected ${
          partnersOf[type].join(" or ")
        }`,
      );
    }
    const peerIdentity = properties.get("identity") ?? new Uint8Array();
    return connectionOver(socket, { bytes, peerType, peerIdentity, where });
  } catch (error) {
    closeQuietly(socket);
    if (error instanceof ZmtpError) throw error;
    throw new ZmtpError(`${where}: broke off during the handshake (${wordsOf(error)})`, {
      cause: error,
    });
  } finally {
    clearTimeout(tooLate);
  }
}

function connectionOver(
  socket: Deno.TcpConn,
  { bytes, peerType, peerIdentity, where }: {
    readonly bytes: ByteReader;
    readonly peerType: string;
    readonly peerIdentity: Uint8Array;
    readonly where: string;
  },
): ZmtpConnection {
  let closed = false;
  let lastWrite: Promise<void> = Promise.resolve();
  const enqueue = (buffer: Uint8Array): Promise<void> => {
    const write = lastWrite.then(async () => {
      if (closed) throw new ZmtpError(`${where}: cannot send, the connection is closed`);
      try {
        await writeAll(socket, buffer);
      } catch (cause) {
        throw new ZmtpError(`${where}: cannot send (${wordsOf(cause)})`, { cause });
      }
    });
    lastWrite = write.catch(() => {});
    return write;
  };

  const receive = async (): Promise<Uint8Array[] | null> => {
    const parts: Uint8Array[] = [];
    while (true) {
      let frame: Frame | null;
      try {
        frame = await readFrame(bytes, where);
      } catch (error) {
        if (closed || isEndOfConnection(error)) return null;
        throw error;
      }
      if (frame === null) return null;
      if (frame.flags & COMMAND) {
        const pong = pongFor(frame.body);
        if (pong) enqueue(encodeFrame(pong, COMMAND)).catch(() => {});
        continue;
      }
      parts.push(frame.body);
      if (!(frame.flags & MORE)) return parts;
    }
  };

  return {
    peerType,
    peerIdentity,
    send: (parts) =>
      enqueue(concat(parts.map((p, i) => encodeFrame(p, i + 1 < parts.length ? MORE : 0)))),
    receive,
    close: () => {
      closed = true;
      closeQuietly(socket);
    },
  };
}

/** The message by which a SUB socket asks a ZMTP 3.0 publisher for everything. */
export const subscribeToAll: Multipart = [new Uint8Array([1])];

function greeting(): Uint8Array {
  const bytes = new Uint8Array(64);
  bytes[0] = 0xff;
  bytes[9] = 0x7f;
  bytes[10] = 3; // version 3.0
  bytes.set(new TextEncoder().encode("NULL"), 12);
  return bytes;
}

function readyCommand(type: ZmtpSocketType, identity: Uint8Array): Uint8Array {
  const text = new TextEncoder();
  const property = (name: string, value: Uint8Array) => {
    const length = new Uint8Array(4);
    new DataView(length.buffer).setUint32(0, value.length);
    return [new Uint8Array([name.length]), text.encode(name), length, value];
  };
  return concat([
    new Uint8Array([5]),
    text.encode("READY"),
    ...property("Socket-Type", text.encode(type)),
    ...(type === "SUB" || type === "PUB" ? [] : property("Identity", identity)),
  ]);
}

/** The properties of a READY command by lower-case name, or null if it is another command. */
function readProperties(body: Uint8Array): Map<string, Uint8Array> | null {
  const text = new TextDecoder();
  if (text.decode(body.subarray(1, 1 + body[0])) !== "READY") return null;
  const view = new DataView(body.buffer, body.byteOffset, body.byteLength);
  const properties = new Map<string, Uint8Array>();
  for (let at = 1 + body[0]; at < body.length;) {
    const name = text.decode(body.subarray(at + 1, at + 1 + body[at]));
    at += 1 + body[at];
    const length = view.getUint32(at);
    properties.set(name.toLowerCase(), body.slice(at + 4, at + 4 + length));
    at += 4 + length;
  }
  return properties;
}

function pongFor(command: Uint8Array): Uint8Array | null {
  const name = new TextDecoder().decode(command.subarray(1, 1 + command[0]));
  if (name !== "PING") return null;
  const context = command.subarray(1 + 4 + 2); // after the name and a 16-bit time to live
  return concat([new Uint8Array([4]), new TextEncoder().encode("PONG"), context]);
}

type Frame = { readonly flags: number; readonly body: Uint8Array };

async function readFrame(bytes: ByteReader, where: string): Promise<Frame | null> {
  const flags = await bytes(1);
  if (flags === null) return null;
  const long = (flags[0] & LONG) !== 0;
  const size = await bytes(long ? 8 : 1);
  if (size === null) throw new ZmtpError(`${where}: ended inside a frame`);
  const length = long
    ? Number(new DataView(size.buffer, size.byteOffset).getBigUint64(0))
    : size[0];
  if (length > LARGEST_FRAME) {
    throw new ZmtpError(`${where}: announces a frame of ${length} bytes, expected at most 2 GiB`);
  }
  const body = await bytes(length);
  if (body === null) throw new ZmtpError(`${where}: ended inside a frame`);
  return { flags: flags[0], body };
}

function encodeFrame(body: Uint8Array, flags: number): Uint8Array {
  const long = body.length > 255;
  const frame = new Uint8Array((long ? 9 : 2) + body.length);
  frame[0] = flags | (long ? LONG : 0);
  if (long) new DataView(frame.buffer).setBigUint64(1, BigInt(body.length));
  else frame[1] = body.length;
  frame.set(body, long ? 9 : 2);
  return frame;
}

/** Reads exactly so many bytes; null if the stream ends before the first of them. */
type ByteReader = (count: number) => Promise<Uint8Array | null>;

function byteReader(socket: Deno.TcpConn, where: string): ByteReader {
  const chunk = new Uint8Array(65_536);
  let from = 0;
  let to = 0;
  return async (count) => {
    const result = new Uint8Array(count);
    for (let filled = 0; filled < count;) {
      if (from === to) {
        const read = await socket.read(chunk);
        if (read === null) {
          if (filled === 0) return null;
          throw new ZmtpError(`${where}: ended inside a frame`);
        }
        from = 0;
        to = read;
      }
      const taken = Math.min(count - filled, to - from);
      result.set(chunk.subarray(from, from + taken), filled);
      from += taken;
      filled += taken;
    }
    return result;
  };
}

async function writeAll(socket: Deno.TcpConn, buffer: Uint8Array): Promise<void> {
  for (let sent = 0; sent < buffer.length;) sent += await socket.write(buffer.subarray(sent));
}

function concat(chunks: readonly Uint8Array[]): Uint8Array {
  const whole = new Uint8Array(chunks.reduce((length, chunk) => length + chunk.length, 0));
  let at = 0;
  for (const chunk of chunks) {
    whole.set(chunk, at);
    at += chunk.length;
  }
  return whole;
}

function isEndOfConnection(error: unknown): boolean {
  return error instanceof Deno.errors.ConnectionReset || error instanceof Deno.errors.BadResource ||
    error instanceof Deno.errors.BrokenPipe || error instanceof Deno.errors.Interrupted;
}

function closeQuietly(socket: Deno.TcpConn): void {
  try {
    socket.close();
  } catch { /* already closed */ }
}

function wordsOf(error: unknown): string {
  return error instanceof Error ? error.message : String(error);
}
