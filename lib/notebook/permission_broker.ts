import { basename, dirname, isAbsolute, join, resolve, sep } from "node:path";
import type { MarkGate } from "./prepare_kernel.ts";

/**
 * Keeps a notebook's cells inside the folders they were given.
 *
 * Deno asks a broker, over a Unix socket, before every access that needs a permission. A broker that
 * has gone away ends the asking process, so a dead broker never opens anything.
 *
 * What the broker is not asked, the kernel closes before the first cell (see prepare_kernel.ts).
 */

/** What Deno asks: a kind of access and its object; a null object means all of that kind. */
export type PermissionQuestion = {
  readonly permission: string;
  readonly value: string | null;
};

/** The answer; a refusal says why, in words a cell's author reads in the error. */
export type PermissionAnswer =
  | { readonly allow: true }
  | { readonly allow: false; readonly reason: string };

/** The rule by which a kernel's questions are answered. */
export type PermissionPolicy = {
  answer(question: PermissionQuestion): PermissionAnswer;
  /** From now on the kernel's own ports are closed too: the first cell is about to run. */
  seal(): void;
};

/** A broker that listens. */
export type PermissionBroker = { close(): void };

/**
 * Environment variables that packages of the kit look at while they load. None of them is set in the
 * kernel, so allowing the look tells a cell nothing; refusing it would stop the import.
 */
const harmlessVariables: ReadonlySet<string> = new Set([
  "GRACEFUL_FS_PLATFORM", // graceful-fs, through read-excel-file
  "TEST_GRACEFUL_FS_GLOBAL_PATCH", // graceful-fs
  "NODE_V8_COVERAGE",
  "NODE_DEBUG",
  "NODE_ENV",
]);

const yes: PermissionAnswer = { allow: true };
const no = (reason: string): PermissionAnswer => ({ allow: false, reason });

/**
 * What may a notebook's cells touch?
 *
 * They read the folders in `readable` and `writable`, write those in `writable`, and nothing else: no
 * connection, no program, no environment, no machine details, no native code, no code from the net.
 * Paths are compared after `..` and symbolic links are resolved.
 *
 * @param workingDir the folder the kernel starts in; relative paths are meant from there
 * @param ports the kernel's own ports, which it may open until `seal()`
 * @param hidden folders inside the readable ones that stay closed, such as version control
 */
export function notebookPolicy(
  { workingDir, readable, writable, ports, hidden = [] }: {
    readonly workingDir: string;
    readonly readable: readonly string[];
    readonly writable: readonly string[];
    readonly ports: readonly number[];
    readonly hidden?: readonly string[];
  },
): PermissionPolicy {
  const writeRoots = realFolders(writable);
  const readRoots = [...realFolders(readable), ...writeRoots];
  const paths = pathPolicy(workingDir, realFolders(hidden));
  const ownPorts = new Set(ports.map((port) => `127.0.0.1:${port}`));
  let sealed = false;
  const answer = ({ permission, value }: PermissionQuestion): PermissionAnswer => {
    switch (permission) {
      case "read": {
        if (value === null) return no("a notebook may not ask to read everything");
        const given = paths.answer(value, readRoots, "read");
        if (given.allow) paths.remember(value);
        return given;
      }
      case "write":
        if (value === null) return no("a notebook may not ask to write everywhere");
        return paths.answer(value, writeRoots, "write");
      case "net":
        if (!sealed && value !== null && ownPorts.has(value)) return yes;
        return no("a notebook opens no connections");
      case "env":
        if (value !== null && harmlessVariables.has(value)) return yes;
        return no("a notebook reads no environment; pass values as parameters");
      default:
        return no(
          refusals.get(permission) ?? `a notebook has no use for the permission "${permission}"`,
        );
    }
  };
  return { answer, seal: () => void (sealed = true) };
}

/** What is never given, and why. */
const refusals: ReadonlyMap<string, string> = new Map([
  ["import", "a notebook loads no code from the net"],
  ["run", "a notebook starts no programs"],
  ["sys", "a notebook learns nothing about the machine, so that results don't depend on it"],
  ["ffi", "a notebook loads no native code"],
]);

function realFolders(folders: readonly string[]): string[] {
  return folders.map((folder) => realPathOf(folder) ?? resolve(folder));
}

const MOST_FOLDERS = 200;

/**
 * Which paths lie inside the folders given?
 *
 * Paths arrive as the cell wrote them. A cell may change its folder, and that question looks like any
 * other read of a folder: so a relative path has to be allowed from every folder remembered so far.
 */
function pathPolicy(workingDir: string, hiddenRoots: readonly string[]) {
  const possibleFolders = new Set([realPathOf(workingDir) ?? resolve(workingDir)]);

  const realPathsOf = (value: string): (string | null)[] => {
    const starts = isAbsolute(value) ? [sep] : [...possibleFolders];
    // Both readings of "link/..": as the system follows it, and as a path library shortens it.
    return starts.flatMap((start) => {
      const written = isAbsolute(value) ? value : `${start}${sep}${value}`;
      const shortened = resolve(start, value);
      return shortened === written
        ? [realPathOf(written)]
        : [realPathOf(written), realPathOf(shortened)];
    });
  };
  const isIn = (real: string | null, roots: readonly string[]) =>
    real !== null && roots.some((root) => isWithin(real, root));

  return {
    answer: (value: string, roots: readonly string[], verb: "read" | "write"): PermissionAnswer => {
      // There the system shows each process itself: what is meant differs between the asking and this one.
      if (/^\/(proc|dev|sys)(\/|$)/.test(resolve(value))) {
        return no(`a notebook may not ${verb} what the system shows of itself`);
      }
      if (/^<.*>$/.test(value)) return no(`a notebook may not ${verb} ${value}`);
      if (!isAbsolute(value) && possibleFolders.size > MOST_FOLDERS) {
        return no(`relative paths are closed after ${MOST_FOLDERS} folders; give the whole path`);
      }
      const paths = realPathsOf(value);
      if (paths.every((real) => isIn(real, roots) && !isIn(real, hiddenRoots))) return yes;
      const moved = !isAbsolute(value) && possibleFolders.size > 1 &&
        paths.some((real) => isIn(real, roots));
      return no(
        moved
          ? `"${value}" depends on the current folder, which a cell may have changed; give the whole path`
          : verb === "read"
          ? `a notebook reads only the kit, its data folder and its out folder`
          : `a notebook writes only its out folder`,
      );
    },
    remember: (value: string) => {
      for (const real of realPathsOf(value)) {
        try {
          if (real !== null && Deno.statSync(real).isDirectory) possibleFolders.add(real);
        } catch { /* nothing there, so nothing to change to */ }
      }
    },
  };
}

/**
 * Listens on a Unix socket and answers each question by the policy.
 *
 * A question for a mark in the kernel's output is answered when the gate has heard the mark.
 * A question that cannot be understood closes the connection, which ends the asking process.
 *
 * @throws if the socket cannot be made, saying where
 */
export function startPermissionBroker(
  { socketPath, policy, gate }: {
    readonly socketPath: string;
    readonly policy: PermissionPolicy;
    readonly gate?: MarkGate;
  },
): PermissionBroker {
  if (new TextEncoder().encode(socketPath).length > 100) {
    throw new RangeError(
      `Cannot listen on ${socketPath}: the path is longer than a Unix socket takes (100 bytes)`,
    );
  }
  const listener = Deno.listen({ transport: "unix", path: socketPath });
  const open = new Set<Deno.UnixConn>();
  (async () => {
    try {
      for await (const connection of listener) {
        open.add(connection);
        converse(connection, policy, gate).catch(() => {}).finally(() => {
          open.delete(connection);
          closeQuietly(connection);
        });
      }
    } catch { /* closed */ }
  })();
  return {
    close: () => {
      closeQuietly(listener);
      for (const connection of open) closeQuietly(connection);
      try {
        Deno.removeSync(socketPath);
      } catch { /* already gone */ }
    },
  };
}

/** Paths are shorter on every system. */
const LONGEST_QUESTION = 1_000_000;

async function converse(
  connection: Deno.UnixConn,
  policy: PermissionPolicy,
  gate: MarkGate | undefined,
): Promise<void> {
  const decoder = new TextDecoder();
  const buffer = new Uint8Array(16_384);
  let pending = "";
  for (
    let read = await connection.read(buffer);
    read !== null;
    read = await connection.read(buffer)
  ) {
    pending += decoder.decode(buffer.subarray(0, read), { stream: true });
    const lines = pending.split("\n");
    pending = lines.pop()!;
    if (pending.length > LONGEST_QUESTION) throw new RangeError("A question without an end");
    for (const line of lines) {
      const { id, permission, value } = JSON.parse(line);
      const mark = permission === "env" && value ? gate?.whenHeard(value) ?? null : null;
      await mark;
      const given = mark ? yes : policy.answer({ permission, value: value ?? null });
      const reply = given.allow
        ? { id, result: "allow" }
        : { id, result: "deny", reason: given.reason };
      await sendAll(connection, new TextEncoder().encode(JSON.stringify(reply) + "\n"));
    }
  }
}

async function sendAll(connection: Deno.UnixConn, bytes: Uint8Array): Promise<void> {
  for (let sent = 0; sent < bytes.length;) sent += await connection.write(bytes.subarray(sent));
}

/**
 * A path with every symbolic link followed; the part that does not exist yet is kept as it is.
 *
 * Null when it cannot be told: a forbidden folder on the way, or `..` behind a missing folder.
 */
function realPathOf(path: string): string | null {
  const missing: string[] = [];
  for (let existing = path;;) {
    try {
      return join(Deno.realPathSync(existing), ...missing);
    } catch (error) {
      if (!(error instanceof Deno.errors.NotFound)) return null;
    }
    // A dangling link is "not found" too, yet a write would go where it points.
    if (isLink(existing)) return null;
    const name = basename(existing);
    const parent = dirname(existing);
    if (name === ".." || parent === existing) return null;
    if (name !== ".") missing.unshift(name);
    existing = parent;
  }
}

function isLink(path: string): boolean {
  try {
    return Deno.lstatSync(path).isSymlink;
  } catch (error) {
    return !(error instanceof Deno.errors.NotFound);
  }
}

function isWithin(path: string, folder: string): boolean {
  return path === folder || path.startsWith(folder.endsWith(sep) ? folder : folder + sep);
}

function closeQuietly(resource: { close(): void }): void {
  try {
    resource.close();
  } catch { /* already closed */ }
}
