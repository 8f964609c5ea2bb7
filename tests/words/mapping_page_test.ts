import assert from "node:assert/strict";
import { importMapping } from "../../lib/records/import_mapping.ts";
import { importSuggest, mappingText } from "../../lib/records/import_suggest.ts";
import { workbookOf } from "../../lib/records/import_workbook.ts";
import { mappingPage } from "../../lib/words/mapping_page.ts";
import { axeFaults, browserIsMissing, visit, withBrowser } from "../notebook/in_browser.ts";
import { inventedCatalogue } from "../records/invented_workbook.ts";

async function page(): Promise<string> {
  const workbook = await workbookOf("catalogue.xlsx", inventedCatalogue());
  const mapping = importMapping("m.json", mappingText(importSuggest(workbook)), () => {});
  return mappingPage(workbook, mapping!);
}

Deno.test({
  name:
    "the page of a suggested mapping fits a phone and a laptop, says on both what each column is taken for and loses, and axe finds no fault",
  ignore: browserIsMissing,
  fn: async () => {
    await withBrowser(async (browser, file) => {
      for (const width of [390, 1366]) {
        const { page, noise } = await visit(browser, file, { width });
        const [wide, inner, lost] = await page.evaluate(`(() => {
          const cell = [...document.querySelectorAll("tbody td")].find((one) => /<1 mm|: /.test(one.textContent));
          const scrolled = [...document.querySelectorAll(".wide")].filter((one) => one.scrollWidth > one.clientWidth + 1);
          return [document.documentElement.scrollWidth, scrolled.length, cell?.getBoundingClientRect().right ?? 0];
        })()`) as number[];
        assert.equal(wide, width);
        assert.equal(inner, 0, `${inner} tables have to be scrolled sideways at ${width}`);
        assert.ok(lost > 0 && lost <= width);
        assert.deepEqual(await axeFaults(page), []);
        assert.deepEqual(noise, []);
      }
    }, await page());
  },
});
