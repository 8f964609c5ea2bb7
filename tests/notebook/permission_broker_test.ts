import assert from "node:assert/strict";
import { join } from "node:path";
import { notebookPolicy, startPermissionBroker } from "../../lib/notebook/permission_broker.ts";
import { withFolders, withKernel } from "./with_kernel.ts";

Deno.test("a cell of a real kernel is refused whatever lies outside kit, data and out", async (t) => {
  await withKernel(async (kernel, { dataDir, outDir, outsideDir }) => {
    Deno.symlinkSync(outsideDir, join(dataDir, "link"));
    Deno.symlinkSync(join(outsideDir, "new.txt"), join(outDir, "dangling"));
    const secret = join(outsideDir, "secret.json");
    const refused: Record<string, string> = {
      "reading outside the data": `Deno.readTextFileSync(${JSON.stringify(secret)})`,
      "reading through ..": `Deno.readTextFileSync(${
        JSON.stringify(`${dataDir}/../outside/secret.json`)
      })`,
      "reading through a symbolic link": `Deno.readTextFileSync(${
        JSON.stringify(`${dataDir}/link/secret.json`)
      })`,
      "reading after changing the folder":
        `Deno.chdir("lib/notebook"); try { (await import("node:fs")).readFileSync("../../../x") } finally { Deno.chdir("../..") }`,
      "reading through Node's files": `(await import("node:fs")).readFileSync(${
        JSON.stringify(secret)
      })`,
      "reading through require": `(await import("node:module")).createRequire("file:///x.js")(${
        JSON.stringify(secret)
      })`,
      "reading through a JSON import": `await import(${
        JSON.stringify(`file://${secret}`)
      }, { with: { type: "json" } })`,
      "reading the kit's version control": `[...Deno.readDirSync(".git")]`,
      "writing outside the out folder": `Deno.writeTextFileSync(${
        JSON.stringify(join(outsideDir, "x.txt"))
      }, "x")`,
      "writing into the data": `Deno.writeTextFileSync(${
        JSON.stringify(join(dataDir, "shoes.csv"))
      }, "x")`,
      "writing into the kit": `Deno.writeTextFileSync("lib/x.txt", "x")`,
      "writing through ..": `Deno.writeTextFileSync(${
        JSON.stringify(`${outDir}/../outside/x.txt`)
      }, "x")`,
      "writing through a link that points nowhere yet": `Deno.writeTextFileSync(${
        JSON.stringify(join(outDir, "dangling"))
      }, "x")`,
      "making a link": `Deno.symlinkSync(${JSON.stringify(outsideDir)}, ${
        JSON.stringify(join(outDir, "l"))
      })`,
      "opening a connection": `await Deno.connect({ hostname: "127.0.0.1", port: 80 })`,
      "fetching": `await fetch("http://127.0.0.1:8000/")`,
      "listening": `Deno.listen({ port: 0 })`,
      "starting a program": `new Deno.Command("ls").outputSync()`,
      "starting a program by its path": `new Deno.Command("/bin/ls").outputSync()`,
      "stopping another process": `Deno.kill(1, "SIGCONT")`,
      "reading the environment": `Deno.env.get("HOME")`,
      "reading the whole environment": `Deno.env.toObject()`,
      "asking about the machine": `Deno.hostname()`,
      "loading native code": `Deno.dlopen("/lib/x.so", {})`,
      "loading code from the net": `await import("https://127.0.0.1:1/x.ts")`,
    };
    for (const [what, code] of Object.entries(refused)) {
      await t.step(`${what} is refused`, async () => {
        const { error, alive } = await kernel.execute(code);
        const words = `${error?.ename}: ${error?.evalue}`;
        assert.match(words, /^(NotCapable|TypeError): .*(a notebook |depends on)/, words);
        assert.ok(alive);
      });
    }
    await t.step("a package outside the lock is refused and named", async () => {
      const { error } = await kernel.execute(`import leftPad from "npm:left-pad@1.3.0";`);
      assert.match(error?.evalue ?? "", /npm:left-pad@1\.3\.0/);
    });
    await t.step("nothing outside was changed", () => {
      assert.deepEqual([...Deno.readDirSync(outsideDir)].map((e) => e.name), ["secret.json"]);
      assert.equal(Deno.readTextFileSync(join(dataDir, "shoes.csv")), "shoe_id\ns1\n");
    });
    await t.step(
      "the data is read, the kit is imported and the out folder is written",
      async () => {
        const { error, outputs } = await kernel.execute(`
        import { noEstimate } from "./lib/statistics/estimate.ts";
        Deno.mkdirSync(${JSON.stringify(join(outDir, "figures"))});
        Deno.writeTextFileSync(${JSON.stringify(join(outDir, "figures", "a.svg"))}, "<svg/>");
        Deno.readTextFileSync(${JSON.stringify(join(dataDir, "shoes.csv"))})`);
        assert.equal(error, null);
        assert.equal(Deno.readTextFileSync(join(outDir, "figures", "a.svg")), "<svg/>");
        assert.deepEqual(
          outputs.map((o) => "data" in o && o.data["text/plain"]),
          ['"shoe_id\\ns1\\n"'],
        );
      },
    );
  });
});

Deno.test("notebookPolicy() opens the kernel's own ports until the first cell, and no others", async () => {
  await withFolders((folders) => {
    const policy = notebookPolicy({
      workingDir: folders.kitDir,
      readable: [folders.dataDir],
      writable: [folders.outDir],
      ports: [40_001],
    });
    const net = (value: string) => policy.answer({ permission: "net", value }).allow;
    assert.equal(net("127.0.0.1:40001"), true);
    assert.equal(net("127.0.0.1:40002"), false);
    policy.seal();
    assert.equal(net("127.0.0.1:40001"), false);
    return Promise.resolve();
  });
});

Deno.test("notebookPolicy() refuses questions about everything and kinds it does not know", async () => {
  await withFolders((folders) => {
    const policy = notebookPolicy({
      workingDir: folders.kitDir,
      readable: [folders.dataDir],
      writable: [folders.outDir],
      ports: [],
    });
    for (
      const permission of ["read", "write", "net", "env", "run", "sys", "ffi", "import", "new"]
    ) {
      const answer = policy.answer({ permission, value: null });
      assert.equal(answer.allow, false, permission);
      assert.match(answer.allow ? "" : answer.reason, /notebook/);
    }
    return Promise.resolve();
  });
});

Deno.test("notebookPolicy() lets a relative path count from every folder a cell may have moved to", async () => {
  await withFolders(({ dataDir, outDir }) => {
    Deno.mkdirSync(join(dataDir, "deep"));
    const policy = notebookPolicy({
      workingDir: join(dataDir, "deep"),
      readable: [dataDir],
      writable: [outDir],
      ports: [],
    });
    const read = (value: string) => policy.answer({ permission: "read", value }).allow;
    assert.equal(read("../shoes.csv"), true);
    assert.equal(read(dataDir), true); // may have been a change of folder
    assert.equal(read("../shoes.csv"), false); // from there it would lie outside
    assert.equal(read(join(dataDir, "shoes.csv")), true);
    return Promise.resolve();
  });
});

Deno.test("a process whose broker has gone away ends instead of reading on", async () => {
  await withFolders(async ({ dataDir, outDir, outsideDir }) => {
    const socketPath = join(outsideDir, "b.sock");
    const policy = notebookPolicy({
      workingDir: dataDir,
      readable: [dataDir],
      writable: [outDir],
      ports: [],
    });
    const broker = startPermissionBroker({ socketPath, policy });
    const file = JSON.stringify(join(dataDir, "shoes.csv"));
    const child = new Deno.Command(Deno.execPath(), {
      args: [
        "eval",
        `console.log(Deno.readTextFileSync(${file}).length);
         await Deno.stdin.read(new Uint8Array(1));
         console.log(Deno.readTextFileSync(${file}).length);`,
      ],
      env: { DENO_PERMISSION_BROKER_PATH: socketPath },
      stdin: "piped",
      stdout: "piped",
      stderr: "null",
    }).spawn();
    const reader = child.stdout.pipeThrough(new TextDecoderStream()).getReader();
    assert.equal((await reader.read()).value, "11\n");
    broker.close();
    await child.stdin.close();
    assert.equal((await reader.read()).done, true);
    assert.notEqual((await child.status).code, 0);
  });
});
