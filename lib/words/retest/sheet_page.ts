import * as option from "../../options.ts";
import type { BenchSheet, SheetLine } from "../../studies/retest/bench_sheet.ts";
import type { RatingCards } from "../../studies/retest/rating_cards.ts";
import { escapeMarkup } from "../../markup_text.ts";

/** What stands at the head of a sheet or a card. */
export type SheetHead = {
  readonly bench: string;
  readonly invented: boolean;
};

/**
 * A bench sheet as a page to print on A4 and to write on: a table a set-up, a box a reading.
 *
 * @param showLast prints what each shoe's last visit read, in grey; off unless asked for, because who
 * sees the last value reads towards it
 */
export function sheetPage(
  { code, lines, left_out, seed }: BenchSheet,
  { bench, invented, showLast }: SheetHead & { readonly showLast: boolean },
): string {
  option.check("words.retest.sheetPage", arguments[1], {
    bench: option.needed(option.text),
    invented: option.needed(option.flag),
    showLast: option.needed(option.flag),
  });
  const setUps = [...new Set(lines.map(({ metric }) => metric))];
  const tables = setUps.map((metric) =>
    setUp(lines.filter((one) => one.metric === metric), showLast)
  );
  const hasReferences = lines.some(({ part }) => part !== "visit");
  const notes = [
    hasReferences
      ? "Read the reference shoes first and last in each set-up, and write down what you read."
      : "No reference shoes are named in bench.json, so this session can't show whether the rig drifted.",
    "A reading that went wrong is written down, with a mark and the reason beside it.",
    "Eye protection where things fly or snap, a mask in dust and smoke, heat away from foam and glue; your " +
    "local rules come first.",
    ...left_out.map((metric) =>
      `${metric} needs a reading of many points, which has no room here.`
    ),
  ];
  return page(`Bench sheet ${code}`, [
    heading(`Bench sheet`, { bench, invented, code, seed }),
    fields(["Date", "Operator", "Rig", "Temperature (°C)", "Humidity (%)"]),
    ...tables,
    `<h2>Notes</h2><div class="notes"></div>`,
    `<ul>${notes.map((note) => `<li>${escapeMarkup(note)}</li>`).join("")}</ul>`,
  ]);
}

/** A card a tester, each on a page of its own, to print and to write on. */
export function cardsPage(
  { code, cards, attributes, scale }: RatingCards,
  { bench, invented }: SheetHead,
): string {
  option.check("words.retest.cardsPage", arguments[1], {
    bench: option.needed(option.text),
    invented: option.needed(option.flag),
  });
  const head = [
    "<th>Shoe</th>",
    ...attributes.map(({ title }) => `<th>${escapeMarkup(title)}</th>`),
    "<th>Minutes</th><th>Remarks</th>",
  ].join("");
  const empty = "<td></td>".repeat(attributes.length + 2);
  const bodies = cards.map(({ tester, shoes }) =>
    [
      `<section>`,
      heading(`Rating card: ${tester}`, { bench, invented, code }),
      fields(["Date", "Court"]),
      `<p>From ${scale.min} to ${scale.max} in steps of ${scale.step}; play the shoes in this order. Stop ` +
      `where a shoe hurts, and say so in the remarks.</p>`,
      `<table class="card"><thead><tr>${head}</tr></thead><tbody>`,
      ...shoes.map(({ name }) => `<tr><th scope="row">${escapeMarkup(name)}</th>${empty}</tr>`),
      `</tbody></table></section>`,
    ].join("\n")
  );
  return page(`Rating cards ${code}`, bodies);
}

function setUp(lines: readonly SheetLine[], showLast: boolean): string {
  const [{ title, unit, plausible }] = lines;
  const most = Math.max(...lines.map(({ trials }) => trials));
  const numbers = Array.from({ length: most }, (_, i) => `<th>${i + 1}</th>`).join("");
  const rows = lines.map((line) => {
    const boxes = Array.from(
      { length: most },
      (_, i) => `<td class="${i < line.trials ? "box" : "none"}"></td>`,
    ).join("");
    const part = line.part === "visit" ? "" : `<small>${line.part}</small>`;
    const last = showLast && line.last !== null
      ? `<small class="last">last ${
        line.last.mean.toFixed(line.last.decimals)
      } on ${line.last.date}</small>`
      : "";
    return `<tr><td>${line.line}</td><th scope="row">${
      escapeMarkup(line.name)
    } ${part} ${last}</th>${boxes}` +
      `<td class="wide"></td></tr>`;
  });
  return `<h2>${escapeMarkup(title)}, in ${
    escapeMarkup(unit)
  } <small>plausible ${plausible.low} to ${plausible.high}` +
    `</small></h2><table><thead><tr><th></th><th>Shoe</th>${numbers}<th>Notes</th></tr></thead><tbody>` +
    `${rows.join("\n")}</tbody></table>`;
}

function heading(
  title: string,
  { bench, invented, code, seed }: SheetHead & { readonly code: string; readonly seed?: number },
): string {
  const drawn = seed === undefined ? "" : `, order drawn with seed ${seed}`;
  return `<h1>${escapeMarkup(title)}</h1><p>${escapeMarkup(bench)}${
    invented ? " (invented)" : ""
  }. Sheet ${code}` +
    `${drawn}.</p>`;
}

function fields(names: readonly string[]): string {
  return `<table class="fields"><tr>${
    names.map((name) => `<td><small>${escapeMarkup(name)}</small></td>`).join("")
  }</tr></table>`;
}

function page(title: string, parts: readonly string[]): string {
  return `<!doctype html>
<html lang="en"><head><meta charset="utf-8"><title>${escapeMarkup(title)}</title>
<meta name="viewport" content="width=device-width">
<style>
@page { size: A4; margin: 12mm }
body { font: 11pt/1.3 sans-serif; color: #000; background: #fff; max-width: 186mm; margin: 0 auto }
h1 { font-size: 16pt; margin: 4mm 0 1mm } h2 { font-size: 12pt; margin: 5mm 0 1mm }
table { border-collapse: collapse; width: 100% } tr { break-inside: avoid }
th, td { border: 0.3mm solid #000; padding: 1mm 1.5mm; text-align: left; height: 9mm }
thead th { height: auto } td.box { min-width: 17mm } td.none { background: #ddd } td.wide { width: 40mm }
table.fields td { vertical-align: top; height: 12mm } table.card td { min-width: 15mm; height: 14mm }
small { font-weight: normal; font-size: 8.5pt } .last { color: #767676 }
.notes { border: 0.3mm solid #000; height: 30mm } section + section { break-before: page }
</style></head><body>
${parts.join("\n")}
</body></html>
`;
}
