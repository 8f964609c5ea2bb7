/** A program whose end can be waited for and told. */

/** A child process of which one can tell how it ended. */
export type WatchedProcess = {
  readonly death: Promise<void>;
  ended(): boolean;
  /** The end of what it wrote to standard error. */
  lastWords(): string;
  /** One sentence: that it ended, how, and what it said. */
  obituary(): string;
};

/** Watches a child process and keeps the end of what it says. */
export function watch(child: Deno.ChildProcess): WatchedProcess {
  let status: Deno.CommandStatus | null = null;
  let words = "";
  const reading = (async () => {
    try {
      for await (const text of child.stderr.pipeThrough(new TextDecoderStream())) {
        words = (words + text).slice(-4_000);
      }
    } catch { /* closed */ }
  })();
  const death = child.status.then(async (ended) => {
    // Its last words may still be in the pipe, but a grandchild could hold that open.
    await within(200, reading);
    status = ended;
  });
  return {
    death,
    ended: () => status !== null,
    lastWords: () => words,
    obituary: () => {
      const how = status?.signal ? `signal ${status.signal}` : `exit code ${status?.code}`;
      if (/heap out of memory|heap limit/i.test(words)) {
        return `The kernel died: ${how}, it ran out of memory`;
      }
      const said = words.split("\n").map((line) => line.trim())
        .filter((line) =>
          line !== "" && !/^(Warning|Download|Initialize|CDP response) ?/.test(line)
        ).at(-1);
      return `The kernel died: ${how}${said ? ` ("${said}")` : ""}`;
    },
  };
}

/** The reply, or the word that the process has ended or the time is up first. */
export async function firstOf<T>(
  { reply, death, limitMs }: {
    readonly reply: Promise<T>;
    readonly death: Promise<void>;
    readonly limitMs: number | undefined;
  },
): Promise<T | "dead" | "late"> {
  let timer: ReturnType<typeof setTimeout> | undefined;
  const limit = new Promise<"late">((resolve) => {
    if (limitMs !== undefined) timer = setTimeout(() => resolve("late"), limitMs);
  });
  try {
    reply.catch(() => {}); // a broken connection: the process's end says more
    const answered = reply.catch(() => new Promise<never>(() => {}));
    return await Promise.race([answered, death.then(() => "dead" as const), limit]);
  } finally {
    clearTimeout(timer);
  }
}

/** Waits for an event, but no longer than so. */
export async function within(limitMs: number, event: Promise<unknown>): Promise<void> {
  let timer: ReturnType<typeof setTimeout> | undefined;
  await Promise.race([event, new Promise((resolve) => timer = setTimeout(resolve, limitMs))]);
  clearTimeout(timer);
}

/** A time as people say it. */
export function secondsOf(ms: number): string {
  return `${ms / 1000} s`;
}
