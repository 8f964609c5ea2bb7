import { escapeMarkup } from "../markup_text.ts";

/** Text made inert for HTML and XML, in content and in quoted attributes. */
export function escapeHtml(text: string): string {
  // deno-lint-ignore no-control-regex -- XML allows no other control characters, even escaped
  const legal = text.replace(/[\u0000-\u0008\u000b\u000c\u000e-\u001f\ufffe\uffff]/g, "");
  return escapeMarkup(legal).replaceAll("'", "&#39;");
}

/** A notebook keeps long text as a list of lines or as one string. */
export function joinedText(text: unknown): string {
  if (typeof text === "string") return text;
  if (Array.isArray(text)) return text.filter((line) => typeof line === "string").join("");
  return "";
}

/** Markdown as one line of plain words, to look sentences up in. */
export function plainProse(markdown: string): string {
  return markdown.replace(/\\([\\`*_[\]<>#|~])/g, "$1").replaceAll("&lt;", "<")
    .replaceAll("&amp;", "&").replace(/\s+/g, " ");
}

/** Terminal text without colour codes; a line that was redrawn with `\r` shows its last state. */
export function plainTerminalText(text: string): string {
  return text
    // deno-lint-ignore no-control-regex -- these are the codes to remove
    .replace(/\u001b\[[0-9;?]*[ -/]*[@-~]|\u001b\][^\u0007\u001b]*(?:\u0007|\u001b\\)/g, "")
    .replaceAll("\r\n", "\n")
    .replace(/[^\n]*\r(?!\n)/g, "");
}
