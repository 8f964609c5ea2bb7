/**
 * Which names stand in a list written as one text?
 *
 * @param text names with commas between, such as `shoe-a, shoe-b`
 * @returns the names without blanks around them; none for a blank text
 */
export function namesIn(text: string): string[] {
  return text.split(",").map((part) => part.trim()).filter((part) => part !== "");
}
