/** A part of a drawing, as far as it matters where a page may end. */
type Part = {
  readonly nodeName: string;
  readonly textContent: string | null;
  readonly childNodes: Iterable<Part>;
  readonly attributes?: Iterable<{ readonly name: string; readonly value: string }>;
};

/** Height that a sheet of A4 has for a drawing and its caption, in CSS pixels. */
export const SHEET = 850;

/**
 * Where may a drawing that is taller than a sheet of paper be cut, so that each part prints at full size and no row
 * or word is cut through?
 *
 * @param height of the drawing, in its own units
 * @returns the heights at which parts begin, 0 first; one part if it fits, none if no such cut was found
 */
export function printCuts(root: Part, height: number, sheet = SHEET): readonly number[] {
  if (height <= sheet) return [0];
  const kept = partsBelow(root, 0);
  const cuts = [0];
  while (height - cuts.at(-1)! > sheet) {
    const [from, latest] = [cuts.at(-1)!, cuts.at(-1)! + sheet];
    let cut = latest;
    for (let blocked = true; blocked;) {
      const hit = kept.find(([top, bottom]) => top < cut - 0.5 && cut + 0.5 < bottom);
      blocked = hit !== undefined;
      if (hit !== undefined) cut = hit[0];
    }
    if (cut <= from + sheet / 2) return [];
    cuts.push(cut);
  }
  return cuts;
}

/** Top and bottom of each text and each row of values. */
function partsBelow(node: Part, above: number): (readonly [number, number])[] {
  const own = new Map([...node.attributes ?? []].map(({ name, value }) => [name, value]));
  const moved = [...(own.get("transform") ?? "").matchAll(/translate\([^,\s)]+[,\s]+(-?[\d.]+)\)/g)]
    .reduce((sum, [, by]) => sum + Number(by), above);
  const at = moved + (Number(own.get("y")) || 0);
  const name = node.nodeName.toLowerCase();
  const here: (readonly [number, number])[] = name === "text" && (node.textContent ?? "") !== ""
    ? [[at - ABOVE, at + BELOW]]
    : own.has("data-about")
    ? [[at, at + (Number(own.get("height")) || 0)]]
    : [];
  return [...here, ...[...node.childNodes].flatMap((child) => partsBelow(child, moved))];
}

/** A text's letters lie within so many pixels of where it is anchored, by its middle or by its foot. */
const [ABOVE, BELOW] = [10, 6];
