import type { ComparedOn } from "../studies/comparison/compared_on.ts";
import { measured } from "../words/comparison/answer_words.ts";

/** Limits in a cell; empty where there are none. */
export function interval(
  lower: number | null,
  upper: number | null,
  on: Pick<ComparedOn, "unit" | "decimals">,
): string {
  const [from, to] = [lower, upper].map((end) =>
    end === null ? null : measured(end, on, { lower, upper })
  );
  return from === null || to === null ? "" : `${from} to ${to}`;
}

/** A Markdown table. */
export function table(header: readonly string[], rows: readonly (readonly string[])[]): string {
  const line = (cells: readonly string[]) => `| ${cells.join(" | ")} |`;
  return [line(header.map(text)), line(header.map(() => "---")), ...rows.map(line)].join("\n");
}

/** Names from the data stay words: nothing in them may turn into a heading, a link or a column. */
export function text(words: string): string {
  return words.replace(/\s+/g, " ").replace(/[\\`*_[\]<>|#~]/g, "\\$&");
}
