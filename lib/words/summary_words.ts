/** What a reader with one minute takes away of a notebook. */
export type NotebookSummary = {
  /** The answer. */
  readonly know: readonly string[];
  /** What follows from it. */
  readonly act: readonly string[];
  /** The same as Markdown: two headings, each with its list. */
  readonly markdown: string;
};

/**
 * How does an answer stand at the top of a notebook? What to know, then what to do next.
 *
 * @param act what is to be done; nothing pressing if it is empty
 */
export function notebookSummary(
  know: readonly string[],
  act: readonly string[],
): NotebookSummary {
  const todo = act.length === 0 ? ["Nothing is pressing."] : act;
  return {
    know,
    act: todo,
    markdown: `## What to know\n\n${markdownList(know)}\n\n## What to do next\n\n${
      markdownList(todo)
    }\n`,
  };
}

/** A list in Markdown whose items stay text. */
export function markdownList(items: readonly string[]): string {
  return items.map((item) => `- ${inertText(item)}`).join("\n");
}

/** Names come from the data: none of them may become Markdown. */
export function inertText(text: string): string {
  // Some readers of Markdown know no backslash before < and &, and show it.
  return text.replaceAll("&", "&amp;").replaceAll("<", "&lt;")
    .replaceAll(/[\\`*_[\]>#|~]/g, "\\$&").replaceAll("\n", " ");
}
