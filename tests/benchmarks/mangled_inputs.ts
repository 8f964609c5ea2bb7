/**
 * Do mangled inputs crash the unit parser, the importer or the loader, or lose anything unsaid?
 *
 * What must hold of each input is in `tests/records/mangled.ts`. Ends with an error and the smallest
 * input that broke it. Seeded, so that the same inputs come each time.
 *
 * Run: deno run -A tests/benchmarks/mangled_inputs.ts [inputs, default 100000]
 */
import {
  csvInput,
  loaderInput,
  mappingInput,
  suggestInput,
  type Tried,
  unitsInput,
  xlsxInput,
} from "../records/mangled.ts";

const inputs = Number(Deno.args[0] ?? 100_000);
const wide = new URL("../references/sheets/wide.xlsx", import.meta.url);
type Run = (runs: { readonly runs: number }) => Tried | Promise<Tried>;

const kinds: readonly (readonly [string, number, Run])[] = [
  ["quantities typed into cells", 0.3, unitsInput],
  ["CSV sheets, imported twice", 0.3, csvInput],
  ["sheets of any content, by the suggested mapping", 0.12, suggestInput],
  ["mappings", 0.1, mappingInput],
  ["damaged .xlsx files", 0.08, (runs) => xlsxInput(wide, runs)],
  ["tables of a bench", 0.1, loaderInput],
];

for (const [name, share, run] of kinds) {
  const start = performance.now();
  const { runs, taken } = await run({ runs: Math.round(inputs * share) });
  const seconds = ((performance.now() - start) / 1000).toFixed(0);
  console.log(`${name}: ${runs} tried, ${taken} taken, ${runs - taken} refused (${seconds} s)`);
}
