import { createHmac, timingSafeEqual } from "node:crypto";
import type { Multipart } from "./zmtp.ts";

/**
 * Jupyter messages: four JSON parts, signed, between a delimiter and optional raw buffers.
 *
 * @see https://jupyter-client.readthedocs.io/en/stable/messaging.html (protocol 5.3)
 */

/** Who sent a message, when, and of which type. */
export type MessageHeader = {
  readonly msg_id: string;
  readonly session: string;
  readonly username: string;
  readonly date: string;
  readonly msg_type: string;
  readonly version: string;
};

/** What a message says; its keys depend on the message type. */
export type MessageContent = Readonly<Record<string, unknown>>;

/** One Jupyter message, verified. */
export type JupyterMessage = {
  /** Frames before the delimiter: routing identities, or a topic on iopub. */
  readonly identities: readonly Uint8Array[];
  readonly header: MessageHeader;
  /** The header of the message this one answers; empty if it answers none. */
  readonly parent_header: Partial<MessageHeader>;
  readonly metadata: Readonly<Record<string, unknown>>;
  readonly content: MessageContent;
  readonly buffers: readonly Uint8Array[];
};

/** A message that is not what the protocol promises. */
export class MessageError extends Error {
  /** The error's name. */
  override readonly name = "MessageError";
}

const DELIMITER = "<IDS|MSG>";
const text = { encode: new TextEncoder(), decode: new TextDecoder() };

/** A new message of this session, answering nothing yet. */
export function newMessage(
  type: string,
  content: MessageContent,
  { session }: { readonly session: string },
): JupyterMessage {
  return {
    identities: [],
    header: {
      msg_id: crypto.randomUUID(),
      session,
      username: "bench-to-court",
      date: new Date().toISOString(),
      msg_type: type,
      version: "5.3",
    },
    parent_header: {},
    metadata: {},
    content,
    buffers: [],
  };
}

/** The frames of a message, signed with the connection's key (HMAC-SHA256; an empty key signs nothing). */
export function packMessage(message: JupyterMessage, key: string): Uint8Array[] {
  const parts = [message.header, message.parent_header, message.metadata, message.content]
    .map((part) => text.encode.encode(JSON.stringify(part)));
  return [
    ...message.identities,
    text.encode.encode(DELIMITER),
    text.encode.encode(signatureOf(parts, key)),
    ...parts,
    ...message.buffers,
  ];
}

/**
 * Reads the frames of a message and checks its signature.
 *
 * @throws {MessageError} if the delimiter or a part is missing, the signature is wrong, or a part is not JSON
 */
export function parseMessage(frames: Multipart, key: string): JupyterMessage {
  const at = frames.findIndex((frame) =>
    frame.length === DELIMITER.length && text.decode.decode(frame) === DELIMITER
  );
  if (at < 0) throw new MessageError(`Message of ${frames.length} frames without ${DELIMITER}`);
  if (frames.length < at + 6) {
    throw new MessageError(`Message with ${frames.length - at - 1} parts, expected 5 or more`);
  }
  const parts = frames.slice(at + 2, at + 6);
  if (key !== "" && !sameBytes(frames[at + 1], text.encode.encode(signatureOf(parts, key)))) {
    throw new MessageError("Message with a wrong signature: it does not come from this session");
  }
  const [header, parent_header, metadata, content] = parts.map(parseObject);
  return {
    identities: frames.slice(0, at),
    header: header as MessageHeader,
    parent_header: parent_header as Partial<MessageHeader>,
    metadata,
    content,
    buffers: frames.slice(at + 6),
  };
}

function signatureOf(parts: readonly Uint8Array[], key: string): string {
  if (key === "") return "";
  const hmac = createHmac("sha256", key);
  for (const part of parts) hmac.update(part);
  return hmac.digest("hex");
}

function parseObject(part: Uint8Array): Record<string, unknown> {
  let value: unknown;
  try {
    value = JSON.parse(text.decode.decode(part));
  } catch (cause) {
    throw new MessageError("Message with a part that is not JSON", { cause });
  }
  if (typeof value !== "object" || value === null || Array.isArray(value)) {
    throw new MessageError(
      `Message with a part that is ${JSON.stringify(value)}, expected an object`,
    );
  }
  return value as Record<string, unknown>;
}

function sameBytes(a: Uint8Array, b: Uint8Array): boolean {
  return a.length === b.length && timingSafeEqual(a, b);
}
