import { importColumns, type PlacedColumn, type PlacedSheet } from "../records/import_columns.ts";
import type { ImportMapping } from "../records/import_mapping.ts";
import { importSheet } from "../records/import_sheet.ts";
import { columnLetters } from "../records/import_sheet_marks.ts";
import { shownContent, type Workbook } from "../records/import_workbook.ts";
import { problemInWords } from "../records/problem.ts";
import { escapeMarkup } from "../markup_text.ts";

/** Cells of a column that are shown. */
const SHOWN = 3;

/** What a column may hold instead, by what it is taken for. */
const OTHERS: Readonly<Record<string, string>> = {
  trial:
    '"impression" (a friend\'s rating), "shoe detail" (size, price, width as printed), "left out"',
  impression: '"trial" (a reading of the bench), "left out"',
  "shoe detail": '"trial" (if it was measured), "shoe" (if it is a part of the name), "left out"',
  "session detail": '"impression detail" (if it is of the court), "left out"',
  "left out": '"trial", "impression", "feature", "shoe detail" with field "note"',
  feature: '"left out"',
  shoe: '"shoe detail" (if the name is whole without it)',
};

/**
 * A suggested mapping as a page to look through: each column with some of its cells, what it is taken for,
 * what else it could be, and what of it would be lost.
 *
 * What would be lost is found by importing with the mapping, into nothing.
 */
export function mappingPage(workbook: Workbook, mapping: ImportMapping): string {
  const source = { file: "suggested-mapping.json", text: "" };
  const placed = importColumns(workbook, mapping, source, () => {});
  const { problems, not_taken, rows } = importSheet(workbook, mapping);
  const lost = (sheet: string, at: string, turned: boolean) =>
    not_taken.filter((cell) =>
      cell.sheet === sheet &&
      (turned ? cell.cell.replace(/^[A-Z]+/, "") : cell.cell.replace(/\d+$/, "")) === at
    );
  const parts = placed.map((one) => sheetPart(one, lost));
  const asked = problems.map((one) => `<li>${escapeMarkup(problemInWords(one))}</li>`);
  const counts = rows.map(({ sheet, rows, shoes }) =>
    `<li>${escapeMarkup(sheet)}: ${rows} rows become ${shoes} shoes</li>`
  );
  return `<!doctype html>
<html lang="en"><head><meta charset="utf-8"><title>What ${
    escapeMarkup(workbook.file)
  } is taken for</title>
<meta name="viewport" content="width=device-width">
<style>
body { font: 16px/1.45 sans-serif; max-width: 75rem; margin: 1rem auto; padding: 0 1rem; color: #000; background: #fff }
.wide { overflow-x: auto } table { border-collapse: collapse; width: 100% }
th, td { border: 1px solid #767676; padding: .3rem .5rem; text-align: left; vertical-align: top }
.lost { border-left: 6px solid #b00020 } code { overflow-wrap: anywhere } small { color: #595959 }
@media (max-width: 45rem) {
  h1 { font-size: 1.5rem }
  .columns thead { display: none } .columns, .columns tbody, .columns tr, .columns td, .columns th { display: block }
  .columns tr { border: 1px solid #767676; margin-bottom: .8rem; padding: .3rem .5rem } .columns tr.lost { border-left: 6px solid #b00020 }
  .columns td, .columns th { border: 0; padding: .1rem 0 } .columns [data-is]::before { content: attr(data-is) ": "; color: #595959 }
}
</style></head><body><main>
<h1>What ${escapeMarkup(workbook.file)} is taken for</h1>
<p>Look for a column that is taken for the wrong thing, and correct it in a copy of suggested-mapping.json; the names
in quotes are those it uses. Nothing is imported yet.</p>
${asked.length === 0 ? "" : `<h2>Before it can be imported</h2><ul>${asked.join("")}</ul>`}
${counts.length === 0 ? "" : `<h2>Rows and shoes</h2><ul>${counts.join("")}</ul>`}
${metricsPart(mapping)}
${parts.join("\n")}
${shoesPart(mapping)}
</main></body></html>
`;
}

type Lost = (
  sheet: string,
  at: string,
  turned: boolean,
) => readonly { readonly content: string; readonly reason: string }[];

function sheetPart({ sheet, about, columns }: PlacedSheet, lost: Lost): string {
  const line = about.turned ? "row" : "column";
  const body = columns.map((column) => {
    const at = about.turned ? String(column.at + 1) : columnLetters(column.at);
    const cells = sheet.rows.slice(Math.max(...about.header_rows))
      .flatMap((row) => row[column.at] ?? []).slice(0, SHOWN).map(shownContent);
    const gone = lost(sheet.name, at, about.turned)
      .filter(({ reason }) => !/^above the header|^before the header/.test(reason));
    const reasons = [...Map.groupBy(gone, ({ reason }) => reason)].slice(0, 3).map((
      [reason, all],
    ) =>
      `${all.length} ${all.length === 1 ? "cell" : "cells"} (${
        escapeMarkup(all.slice(0, 2).map(({ content }) => content).join(", "))
      }): ${escapeMarkup(reason)}`
    );
    const isLost = reasons.length > 0 && column.about.holds !== "left out";
    const others = OTHERS[column.about.holds];
    const cell = (title: string, html: string) => `<td role="cell" data-is="${title}">${html}</td>`;
    return `<tr role="row"${isLost ? ' class="lost"' : ""}>${cell(line, at)}` +
      `<th role="rowheader" scope="row">${escapeMarkup(column.header)}</th>` +
      cell("cells", cells.map(escapeMarkup).join("<br>")) +
      cell(
        "taken for",
        `${escapeMarkup(takenFor(column))}<br><small>${
          escapeMarkup(column.about.guess ?? "")
        }</small>`,
      ) +
      cell("could be", `<small>${escapeMarkup(others ?? "nothing else")}</small>`) +
      cell("would be lost", reasons.join("<br>") || "nothing") +
      "</tr>";
  });
  const fixed = Object.keys(about.fixed).length === 0
    ? ""
    : ` Held for every row: <code>${escapeMarkup(JSON.stringify(about.fixed))}</code>.`;
  return `<h2>${escapeMarkup(sheet.name)}</h2><p>${escapeMarkup(about.guess ?? "")}${fixed}</p>${
    wide(
      `Columns of ${sheet.name}`,
      `<table role="table" class="columns"><thead role="rowgroup"><tr role="row">${
        [line, "header", "cells", "taken for", "could be", "would be lost"]
          .map((title) => `<th role="columnheader" scope="col">${title}</th>`).join("")
      }</tr></thead><tbody role="rowgroup">${body.join("\n")}</tbody></table>`,
    )
  }`;
}

function takenFor({ about }: PlacedColumn): string {
  const { holds, guess: _guess, header: _header, column: _column, row: _row, ...rest } = about;
  const more = Object.entries(rest).map(([key, value]) => `${key} ${value}`).join(", ");
  return `"${holds}"${more === "" ? "" : `: ${more}`}`;
}

function metricsPart({ metrics }: ImportMapping): string {
  if (metrics.length === 0) return "";
  const rows = metrics.map(({ id, unit, better, guess }) =>
    `<tr><th scope="row">${escapeMarkup(id)}</th><td>${escapeMarkup(unit)}</td><td>${
      escapeMarkup(better ?? "not said")
    }${guess === undefined ? "" : " (a guess, not taken until its mark is deleted)"}</td></tr>`
  );
  const table = `<table><thead><tr><th>id</th><th>unit</th><th>better</th></tr></thead><tbody>${
    rows.join("\n")
  }</tbody></table>`;
  return `<h2>Metrics</h2>${wide("Metrics", table)}`;
}

function shoesPart({ shoes }: ImportMapping): string {
  const open = shoes.filter(({ guess, spelt }) =>
    guess !== undefined && (spelt.length > 1 || /^Near/.test(guess))
  );
  if (open.length === 0) {
    return `<h2>Shoes</h2><p>${shoes.length} shoes, each spelt in one way.</p>`;
  }
  const rows = open.slice(0, 200).map(({ shoe_id, spelt, guess }) =>
    `<tr><th scope="row">${escapeMarkup(shoe_id)}</th><td>${
      spelt.map(escapeMarkup).join("<br>")
    }</td><td>${escapeMarkup(guess!)}</td></tr>`
  );
  const table = `<table><thead><tr><th>id</th><th>spelt</th><th>question</th></tr></thead><tbody>${
    rows.join("\n")
  }</tbody></table>`;
  return `<h2>Shoes</h2><p>${shoes.length} shoes; these need a look:</p>${
    wide("Shoes to look at", table)
  }`;
}

/** A table that scrolls by itself where it is wider than the window, by keys too. */
function wide(name: string, table: string): string {
  return `<div class="wide" role="region" tabindex="0" aria-label="${
    escapeMarkup(name)
  }">${table}</div>`;
}
