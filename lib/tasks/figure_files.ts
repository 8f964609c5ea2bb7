import type { ExecutedNotebook } from "../notebook/page.ts";

/**
 * Which pictures did a notebook make?
 *
 * @returns one SVG file a picture, numbered as on the page and named for its title
 */
export function figureFiles(
  notebook: ExecutedNotebook,
  name: string,
): readonly { readonly file: string; readonly text: string }[] {
  const pictures = notebook.cells.flatMap((cell) =>
    (cell.outputs ?? []).flatMap((output) => output.data?.["image/svg+xml"] ?? [])
  );
  return pictures.map((picture, index) => {
    const text = Array.isArray(picture) ? picture.join("") : String(picture);
    const title = text.match(/<title[^>]*>([^<]*)</)?.[1] ?? "";
    const words = title.toLowerCase().replaceAll(/&\w+;/g, " ").match(/[a-z0-9]+/g) ?? [];
    const number = String(index + 1).padStart(2, "0");
    return { file: [name, number, ...words.slice(0, 5)].join("-") + ".svg", text };
  });
}
