import assert from "node:assert/strict";
import { join } from "node:path";
import { controlCharacters } from "../../lib/records/control_characters.ts";
import { kitDir, withFolders, withKernel } from "../notebook/with_kernel.ts";

/** What cells try, by kind; each has to end in the error that says that a notebook may not. */
function attempts(
  { data, out, outside }: { readonly data: string; readonly out: string; readonly outside: string },
): Readonly<Record<string, readonly string[]>> {
  const secret = JSON.stringify(join(outside, "secret.json"));
  const spoil = JSON.stringify(join(outside, "spoilt.txt"));
  const inOut = (name: string) => JSON.stringify(join(out, name));
  const table = JSON.stringify(join(data, "shoes.csv"));
  const fs = `process.getBuiltinModule("node:fs")`;
  const module = `process.getBuiltinModule("node:module")`;
  return {
    "reads a file outside": [
      `Deno.readTextFileSync(${secret})`,
      `Deno.openSync(${secret})`,
      `await (await Deno.open(${secret})).stat()`,
      `Deno.statSync(${secret})`,
      `Deno.realPathSync(${secret})`,
      `[...Deno.readDirSync(${JSON.stringify(outside)})]`,
      `Deno.copyFileSync(${secret}, ${inOut("copy")})`,
      `Deno.watchFs(${JSON.stringify(outside)})`,
      `${fs}.readFileSync(${secret})`,
      `${fs}.cpSync(${secret}, ${inOut("copy")})`,
      `${fs}.opendirSync(${JSON.stringify(outside)})`,
      `await new Promise((_, e) => ${fs}.watch(${JSON.stringify(outside)}).on("error", e))`,
      `${fs}.statfsSync(${JSON.stringify(outside)})`,
      `await (await ${fs}.openAsBlob(${secret})).text()`,
      `await (await import("node:fs/promises")).open(${secret})`,
      `await fetch("file://" + ${secret})`,
      `${module}._stat(${secret})`,
      `${module}.findPackageJSON("file://" + ${secret})`,
      `${module}.createRequire("file:///x.js")(${secret})`,
      `process.loadEnvFile(${secret})`,
      `await import("file://" + ${secret}, { with: { type: "json" } })`,
      `await import("file://" + ${secret}, { with: { type: "text" } })`,
      `Deno.readTextFileSync("/proc/self/environ")`,
      `Deno.readTextFileSync("/proc/self/fd/0")`,
      `Deno.readTextFileSync("/dev/fd/3")`,
      `Deno.chdir(${JSON.stringify(outside)})`,
      `process.chdir("/")`,
      `Deno.chdir(${JSON.stringify(out)}); Deno.readTextFileSync("../outside/secret.json")`,
      // The working folder moves under the cell's feet, so that its "../.." leads elsewhere than its name.
      `Deno.mkdirSync(${inOut("p/q")}, { recursive: true }); Deno.chdir(${inOut("p/q")});
       Deno.renameSync(${inOut("p/q")}, ${
        inOut("z")
      }); Deno.readTextFileSync("../../outside/secret.json")`,
      `Deno.readTextFileSync("../../../outside/secret.json")`,
      `Deno.readLinkSync("/proc/self/cwd")`,
      `${fs}.accessSync(${secret})`,
      `${fs}.existsSync(${secret})`,
      `${fs}.readlinkSync("/proc/self/exe")`,
      `${fs}.realpathSync.native("/etc/hostname")`,
      `await new Promise((r, e) => ${fs}.glob(${
        inOut("../outside/*")
      }, (error, all) => error ? e(error) : r(all)))`,
      `await new Promise((r, e) => ${fs}.createReadStream(null, { fd: 9 }).on("error", e).on("data", r))`,
      `${fs}.readSync(9, new Uint8Array(10))`,
      `${fs}.writeSync(9, "x")`,
      `${module}.createRequire("file:///etc/x.js").resolve("./hostname")`,
      `process.report.getReport().environmentVariables.HOME.length`,
    ],
    "changes a file outside": [
      `Deno.writeTextFileSync(${spoil}, "x")`,
      `Deno.truncateSync(${secret})`,
      `Deno.removeSync(${secret})`,
      `Deno.renameSync(${secret}, ${inOut("taken")})`,
      `Deno.renameSync(${table}, ${inOut("taken")})`,
      `Deno.mkdirSync(${spoil})`,
      `Deno.makeTempFileSync()`,
      `Deno.makeTempDirSync({ dir: ${JSON.stringify(outside)} })`,
      `Deno.utimeSync(${secret}, 1, 1)`,
      `Deno.chmodSync(${secret}, 0o777)`,
      `Deno.chownSync(${secret}, 1, 1)`,
      `${fs}.appendFileSync(${secret}, "x")`,
      `${fs}.mkdtempSync(${spoil})`,
      `${fs}.rmSync(${secret})`,
      `${fs}.lutimesSync(${secret}, 1, 1)`,
      `await new Promise((r, e) => ${fs}.createWriteStream(${spoil}).on("error", e))`,
      `(await import("node:v8")).writeHeapSnapshot(${spoil})`,
      `${fs}.mkdtempDisposableSync(${spoil})`,
      `${fs}.ftruncateSync(9)`,
      `Deno.umask(0)`,
    ],
    "makes a link or follows one": [
      `Deno.symlinkSync(${JSON.stringify(outside)}, ${inOut("l")})`,
      `Deno.linkSync(${secret}, ${inOut("l")})`,
      `${fs}.symlinkSync(${JSON.stringify(outside)}, ${inOut("l")})`,
      `${fs}.linkSync(${secret}, ${inOut("l")})`,
      `Deno.readTextFileSync(${JSON.stringify(join(data, "link", "secret.json"))})`,
      `Deno.writeTextFileSync(${inOut("dangling")}, "x")`,
      `new (await import("node:wasi")).WASI({ version: "preview1", preopens: { "/": ${
        JSON.stringify(out)
      } } }).wasiImport`,
      `new (await import("node:wasi")).WASI({ version: "preview1" }).getImportObject()`,
    ],
    "reaches the net": [
      `await Deno.connect({ hostname: "127.0.0.1", port: 80 })`,
      `await Deno.connect({ transport: "unix", path: ${inOut("s")} })`,
      `Deno.listen({ port: 0 })`,
      `Deno.listenDatagram?.({ port: 0, transport: "udp" }) ?? Deno.listen({ port: 0 })`,
      `await fetch("http://127.0.0.1:8000/")`,
      `await fetch("https://example.org/")`,
      `await new Promise((_, e) => new WebSocket("ws://127.0.0.1:1").onerror = ({ error, message }) => e(error ?? message))`,
      `await Deno.resolveDns("example.org", "A")`,
      `await (await import("node:dns")).promises.lookup("example.org")`,
      `await (await import("node:dns")).promises.resolveTxt("example.org")`,
      `(await import("node:dns")).setServers(["127.0.0.1:53"])`,
      `await import("node:http").then((m) => new Promise((_, e) => m.get("http://127.0.0.1:1").on("error", e)))`,
      `await import("node:http2").then((m) => new Promise((_, e) => m.connect("http://127.0.0.1:1").on("error", e)))`,
      `await import("node:tls").then((m) => new Promise((_, e) => m.connect(443, "127.0.0.1").on("error", e)))`,
      `await Deno.connectTls({ hostname: "127.0.0.1", port: 1 })`,
      `Deno.createHttpClient({ proxy: { url: "http://127.0.0.1:1" } })`,
      `Deno.serve(() => new Response(""))`,
      `await new Promise((_, e) => process.getBuiltinModule("node:net").connect(80, "127.0.0.1").on("error", e))`,
      `await new Promise((_, e) => process.getBuiltinModule("node:net").createServer().on("error", e).listen(0))`,
      `{ const udp = process.getBuiltinModule("node:dgram").createSocket("udp4").bind(0, "127.0.0.1");
         await new Promise((resolve) => setTimeout(resolve, 300)); udp.address(); }`,
    ],
    "takes over an open file of the kernel": [
      ...[3, 4, 5, 6, 7, 8, 9, 12, 20, 24].map((fd) =>
        `new (process.getBuiltinModule("node:net").Socket)({ fd: ${fd} })`
      ),
      `process.binding("pipe_wrap")`,
      `process.binding("tcp_wrap")`,
      `new (await import("node:wasi")).WASI({ version: "preview1", stdout: 9 }).wasiImport.fd_write`,
    ],
    "loads code from elsewhere": [
      `await import("https://127.0.0.1:1/x.ts")`,
      `await import("file:///etc/hostname")`,
      `Deno.dlopen("/lib/x.so", {})`,
      `process.dlopen({ exports: {} }, "/lib/x.node")`,
      `${module}.createRequire("file:///x.js")("/lib/x.node")`,
      `${module}.createRequire("file:///usr/lib/node_modules/x.js").resolve("npm")`,
      `await import("npm:is-number@7.0.0")`,
      `await import("jsr:@std/path")`,
      `Deno.writeTextFileSync(${
        inOut("borrows.ts")
      }, "export { default } from 'file://" + ${secret} + "' with { type: 'json' }");
       await import("file://" + ${inOut("borrows.ts")})`,
    ],
    "starts or stops a program": [
      `new Deno.Command("ls").outputSync()`,
      `new Deno.Command("/bin/ls").spawn()`,
      `new Deno.Command(Deno.execPath(), { args: ["--version"] }).outputSync()`,
      `(await import("node:child_process")).execSync("ls")`,
      `(await import("node:child_process")).fork("x.js")`,
      `Deno.kill(1, "SIGCONT")`,
      `process.kill(process.ppid, "SIGTERM")`,
      `Deno.spawnAndWaitSync("ls")`,
      `(await import("node:cluster")).default.fork()`,
      `process.setuid(0)`,
      `process.kill(1, 0)`,
      `process._debugProcess(1)`,
    ],
    "asks about the machine": [
      `Deno.env.get("HOME")`,
      `Deno.env.toObject()`,
      `Deno.env.set("X", "1")`,
      `process.env.HOME.length`,
      `Deno.hostname()`,
      `Deno.networkInterfaces()`,
      `Deno.systemMemoryInfo()`,
      `Deno.osRelease()`,
      `Deno.loadavg()`,
      `(await import("node:os")).userInfo()`,
      `(await import("node:os")).setPriority(0, 10)`,
      `navigator.gpu.requestAdapter()`,
    ],
    "starts a worker": [
      `new Worker("data:text/javascript,1", { type: "module" })`,
      `new Worker(URL.createObjectURL(new Blob(["1"])), { type: "module" })`,
      `new (await import("node:worker_threads")).Worker("1", { eval: true })`,
      `Reflect.construct((await import("node:worker_threads")).Worker, ["1", { eval: true }], Array)`,
      `Object.setPrototypeOf((await import("node:worker_threads")).Worker, class {})`,
      `Object.setPrototypeOf(Object.getPrototypeOf(Worker.prototype).constructor, Object); new Worker.prototype.constructor("data:,")`,
    ],
    "debugs the runtime": [
      `new (await import("node:inspector")).Session().connect()`,
      `(await import("node:inspector")).open(0)`,
      `Deno[Deno.internal].core.resources()`,
      `new Function("return Deno[Deno.internal].core.ops")()`,
      `await import("data:text/javascript,export default Deno[Deno.internal].core.ops")`,
      `await import(URL.createObjectURL(new Blob(["export default Deno[Deno.internal].core.ops"], { type: "text/javascript" })))`,
      `(await import("node:vm")).runInNewContext("this.constructor.constructor('return Deno')()")[Deno.internal].core.ops`,
      `(await import("node:vm")).runInNewContext("Deno")`,
      `(await import("node:vm")).runInNewContext("process")`,
      `Deno[Deno.internal].core = 1; Deno[Deno.internal] = {}; Deno[Deno.internal].core.ops`,
    ],
    "opens a database": [
      `new (await import("node:sqlite")).DatabaseSync(":memory:").exec("select 1")`,
      `new (process.getBuiltinModule("node:sqlite").DatabaseSync)(${
        inOut("a.db")
      }).prepare("select 1")`,
      `new (${module}.createRequire("file:///x.js")("node:sqlite").DatabaseSync)(${
        inOut("b.db")
      }).exec("pragma journal_mode = wal")`,
      `{ const { DatabaseSync, backup } = await import("node:sqlite");
         await backup(new DatabaseSync(${inOut("a.db")}), ${inOut("c.db")}); }`,
      `{ const { DatabaseSync } = await import("node:sqlite");
         class Own extends DatabaseSync { get isOpen() { return true; } }
         new Own(${inOut("a.db")}).exec("select 1"); }`,
      `{ const { DatabaseSync } = await import("node:sqlite");
         Object.defineProperty(DatabaseSync.prototype, "exec", { value: () => 1 }); }`,
    ],
    "keeps something beyond the run": [
      `caches.open("x")`,
      `localStorage.setItem("x", "1")`,
      `sessionStorage.setItem("x", "1")`,
      `await Deno.openKv()`,
      `new CacheStorage().open("x")`,
    ],
  };
}

/** The runtime's own words count only where what was asked for is simply not there. */
const REFUSED =
  /a notebook |EPERM|EBADF|Bad file descriptor|Unsupported fd type|kit's lock file names|queryTxt UNKNOWN/;
const NOT_THERE =
  /a notebook |is not extensible|Cannot redefine|Cannot read properties of undefined|read.?only|is not defined|is not a function|Illegal constructor/;
const HIDDEN = [
  "asks about the machine",
  "starts a worker",
  "debugs the runtime",
  "opens a database",
  "keeps something beyond the run",
];

Deno.test("no cell gets out of the kit, the data and the out folder by any of the known kinds", async (t) => {
  await withKernel(async (kernel, { dataDir, outDir, outsideDir }) => {
    Deno.symlinkSync(outsideDir, join(dataDir, "link"));
    Deno.symlinkSync(join(outsideDir, "new.txt"), join(outDir, "dangling"));
    const before = Deno.readTextFileSync(join(outsideDir, "secret.json"));
    const kinds = attempts({ data: dataDir, out: outDir, outside: outsideDir });
    let tried = 0;
    for (const [kind, codes] of Object.entries(kinds)) {
      await t.step(`no cell ${kind}`, async () => {
        const expected = HIDDEN.includes(kind) ? NOT_THERE : REFUSED;
        const open: string[] = [];
        for (const code of codes) {
          const { error, alive } = await kernel.execute(code, { timeLimitMs: 10_000 });
          assert.ok(alive, code);
          const words = `${error?.ename}: ${error?.evalue}`;
          if (!expected.test(words)) open.push(`${code} → ${words}`);
          tried++;
        }
        assert.deepEqual(open, []);
      });
    }
    assert.ok(tried > 160, `only ${tried} were tried`);
    await t.step("nothing outside was changed", () => {
      assert.deepEqual([...Deno.readDirSync(outsideDir)].map((e) => e.name), ["secret.json"]);
      assert.equal(Deno.readTextFileSync(join(outsideDir, "secret.json")), before);
    });
  });
});

Deno.test("a forged journal in the out folder deletes nothing, because no database is opened", async () => {
  await withKernel(async (kernel, { outDir, outsideDir }) => {
    const victim = join(outsideDir, "victim.txt");
    Deno.writeTextFileSync(victim, "x");
    const { error } = await kernel.execute(`
      const { DatabaseSync, backup } = await import("node:sqlite");
      const name = new TextEncoder().encode(${JSON.stringify(victim)});
      const sum = name.reduce((total, byte) => total + byte, 0);
      const journal = new Uint8Array(512 + name.length + 16);
      const view = new DataView(journal.buffer);
      const magic = [0xd9, 0xd5, 0x05, 0xf9, 0x20, 0xa1, 0x63, 0xd7];
      journal.set(magic, 0);
      view.setUint32(20, 512); view.setUint32(24, 4096);
      journal.set(name, 512);
      view.setUint32(512 + name.length, name.length);
      view.setUint32(512 + name.length + 4, sum);
      journal.set(magic, 512 + name.length + 8);
      Deno.writeFileSync(${JSON.stringify(join(outDir, "a.db"))}, new Uint8Array(4096));
      Deno.writeFileSync(${JSON.stringify(join(outDir, "a.db-journal"))}, journal);
      const db = new DatabaseSync(${JSON.stringify(join(outDir, "a.db"))});
      try { await backup(db, ${JSON.stringify(join(outDir, "b.db"))}); } catch { /* refused */ }
      db.exec("select * from sqlite_master");`);
    assert.match(error?.evalue ?? "", /opens no SQLite database/);
    assert.equal(Deno.readTextFileSync(victim), "x");
  });
});

Deno.test("flags of the engine can't be changed by a cell, and a cell may set file modes in its out folder", async () => {
  await withKernel(async (kernel, { outDir }) => {
    const log = join(outDir, "v8.log");
    const { outputs, error } = await kernel.execute(`
      const { setFlagsFromString } = await import("node:v8");
      for (const flag of ["--allow-natives-syntax", "--log-all", "--logfile=${log}"]) setFlagsFromString(flag);
      let natives = true;
      try { new Function("%GetOptimizationStatus(eval)"); } catch { natives = false; }
      Deno.writeTextFileSync(${JSON.stringify(join(outDir, "mode"))}, "x");
      Deno.chmodSync(${JSON.stringify(join(outDir, "mode"))}, 0o6777);
      natives`);
    assert.equal(error, null);
    assert.deepEqual(outputs.map((o) => "data" in o && o.data["text/plain"]), ["false"]);
    assert.throws(() => Deno.statSync(log), Deno.errors.NotFound);
  });
});

Deno.test("an error's stack shows no line of a file that the code only claims to come from", async () => {
  await withKernel(async (kernel, { outsideDir }) => {
    const secret = join(outsideDir, "secret.json");
    Deno.writeTextFileSync(
      secret,
      JSON.stringify({
        version: 3,
        sources: ["UNDISCLOSED"],
        names: ["UNDISCLOSED"],
        mappings: "AAAAA",
      }),
    );
    for (
      const code of [
        `new Function("throw new Error('x')\\n//# sourceURL=file://${secret}")()`,
        `new Function("throw new Error('x')\\n//# sourceMappingURL=file://${secret}")()`,
        `await import("data:text/javascript,throw new Error('x')%0A//%23 sourceMappingURL=file://${secret}")`,
        `await import("data:text/javascript,throw new Error('x')%0A//%23 sourceURL=file://${secret}")`,
      ]
    ) {
      const { error, outputs } = await kernel.execute(code);
      assert.ok(error !== null, code);
      assert.ok(!JSON.stringify(outputs).includes("UNDISCLOSED"), code);
    }
  });
});

Deno.test("no path by which the system shows a process itself leads to one of the kernel's open files", async () => {
  await withKernel(async (kernel, { outDir, dataDir }) => {
    // Files that the keeper holds open in folders of the cell, under numbers that mean others in the kernel.
    using _held = Deno.openSync(join(dataDir, "shoes.csv"), { read: true });
    using _lock = Deno.openSync(join(outDir, "held"), { create: true, write: true });
    const { outputs, error } = await kernel.execute(`
      const open = [];
      for (let fd = 0; fd < 64; fd++) {
        for (const path of ["/proc/self/fd/", "/dev/fd/", "/proc/self/task/../fd/", "/proc/" + Deno.pid + "/fd/", "/./proc/self/fd/"]) {
          for (const way of [{ read: true }, { write: true, append: true }]) {
            try { Deno.openSync(path + fd, way); open.push(path + fd); } catch { /* refused */ }
          }
        }
      }
      for (const path of ["/proc/self/cwd/deno.json", "/proc/self/root/etc/hostname", "/dev/stdin", "/dev/tty", "/dev/null"]) {
        try { Deno.openSync(path); open.push(path); } catch { /* refused */ }
      }
      JSON.stringify(open)`);
    assert.equal(error, null);
    assert.deepEqual(outputs.map((o) => "data" in o && o.data["text/plain"]), ['"[]"']);
  });
});

Deno.test("what a cell throws reaches the terminal without its control codes", async () => {
  const { runNotebook } = await import("../../lib/notebook/run_notebook.ts");
  await withFolders(async ({ kitDir, dataDir, outDir }) => {
    const cell = (source: string) => ({
      cell_type: "code" as const,
      id: "a",
      metadata: {},
      source,
      outputs: [],
      execution_count: null,
    });
    for (
      const source of [
        `throw new Error("a\\u001b]0;title\\u0007\\u001b[2Jb\\u009b1m")`,
        `process.stderr.write("\\u001b]0;title\\u0007 last words"); Deno.exit(3)`,
      ]
    ) {
      const { failed } = await runNotebook({
        notebook: { cells: [cell(source)], metadata: {}, nbformat: 4, nbformat_minor: 5 },
        kitDir,
        dataDir,
        outDir,
      });
      assert.ok(failed !== null);
      assert.deepEqual(controlCharacters(failed.sentence), []);
    }
  });
});

Deno.test("the front of a task and the launcher of a kernel, which may start programs, load no package", async () => {
  for (const file of ["lib/tasks/start_task.ts", "lib/notebook/launch_kernel.ts"]) {
    const { stdout } = await new Deno.Command(Deno.execPath(), {
      args: ["info", "--json", file],
      cwd: kitDir,
    }).output();
    const { modules } = JSON.parse(new TextDecoder().decode(stdout));
    const names = modules.map(({ specifier }: { readonly specifier: string }) => specifier);
    assert.ok(names.length > 5, file);
    assert.deepEqual(names.filter((name: string) => !/^(file|node):/.test(name)), [], file);
  }
});
