/**
 * How does a declaration read in its file, up to what it does?
 *
 * @param source text of the file
 * @param line of the declaration, from 1
 * @returns a function's signature with the comments on its options, a type whole; the first line of anything else
 */
export function declarationText(source: string, line: number): string {
  const start = source.split("\n", line - 1).join("\n").length + (line > 1 ? 1 : 0);
  const text = source.slice(start);
  const isType = /^export (?:type|interface) /.test(text);
  const isFunction = /^export (?:async )?function\b/.test(text);
  if (!isType && !isFunction) return text.slice(0, text.search(/[\n{]|$/)).trim();
  const end = isType ? endOfType(text) : endOfSignature(text);
  return text.slice(0, end).replace(/^export /, "").trim();
}

/** Pieces of a declaration that are read as one: comments, texts, arrows, then every other letter. */
const piece = /\/\/[^\n]*|\/\*[\s\S]*?\*\/|"(?:\\.|[^"\\])*"|'(?:\\.|[^'\\])*'|`[^`]*`|=>|[\s\S]/g;

function endOfType(text: string): number {
  let depth = 0;
  for (const { 0: token, index } of text.matchAll(piece)) {
    if ("([{".includes(token)) depth++;
    else if (")]}".includes(token)) depth--;
    else if (token === ";" && depth === 0) return index;
  }
  return text.length;
}

// The body opens where a brace stands behind a whole type; behind `:`, `|`, `&`, `<` or an arrow it is a type itself.
function endOfSignature(text: string): number {
  let depth = 0;
  let last = "";
  for (const { 0: token, index } of text.matchAll(piece)) {
    if (/^\s$|^\/[/*]/.test(token)) continue;
    if (token === "{" && depth === 0 && !/^(:|\||&|<|,|=>)$/.test(last)) return index;
    if ("([{".includes(token)) depth++;
    else if (")]}".includes(token)) depth--;
    last = token;
  }
  return text.length;
}
