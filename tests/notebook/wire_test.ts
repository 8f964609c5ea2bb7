import assert from "node:assert/strict";
import {
  MessageError,
  newMessage,
  packMessage,
  parseMessage,
} from "../../lib/notebook/messages.ts";
import { connectZmtp, listenZmtp, ZmtpError } from "../../lib/notebook/zmtp.ts";

Deno.test("connectZmtp() and listenZmtp() carry messages whole, in order, empty and large frames too", async () => {
  const parts = [new Uint8Array(), new Uint8Array(255).fill(1), new Uint8Array(3_000_000).fill(2)];
  const listener = listenZmtp({
    type: "ROUTER",
    port: 0,
    onConnection: async (connection) => {
      assert.equal(new TextDecoder().decode(connection.peerIdentity), "me");
      for (let m = await connection.receive(); m; m = await connection.receive()) {
        await connection.send(m);
      }
    },
  });
  const identity = new TextEncoder().encode("me");
  const client = await connectZmtp({ type: "DEALER", port: listener.port, identity });
  const sent = [0, 1, 2].map((n) => [new Uint8Array([n]), ...parts]);
  await Promise.all(sent.map((message) => client.send(message)));
  for (const message of sent) assert.deepEqual(await client.receive(), message);
  client.close();
  assert.equal(await client.receive(), null);
  listener.close();
});

Deno.test("connectZmtp() says what is wrong with the other side", async () => {
  const pub = listenZmtp({ type: "PUB", port: 0, onConnection: () => {} });
  await assert.rejects(
    connectZmtp({ type: "DEALER", port: pub.port }),
    (error: Error) =>
      error instanceof ZmtpError && /is a PUB socket, expected ROUTER/.test(error.message),
  );
  pub.close();
  await assert.rejects(
    connectZmtp({ type: "SUB", port: pub.port }),
    /SUB to 127\.0\.0\.1:\d+: cannot connect/,
  );

  const stranger = Deno.listen({ hostname: "127.0.0.1", port: 0 });
  const answering = stranger.accept().then(async (socket) => {
    await socket.write(new Uint8Array(64).fill(65));
    await socket.read(new Uint8Array(64));
    socket.close();
  });
  await assert.rejects(
    connectZmtp({ type: "SUB", port: (stranger.addr as Deno.NetAddr).port }),
    /does not speak ZMTP/,
  );
  await answering;
  stranger.close();
});

Deno.test("parseMessage() takes back what packMessage() signs and nothing that was changed", () => {
  const message = {
    ...newMessage("execute_request", { code: "1 + 1" }, { session: "s" }),
    identities: [new Uint8Array([7])],
    buffers: [new Uint8Array([1, 2])],
  };
  const frames = packMessage(message, "key");
  assert.deepEqual(parseMessage(frames, "key"), message);
  assert.throws(() => parseMessage(frames, "another key"), MessageError);
  const changed = frames.with(6, new TextEncoder().encode('{"code":"2 + 2"}'));
  assert.throws(() => parseMessage(changed, "key"), /wrong signature/);
  assert.throws(() => parseMessage(frames.slice(0, 5), "key"), MessageError);
});

Deno.test("packMessage() signs the four parts as openssl does", () => {
  const fixed = {
    identities: [],
    header: {
      msg_id: "1",
      session: "s",
      username: "u",
      date: "2026-01-01T00:00:00.000Z",
      msg_type: "t",
      version: "5.3",
    },
    parent_header: {},
    metadata: {},
    content: { a: 1 },
    buffers: [],
  };
  const signature = new TextDecoder().decode(packMessage(fixed, "key")[1]);
  // printf '%s' '{"msg_id":"1","session":"s","username":"u","date":"2026-01-01T00:00:00.000Z","msg_type":"t","version":"5.3"}{}{}{"a":1}' | openssl dgst -sha256 -hmac key
  assert.equal(signature, "d76e8b011398c99e7ab1e8a72ddcf5d82478e9eaed8823ba9808349eb82e589b");
  assert.equal(packMessage(fixed, "")[1].length, 0); // an empty key signs nothing
});
