import type { Buffer } from "node:buffer";

/**
 * Characters that steer what shows a text instead of being shown: control codes, escape sequences of a
 * terminal, and the signs that turn the direction of writing, behind which a name can pass for another.
 *
 * Tabs and line ends are ordinary here, and so are the marks that right-to-left names need.
 *
 * @see https://www.unicode.org/reports/tr36/#Bidirectional_Text_Spoofing
 */
const CONTROL =
  // deno-lint-ignore no-control-regex -- these are what is looked for
  /[\u0000-\u0008\u000b\u000c\u000e-\u001f\u007f-\u009f\u2028-\u202e\u2066-\u2069]/gu;

/** Which of these characters does the text hold, by code point, such as `U+001B`? */
export function controlCharacters(text: string): readonly string[] {
  return [...new Set(text.match(CONTROL) ?? [])].map(codePoint);
}

function codePoint(letter: string): string {
  return `U+${letter.codePointAt(0)!.toString(16).toUpperCase().padStart(4, "0")}`;
}

/** Bytes of UTF-8 text that may hold one of them; a quick look before each text is looked at. */
export function mayHoldControl(bytes: Buffer): boolean {
  return MAYBE.test(bytes.toString("latin1"));
}

// Control codes, and the first bytes of those above ASCII.
// deno-lint-ignore no-control-regex -- these are what is looked for
const MAYBE = /[\u0000-\u0008\u000b\u000c\u000e-\u001f\u007f\u00c2\u00e2]/;

/** The text with each of them shown as a replacement sign, so that it does nothing where it is printed. */
export function withoutControl(text: string): string {
  return text.replace(CONTROL, "\ufffd");
}

/** What is said where a text that is shown somewhere holds them; null where it doesn't. */
export function controlTrouble(
  text: string,
): { readonly found: string; readonly expected: string; readonly fix: string } | null {
  const codes = controlCharacters(text);
  if (codes.length === 0) return null;
  return {
    found: `control characters (${codes.slice(0, 5).join(", ")})`,
    expected: "text that only shows itself",
    fix: "Type the text anew; here a replacement sign is read for each.",
  };
}
