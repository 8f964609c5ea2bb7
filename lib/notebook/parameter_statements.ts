/** A top-level statement of a cell without its comments and strings, and the line it starts on. */
type Statement = { readonly text: string; readonly written: string; readonly line: number };

/**
 * The names that a parameters cell declares. A run assigns to them, so they are declared by `let`.
 */
export function parameterNames(source: string): readonly string[] {
  return statements(source).flatMap(({ text }) =>
    /^let\s+([\p{L}_$][\p{L}\d_$]*)/u.exec(text)?.[1] ?? []
  );
}

/** What is wrong with a parameters cell, or null: it holds `let` declarations and nothing else. */
export function parametersProblem(
  source: string,
): { readonly message: string; readonly line: number | null } | null {
  const found = statements(source);
  if (found.length === 0) return { message: "a parameters cell without a parameter", line: null };
  const odd = found.find(({ text }) => !/^let\s+[\p{L}_$]/u.test(text));
  if (!odd) return null;
  const start = odd.written.split("\n")[0].slice(0, 40);
  return { message: `found "${start}", expected only "let name = value;" here`, line: odd.line };
}

/** Cuts source at the semicolons and unindented lines that stand outside brackets and strings. */
function statements(source: string): readonly Statement[] {
  const plain = withoutWords(source);
  const found: Statement[] = [];
  let depth = 0;
  let start = 0;
  const take = (end: number) => {
    const text = plain.slice(start, end);
    const indent = text.length - text.trimStart().length;
    if (text.trim() !== "") {
      const line = plain.slice(0, start + indent).split("\n").length;
      found.push({ text: text.trim(), written: source.slice(start + indent, end), line });
    }
    start = end + 1;
  };
  for (let at = 0; at < plain.length; at++) {
    const char = plain[at];
    if ("([{".includes(char)) depth++;
    else if (")]}".includes(char)) depth--;
    else if (
      depth === 0 && (char === ";" || (char === "\n" && /[\p{L}_$]/u.test(plain[at + 1] ?? "")))
    ) {
      take(at);
    }
  }
  take(plain.length);
  return found;
}

/** The source with comments blanked and the contents of strings replaced, every line in its place. */
function withoutWords(source: string): string {
  const token =
    /\/\/[^\n]*|\/\*[\s\S]*?\*\/|"(?:\\.|[^"\\\n])*"|'(?:\\.|[^'\\\n])*'|`(?:\\[\s\S]|[^`\\])*`/g;
  return source.replace(
    token,
    (found) => found.startsWith("/") ? found.replace(/[^\n]/g, " ") : found.replace(/[^\n]/g, '"'),
  );
}
