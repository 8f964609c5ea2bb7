import type { ExecutedNotebook } from "../notebook/page.ts";
import { plainProse } from "../notebook/page_text.ts";

const WIDTH = 96;

/** What was written, the same way after every task: a heading and a path a line. */
export function writtenLines(paths: readonly string[]): readonly string[] {
  return ["Written:", ...paths.map((path) => `  ${path}`)];
}

/**
 * What matters of a notebook's run, for a terminal?
 *
 * What its cells tagged `summary` showed, without Markdown's signs: a heading, then its items, wrapped.
 *
 * @returns lines; empty where the notebook has no summary
 */
export function closingSummary({ cells }: ExecutedNotebook): readonly string[] {
  const prose = cells.filter(({ metadata }) => metadata?.tags?.includes("summary"))
    .flatMap(({ outputs }) => outputs ?? [])
    .map(({ data }) => data?.["text/markdown"] ?? "")
    .map((text) => Array.isArray(text) ? text.join("") : String(text));
  return prose.join("\n").split("\n").filter((line) => line.trim() !== "").flatMap((line) => {
    const [, sign = "", text = line] = /^(#+|[-*]|\d+\.)\s+(.*)$/.exec(line) ?? [];
    const words = plainProse(text);
    if (sign.startsWith("#")) return [`${words}:`];
    return wrapped(words, WIDTH - 4).map((part, index) => (index === 0 ? "  - " : "    ") + part);
  });
}

/** Words in lines that a terminal shows whole. */
export function wrapped(text: string, width = WIDTH): string[] {
  const lines: string[] = [];
  for (const word of text.split(/\s+/)) {
    const last = lines.at(-1);
    if (last !== undefined && last.length + 1 + word.length <= width) {
      lines[lines.length - 1] = `${last} ${word}`;
    } else lines.push(word);
  }
  return lines;
}
