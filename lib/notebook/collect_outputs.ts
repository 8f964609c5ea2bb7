import type { JupyterMessage } from "./messages.ts";
import type {
  DisplayOutput,
  ErrorOutput,
  MediaBundle,
  Output,
  ResultOutput,
  StreamOutput,
} from "./notebook_format.ts";

type Changing<T> = { -readonly [K in keyof T]: T[K] };
type Shown = Changing<DisplayOutput | ResultOutput>;

/** Displays that may still be updated, by display id, over all cells of one kernel. */
export type LiveDisplays = Map<string, Shown[]>;

/** Gathers one cell's outputs, as a front end would show them. */
export type OutputCollector = {
  /** Takes one iopub message; returns whether it changed what is shown. */
  add(message: JupyterMessage): boolean;
  /**
   * Puts the error that ended the cell behind everything else it put out.
   *
   * The kernel sends that error past the queue in which the other outputs wait.
   */
  endWith(error: Pick<ErrorOutput, "ename" | "evalue">): void;
  /** Adds an error of our own making, when the kernel sent none. */
  addError(error: Omit<ErrorOutput, "output_type">): void;
  /** What the cell shows now. A later cell may still update a display in it. */
  readonly outputs: readonly Output[];
  /** The last error among the outputs, if there is one. */
  error(): ErrorOutput | null;
};

/**
 * What does a cell show, given the messages of its run?
 *
 * Texts of one stream that follow each other become one output; an updated display shows only its last
 * state; a cleared output is gone, at once or when the next one comes.
 */
export function outputCollector(
  { displays }: { readonly displays: LiveDisplays },
): OutputCollector {
  const outputs: Output[] = [];
  let clearBeforeNext = false;

  const push = (output: Output) => {
    if (clearBeforeNext) outputs.length = 0;
    clearBeforeNext = false;
    outputs.push(output);
  };

  const addText = (name: "stdout" | "stderr", text: string) => {
    const last = outputs.at(-1);
    if (!clearBeforeNext && last?.output_type === "stream" && last.name === name) {
      (last as Changing<StreamOutput>).text += text;
    } else push({ output_type: "stream", name, text });
  };

  const add = (message: JupyterMessage): boolean => {
    const content = message.content;
    const data = content.data as MediaBundle;
    const metadata = (content.metadata ?? {}) as Record<string, unknown>;
    const displayId = (content.transient as { display_id?: string } | undefined)?.display_id;
    switch (message.header.msg_type) {
      case "stream":
        addText(content.name as "stdout" | "stderr", String(content.text));
        return true;
      case "display_data":
      case "execute_result": {
        const shown: Shown = message.header.msg_type === "display_data"
          ? { output_type: "display_data", data, metadata }
          : {
            output_type: "execute_result",
            execution_count: (content.execution_count as number | undefined) ?? null,
            data,
            metadata,
          };
        push(shown);
        if (displayId) displays.set(displayId, [...displays.get(displayId) ?? [], shown]);
        return true;
      }
      case "update_display_data":
        for (const shown of displays.get(displayId ?? "") ?? []) {
          shown.data = data;
          shown.metadata = metadata;
        }
        return true;
      case "clear_output":
        if (content.wait) clearBeforeNext = true;
        else outputs.length = 0;
        return true;
      case "error":
        push(errorOutput(content));
        return true;
      default:
        return false;
    }
  };

  return {
    outputs,
    add,
    endWith: ({ ename, evalue }) => {
      const at = outputs.findIndex((output) =>
        output.output_type === "error" && output.ename === ename && output.evalue === evalue
      );
      if (at >= 0) outputs.push(...outputs.splice(at, 1));
      joinTexts(outputs);
    },
    addError: (error) => push(errorOutput(error)),
    error: () =>
      (outputs.findLast((output) => output.output_type === "error") ?? null) as
        | ErrorOutput
        | null,
  };
}

/** Texts of one stream that have become neighbours are one output. */
function joinTexts(outputs: Output[]): void {
  for (let i = outputs.length - 1; i > 0; i--) {
    const [before, after] = [outputs[i - 1], outputs[i]];
    if (before.output_type !== "stream" || after.output_type !== "stream") continue;
    if (before.name !== after.name) continue;
    outputs.splice(i - 1, 2, { ...before, text: before.text + after.text });
  }
}

function errorOutput(content: Readonly<Record<string, unknown>>): ErrorOutput {
  const traceback = Array.isArray(content.traceback) ? content.traceback : [];
  return {
    output_type: "error",
    ename: String(content.ename ?? "Error"),
    evalue: String(content.evalue ?? ""),
    traceback: traceback.map(String),
  };
}
