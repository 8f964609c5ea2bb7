/**
 * Keeps the figures as they are now, and writes them all where a file is named, so that two commits can
 * be set side by side:
 *
 *     deno run -A --config tests/deno.json tests/figures/kept_figures.ts [/tmp/figures.txt]
 */
import { demoFigures } from "./demo_figures.ts";
import { figuresOf, groupsOf, groupsText } from "./figure_groups.ts";
import { importFigures } from "./import_figures.ts";

/** What is kept, and how it comes about. */
export const KEPT = [
  { file: new URL("demo.txt", import.meta.url), figures: demoFigures },
  { file: new URL("imports.txt", import.meta.url), figures: importFigures },
] as const;

if (import.meta.main) {
  const all: string[] = [];
  for (const { file, figures } of KEPT) {
    const results = await figures();
    for (const [name, result] of Object.entries(results)) {
      for (const { at, value } of figuresOf(name, result)) all.push(`${at}\t${value}\n`);
    }
    await Deno.writeTextFile(file, groupsText(groupsOf(results)));
  }
  if (Deno.args.length > 0) await Deno.writeTextFile(Deno.args[0], all.join(""));
}
