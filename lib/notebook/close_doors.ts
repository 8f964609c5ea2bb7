/**
 * What the runtime opens without asking the permission broker, and how it is closed in a kernel.
 *
 * A module of the runtime can't be made unloadable, but its objects can be emptied before a cell sees
 * them: nobody gets back a method that was replaced before the first cell ran.
 */

/** What a cell reads when it tries one of them. */
const reasons = {
  sqlite: "a notebook opens no SQLite database: its engine opens and deletes files unasked",
  wasi: "a notebook starts no WASI program: it makes links and uses open files unasked",
  descriptors: "a notebook takes over no open file of its kernel",
  workers: "a notebook starts no workers of its own; inBackground() runs a study beside its cells",
};

/**
 * Code that closes them; run silently, in a block of its own, before any cell.
 *
 * SQLite: the broker is asked for the database's path alone, but recovery deletes whatever file a forged
 * journal names, and temporary files go wherever a pragma says.
 *
 * WASI and handles made from a number: they reach any file that the process holds open, the connection to
 * the broker among them, on which a forged question would answer the next real one; WASI also makes links
 * that lead out of its folder.
 *
 * Workers: each would be a fresh realm with all of these open again, and with storage that outlives the
 * run. Only the kit's own background worker is started, which runs no code of a cell.
 *
 * The runtime's inner workings and the graphics adapter are hidden.
 *
 * @param worker address of the one module that may be started as a worker
 * @param watch address of the module that watches over the keeper, started here as a worker
 */
export function closeDoorsCode(
  { worker, watch }: { readonly worker: string; readonly watch: string },
): string {
  return `{
  const { defineProperty, freeze, getOwnPropertyDescriptor, getPrototypeOf, preventExtensions,
    setPrototypeOf } = Object;
  const { construct, ownKeys } = Reflect;
  const { NotCapable } = Deno.errors;
  const text = String;
  const refusal = (reason) => function () { throw new NotCapable(reason); };
  const fix = (object, key, value) =>
    defineProperty(object, key, { value, writable: false, enumerable: false, configurable: false });
  const empty = (object, reason) => {
    for (const key of ownKeys(object)) {
      if (key === "constructor") continue;
      const isGetter = getOwnPropertyDescriptor(object, key).get !== undefined;
      if (isGetter) defineProperty(object, key, { get: refusal(reason), configurable: false });
      else fix(object, key, refusal(reason));
    }
    preventExtensions(object);
  };
  const builtin = process.getBuiltinModule;

  const { DatabaseSync, StatementSync } = builtin("node:sqlite");
  for (const { prototype } of [DatabaseSync, StatementSync]) {
    const native = getPrototypeOf(prototype);
    empty(prototype, ${JSON.stringify(reasons.sqlite)});
    if (native !== Object.prototype) empty(native, ${JSON.stringify(reasons.sqlite)});
  }
  empty(builtin("node:wasi").WASI.prototype, ${JSON.stringify(reasons.wasi)});

  const handles = [["pipe_wrap", "Pipe"], ["tcp_wrap", "TCP"], ["udp_wrap", "UDP"]];
  for (const [binding, name] of handles) {
    const { prototype } = process.binding(binding)[name];
    fix(prototype, "open", refusal(${JSON.stringify(reasons.descriptors)}));
  }
  fix(process, "binding", refusal(${JSON.stringify(reasons.descriptors)}));

  // A class calls the one it extends first: that one is exchanged, so a class that was kept is of no use.
  const OriginalWorker = Worker;
  const asModule = freeze({ __proto__: null, type: "module" });
  new OriginalWorker(${JSON.stringify(watch)}, asModule);
  const OriginalTarget = EventTarget;
  let opening = false;
  const gate = function () {
    if (!opening) throw new NotCapable(${JSON.stringify(reasons.workers)});
    opening = false;
    return construct(OriginalTarget, [], new.target);
  };
  const NodeWorker = builtin("node:worker_threads").Worker;
  setPrototypeOf(OriginalWorker, gate);
  setPrototypeOf(NodeWorker, refusal(${JSON.stringify(reasons.workers)}));
  preventExtensions(OriginalWorker);
  preventExtensions(NodeWorker);
  const KitWorker = function Worker(address) {
    if (text(address) !== ${JSON.stringify(worker)}) {
      throw new NotCapable(${JSON.stringify(reasons.workers)});
    }
    opening = true;
    try {
      return construct(OriginalWorker, [${JSON.stringify(worker)}, asModule]);
    } finally {
      opening = false;
    }
  };
  KitWorker.prototype = OriginalWorker.prototype;
  fix(OriginalWorker.prototype, "constructor", KitWorker);
  fix(globalThis, "Worker", KitWorker);

  const { Console, inspectArgs, jupyter } = Deno[Deno.internal];
  fix(Deno, Deno.internal, { Console, inspectArgs, jupyter });
  delete Navigator.prototype.gpu;
}`;
}
