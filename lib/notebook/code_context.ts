/** Where in a cell's code a cursor stands, for help and completion. */
export type CodeContext = {
  /** The name under the cursor with what leads to it, such as `studies.courtPrediction`; "" where there is none. */
  readonly path: string;
  /** The part of that name before the cursor. */
  readonly prefix: string;
  /** Functions whose brackets are open around the cursor, the innermost first. */
  readonly calls: readonly string[];
  /** The call, and the place among its arguments, of the object that the cursor may name an option in. */
  readonly options: {
    readonly call: string;
    readonly argument: number;
    /** Options that the object names already. */
    readonly taken: readonly string[];
  } | null;
};

type Open = { readonly bracket: string; readonly at: number };

/**
 * What is a cursor in this code about?
 *
 * Reads brackets, strings and comments, and knows no more of the language: code that is being typed is rarely whole.
 *
 * @param cursor as a place in the text
 */
export function codeContext(code: string, cursor: number): CodeContext {
  const before = code.slice(0, cursor);
  const plain = blanked(before);
  const open = openBrackets(plain);
  const tail = /[\w$]*$/.exec(code.slice(cursor).match(/^[\w$]*/)![0])![0];
  const head = /(?:[\w$]+\s*\.\s*)*[\w$]*$/.exec(plain)![0].replace(/\s+/g, "");
  return {
    path: head + tail,
    prefix: /[\w$]*$/.exec(plain)![0],
    calls: open.filter(({ bracket }) => bracket === "(").map(({ at }) => calledAt(plain, at))
      .filter((name) => name !== "").reverse(),
    options: optionsAt(plain, open),
  };
}

/** The same text with strings and comments blanked out, so that brackets in them count for nothing. */
function blanked(code: string): string {
  const parts =
    /\/\/[^\n]*|\/\*[\s\S]*?(?:\*\/|$)|"(?:\\.|[^"\\\n])*"?|'(?:\\.|[^'\\\n])*'?|`(?:\\.|[^`\\])*`?/g;
  return code.replace(parts, (part) => part.replace(/[^\n]/g, /^["'`]/.test(part) ? "_" : " "));
}

function openBrackets(plain: string): readonly Open[] {
  const open: Open[] = [];
  for (let at = 0; at < plain.length; at++) {
    const bracket = plain[at];
    if ("([{".includes(bracket)) open.push({ bracket, at });
    else if (")]}".includes(bracket)) open.pop();
  }
  return open;
}

function calledAt(plain: string, at: number): string {
  return /((?:[\w$]+\s*\.\s*)*[\w$]+)\s*$/.exec(plain.slice(0, at))?.[1].replace(/\s+/g, "") ?? "";
}

function optionsAt(plain: string, open: readonly Open[]): CodeContext["options"] {
  const [outer, inner] = open.slice(-2);
  if (inner?.bracket !== "{" || outer.bracket !== "(") return null;
  if (!/[(,]\s*$/.test(plain.slice(0, inner.at))) return null;
  const entries = topLevelParts(plain.slice(inner.at + 1));
  if (/[:.]/.test(entries.at(-1)!)) return null; // a value, or something spread
  const taken = entries.slice(0, -1).map((entry) => /^\s*([\w$]+)/.exec(entry)?.[1] ?? "");
  const call = calledAt(plain, outer.at);
  const argument = topLevelParts(plain.slice(outer.at + 1, inner.at)).length - 1;
  return call === "" ? null : { call, argument, taken: taken.filter((name) => name !== "") };
}

function topLevelParts(text: string): readonly string[] {
  const parts = [""];
  let depth = 0;
  for (const letter of text) {
    if ("([{".includes(letter)) depth++;
    else if (")]}".includes(letter)) depth--;
    if (letter === "," && depth === 0) parts.push("");
    else parts[parts.length - 1] += letter;
  }
  return parts;
}
