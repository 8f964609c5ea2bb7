import { readFile } from "node:fs/promises";

/** The two fonts of the kit, regular first. */
export type KitFonts = { readonly regular: Uint8Array; readonly bold: Uint8Array };

let fonts: Promise<KitFonts> | undefined;

/** Where do the kit's own fonts come from? Read from beside this file, once a process. */
export function kitFonts(): Promise<KitFonts> {
  fonts ??= Promise.all(
    ["Inter-Regular.ttf", "Inter-Bold.ttf"].map((file) =>
      readFile(new URL(`./fonts/${file}`, import.meta.url))
    ),
  ).then(([regular, bold]) => ({ regular: new Uint8Array(regular), bold: new Uint8Array(bold) }));
  return fonts;
}
