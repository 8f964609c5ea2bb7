import assert from "node:assert/strict";
import { dirname, join } from "node:path";
import {
  type JupyterMessage,
  newMessage,
  packMessage,
  parseMessage,
} from "../../lib/notebook/messages.ts";
import { jupyterDataDir, registerKernel } from "../../lib/notebook/register_kernel.ts";
import type { ConnectionFile } from "../../lib/notebook/serve_kernel.ts";
import {
  connectZmtp,
  subscribeToAll,
  type ZmtpConnection,
  type ZmtpSocketType,
} from "../../lib/notebook/zmtp.ts";
import { kitDir, withFolders } from "./with_kernel.ts";

Deno.test("the registered kernel serves a front end: whole cells, own parents, Stop, refusals, an end", async (t) => {
  await withRegisteredKernel(async (front, { dataDir, outsideDir, child }) => {
    await t.step(
      "every output of a cell comes before its idle, with the cell as parent",
      async () => {
        for (let round = 0; round < 20; round++) {
          const { shown, status } = await front.run(`
          for (let i = 0; i < 200; i++) console.log(i);
          for (let i = 0; i < 20; i++) {
            await Deno.jupyter.display({ "text/plain": "d" + i }, { raw: true });
          }
          "value"`);
          assert.equal(status, "ok");
          assert.equal(textOf(shown), Array.from({ length: 200 }, (_, i) => `${i}\n`).join(""));
          assert.equal(shown.filter((m) => m.header.msg_type === "display_data").length, 20);
          assert.equal(shown.at(-1)?.header.msg_type, "execute_result");
        }
      },
    );
    await t.step("an error comes last, even one that the kernel keeps silent about", async () => {
      const thrown = await front.run(`console.log("a"); throw new RangeError("b")`);
      assert.deepEqual(thrown.shown.map((m) => m.header.msg_type), ["stream", "error"]);
      const syntax = await front.run("let b = ;");
      assert.equal(syntax.status, "error");
      assert.equal(syntax.shown.at(-1)?.content.ename, "SyntaxError");
    });
    await t.step("cells read the registered data and nothing outside", async () => {
      const inside = await front.run(
        `Deno.readTextFileSync(${JSON.stringify(join(dataDir, "shoes.csv"))}).length`,
      );
      assert.equal(inside.status, "ok");
      const outside = await front.run(
        `Deno.readTextFileSync(${JSON.stringify(join(outsideDir, "secret.json"))})`,
      );
      assert.equal(outside.shown.at(-1)?.content.ename, "NotCapable");
    });
    await t.step("Stop interrupts a loop and keeps the state", async () => {
      await front.run("let kept = 41;");
      const running = front.run("while (true) {}");
      await new Promise((resolve) => setTimeout(resolve, 200));
      await front.control("interrupt_request");
      assert.equal((await running).shown.at(-1)?.content.ename, "Interrupted");
      const after = await front.run("kept + 1");
      assert.deepEqual(after.shown.map((m) => m.content.data), [{ "text/plain": "42" }]);
    });
    await t.step("cells queued behind a failing one are not run", async () => {
      const statuses = await Promise.all([
        front.run(`await new Promise((r) => setTimeout(r, 100)); throw new Error("first")`),
        front.run(`let notRun = true;`),
      ]);
      assert.deepEqual(statuses.map((run) => run.status), ["error", "aborted"]);
    });
    await t.step("the heart beats", async () => {
      assert.deepEqual(await front.beat(), [new Uint8Array(), new Uint8Array([1, 2])]);
    });
    await t.step("a message with a wrong signature is not heard", async () => {
      await front.forge(`Deno.writeTextFileSync("x", "")`);
      assert.equal((await front.run("1")).status, "ok");
    });
    await t.step("asked for the end, it ends", async () => {
      assert.equal((await front.control("shutdown_request")).status, "ok");
      assert.equal((await child.status).code, 0);
    });
  });
});

Deno.test("a cell that ends the process ends the served kernel with an error the front end sees", async () => {
  await withRegisteredKernel(async (front, { child }) => {
    const { status, shown } = await front.run("Deno.exit(4)");
    assert.equal(status, "error");
    assert.match(String(shown.at(-1)?.content.evalue), /exit code 4/);
    assert.equal((await child.status).code, 1);
  });
});

Deno.test("registerKernel() writes a kernelspec with a message for Stop, replacing an earlier one", async () => {
  await withFolders(async ({ dataDir, outDir, outsideDir }) => {
    const jupyterDir = join(outsideDir, "jupyter");
    const options = { kitDir, dataDirs: [dataDir], outDir, jupyterDir };
    await registerKernel(options);
    const folder = await registerKernel(options);
    assert.equal(folder, join(jupyterDir, "kernels", "bench-to-court"));
    assert.deepEqual([...Deno.readDirSync(folder)].map((e) => e.name), ["kernel.json"]);
    const spec = JSON.parse(Deno.readTextFileSync(join(folder, "kernel.json")));
    assert.equal(spec.interrupt_mode, "message");
    assert.equal(spec.display_name, "Bench to Court");
    assert.ok(spec.argv.includes("{connection_file}"));
    assert.ok(
      !spec.argv.some((word: string) => /^(-A|--allow-all|--allow-read|--allow-net)/.test(word)),
    );
  });
});

Deno.test("jupyterDataDir() looks where Jupyter looks on each system", () => {
  const on = (os: string, variables: Record<string, string>) =>
    jupyterDataDir({ os, variable: (name) => variables[name] });
  assert.equal(on("linux", { HOME: "/h" }), "/h/.local/share/jupyter");
  assert.equal(on("linux", { HOME: "/h", XDG_DATA_HOME: "/x" }), "/x/jupyter");
  assert.equal(on("darwin", { HOME: "/h" }), "/h/Library/Jupyter");
  assert.equal(on("linux", { HOME: "/h", JUPYTER_DATA_DIR: "/j" }), "/j");
  assert.throws(() => on("linux", {}), /HOME is not set/);
});

type Ran = { readonly shown: readonly JupyterMessage[]; readonly status: unknown };

/** The other side of the wire: what a notebook page does. */
type Front = {
  run(code: string): Promise<Ran>;
  control(type: string): Promise<Record<string, unknown>>;
  beat(): Promise<Uint8Array[] | null>;
  forge(code: string): Promise<void>;
};

async function withRegisteredKernel(
  test: (
    front: Front,
    at: { dataDir: string; outsideDir: string; child: Deno.ChildProcess },
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
      await test(front, { dataDir, outsideDir, child });
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

function textOf(messages: readonly JupyterMessage[]): string {
  return messages.filter((m) => m.header.msg_type === "stream").map((m) => m.content.text).join("");
}
