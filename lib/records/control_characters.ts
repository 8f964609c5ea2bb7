/**
 * Characters that steer what shows a text instead of being shown: control codes, escape sequences of a
 * terminal, and the signs that turn the direction of writing, behind which a name can pass for another.
 *
 * Tabs and line feeds are ordinary here.
 *
 * @see https://www.unicode.org/reports/tr36/#Bidirectional_Text_Spoofing
 */
const CONTROL =
  // deno-lint-ignore no-control-regex -- these are what is looked for
  /[\u0000-\u0008\u000b-\u001f\u007f-\u009f\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069\ufeff]/gu;

/** Which of these characters does the text hold, by code point, such as `U+001B`? */
export function controlCharacters(text: string): readonly string[] {
  const found = text.match(CONTROL) ?? [];
  return [...new Set(found)].map((letter) =>
    `U+${letter.codePointAt(0)!.toString(16).toUpperCase().padStart(4, "0")}`
  );
}

/** The text with each of them shown as a replacement sign, so that it does nothing where it is printed. */
export function withoutControl(text: string): string {
  return text.replace(CONTROL, "\ufffd");
}
