import assert from "node:assert/strict";
import {
  csvInput,
  loaderInput,
  mappingInput,
  suggestInput,
  unitsInput,
  xlsxInput,
} from "./mangled.ts";

const wide = new URL("../references/sheets/wide.xlsx", import.meta.url);

/** A run in which nothing was ever taken, or everything, would try only half of the code. */
function assertBothWays({ runs, taken }: { readonly runs: number; readonly taken: number }): void {
  assert.ok(taken > 0 && taken < runs, `${taken} of ${runs} were taken`);
}

Deno.test("parseQuantity() reads every digit of a cell, or refuses it in words, whatever is typed", () => {
  assertBothWays(unitsInput({ runs: 3000 }));
});

Deno.test("importSheet() loses no cell of a spoilt CSV sheet, and doubles none when it comes again", async () => {
  assertBothWays(await csvInput({ runs: 1200 }));
});

Deno.test("importSheet() loses no cell under a suggested mapping, whatever the sheet holds", async () => {
  assertBothWays(await suggestInput({ runs: 800 }));
});

Deno.test("importMapping() refuses a spoilt mapping with its line, or it is used without a loss", async () => {
  assertBothWays(await mappingInput({ runs: 1500 }));
});

Deno.test("workbookOf() refuses a damaged .xlsx file, or reads what the whole one holds", async () => {
  assertBothWays(await xlsxInput(wide, { runs: 500 }));
});

Deno.test("inspectBench() accounts for every row of any spoilt table", async () => {
  assertBothWays(await loaderInput({ runs: 300 }));
});
