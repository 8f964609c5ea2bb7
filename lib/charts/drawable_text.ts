import widths from "./fonts/widths.json" with { type: "json" };

const known: ReadonlySet<string> = new Set(Object.keys(widths.regular));

/** What a run of characters is called that the kit's fonts lack; the first that fits. */
const kinds: readonly (readonly [string, RegExp])[] = [
  ["Arabic", /\p{Script=Arabic}/u],
  ["Hebrew", /\p{Script=Hebrew}/u],
  ["Japanese", /[\p{Script=Hiragana}\p{Script=Katakana}]/u],
  ["Korean", /\p{Script=Hangul}/u],
  ["Chinese or Japanese", /\p{Script=Han}/u],
  ["Hindi", /\p{Script=Devanagari}/u],
  ["Thai", /\p{Script=Thai}/u],
  ["emoji", /[\p{Extended_Pictographic}\p{Regional_Indicator}]/u],
];

/** Characters that only change the ones before them, and go with these. */
const JOINING = /[\p{Mark}\u200c\u200d\ufe00-\ufe0f\u{1f3fb}-\u{1f3ff}]/u;

/**
 * How does this text stand in a picture?
 *
 * The kit's fonts hold Latin, Greek and Cyrillic letters. A run of any others is said in words, such as [Japanese], in
 * place of the empty boxes that would be drawn.
 */
export function drawableText(text: string): string {
  if (/^[\x20-\x7e]*$/.test(text)) return text;
  const characters = [...text.normalize("NFC")];
  if (characters.every(isDrawn)) return text.normalize("NFC");
  let drawn = "";
  let missing = "";
  const say = () => {
    if (missing === "") return;
    const [name] = kinds.find(([, kind]) => kind.test(missing)) ?? ["other script"];
    drawn += `${drawn === "" || /\s$/.test(drawn) ? "" : " "}[${name}]`;
    missing = "";
  };
  characters.forEach((character, index) => {
    const isPart = missing !== "" && JOINING.test(character);
    // A blank between two words of one script belongs to them.
    const isInner = missing !== "" && character === " " && index + 1 < characters.length &&
      !isDrawn(characters[index + 1]);
    if (!isDrawn(character) || isPart || isInner) {
      if (missing !== "" || !JOINING.test(character)) missing += character;
      return;
    }
    const spaced = missing !== "" && !/\s/.test(character);
    say();
    drawn += spaced ? ` ${character}` : character;
  });
  say();
  return drawn;
}

/** Whether a picture shows this text as it is written. */
export function isDrawable(text: string): boolean {
  return [...text.normalize("NFC")].every(isDrawn);
}

function isDrawn(character: string): boolean {
  // The mark that stands for a broken character says itself that one is missing.
  return known.has(character) || /[\s\ufffd]/.test(character);
}
