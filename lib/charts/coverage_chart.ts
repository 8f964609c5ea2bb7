import * as Plot from "@observablehq/plot";
import * as option from "../options.ts";
import { chartOptions } from "./theme.ts";
import type { BenchCoverage, CoverageState } from "../studies/coverage/bench_coverage.ts";
import { draw, drawNothing, type KeyEntry, overlay, type SvgElement, svgElement } from "./draw.ts";
import { limitLines, shortenApart, shortenText, textWidth } from "./text_width.ts";
import { type ChartOptions, colour, pageWidth, space, type } from "./theme.ts";
import { valueArea } from "./value_area.ts";

/** What each state looks like: a shape of its own, and a colour only beside it. */
const looks: Readonly<
  Record<
    CoverageState,
    { readonly path: string; readonly filled: boolean; readonly stroke: string }
  >
> = {
  "this quarter": { path: "M-6,-6H6V6H-6Z", filled: true, stroke: colour.mark },
  "earlier": { path: "M-5,-5H5V5H-5Z", filled: false, stroke: colour.mark },
  "too few trials": { path: "M0,-6L6.5,5.5H-6.5Z", filled: true, stroke: "#8D630C" },
  "missing": { path: "M-5,-5L5,5M-5,5L5,-5", filled: false, stroke: colour.accent },
  "before the metric": { path: "M-4,0H4", filled: false, stroke: colour.context },
};

const words: Readonly<Record<CoverageState, string>> = {
  "this quarter": "benched this quarter",
  "earlier": "benched earlier",
  "too few trials": "fewer than two trials",
  "missing": "missing",
  "before the metric": "last benched before the metric existed",
};

/**
 * What was measured this quarter, what earlier, and what is missing?
 *
 * A row a shoe, a column a metric, a sign for the state of each cell, and how many shoes have a value at the foot of
 * each column. New shoes are bold, reference shoes carry a diamond.
 */
export function coverageChart(
  { shoes, metrics, cells, quarter, sentence, totals }: BenchCoverage,
  { width = pageWidth, ...options }: ChartOptions = {},
): SvgElement {
  option.check("charts.coverage", arguments[1], chartOptions);
  const title = `Bench coverage up to the end of ${quarter}`;
  if (shoes.length === 0 || metrics.length === 0) {
    const missing = shoes.length === 0 ? "no shoes" : "no metrics";
    return drawNothing(`Nothing to show: the bench has ${missing} yet.`, {
      title,
      width,
      ...options,
    });
  }
  const inner = width - 2 * space.card;
  const names = shoes.map(({ name, reference }) => reference ? `◆ ${name}` : name);
  const foot = "shoes with a value";
  const widest = Math.max(...[...names, foot].map((name) => textWidth(name, type.small, "bold")));
  const left = Math.min(widest + 10, inner * 0.42);
  const column = (inner - left) / metrics.length;
  const shortNames = shortenApart(names, left - 10, type.small, "bold");

  const headerLines = Math.max(1, Math.floor(column / (type.small * 1.15)));
  const headerRoom = 132;
  const headers = metrics.map(({ title, introduced_this_quarter }) =>
    limitLines(
      introduced_this_quarter ? `${title} (new)` : title,
      headerLines,
      headerRoom,
      type.small,
    )
  );
  const top = Math.max(...headers.flat().map((line) => textWidth(line, type.small))) + 12;
  const row = 19;
  const bottom = top + shoes.length * row;
  const counts = metrics.map(({ shoes_benched }) => String(shoes_benched));
  const widestCount = Math.max(...counts.map((count) => textWidth(count, type.small)));
  const upright = widestCount + 5 < column; // else they run into each other, and stand on end
  const height = bottom + 6 + (upright ? row : Math.max(row, widestCount + 8));
  const size = Math.min(1, (column - 3) / 14);

  const rowOf = new Map(shoes.map(({ shoe_id }, index) => [shoe_id, top + (index + 0.5) * row]));
  const columnOf = new Map(
    metrics.map(({ metric }, index) => [metric, left + (index + 0.5) * column]),
  );
  const known = cells.filter(({ shoe_id, metric }) => rowOf.has(shoe_id) && columnOf.has(metric));
  const titles = new Map([
    ...shoes.map(({ shoe_id, name }) => [shoe_id, name] as const),
    ...metrics.map(({ metric, title }) => [metric, title] as const),
  ]);
  const nameRows = shoes.map((shoe, index) => ({
    text: shortNames[index],
    y: rowOf.get(shoe.shoe_id)!,
    isNew: shoe.new_this_quarter,
  }));
  const nameText = { x: () => 0, y: "y", text: "text", textAnchor: "start" as const };
  return draw({
    ...options,
    width,
    title,
    alt: `${sentence} ${
      totals.cells_missing === 0
        ? "No cell is"
        : totals.cells_missing === 1
        ? "1 cell is"
        : `${totals.cells_missing} cells are`
    } missing${
      totals.cells_before_metric === 0
        ? ""
        : `, and ${totals.cells_before_metric} ${
          totals.cells_before_metric === 1 ? "lies" : "lie"
        } before the metric existed`
    }.`,
    height,
    marginLeft: 0,
    marginRight: 0,
    marginTop: 0,
    marginBottom: 0,
    x: { type: "identity", axis: null },
    y: { type: "identity", axis: null },
    key: (Object.keys(looks) as CoverageState[]).map(stateKey),
    notes: notesFor(shoes),
    marks: [
      Plot.link([...rowOf.values()].map((y) => y + row / 2), {
        x1: 0,
        x2: inner,
        y1: (y: number) => y,
        y2: (y: number) => y,
        stroke: colour.grid,
      }),
      Plot.text(
        metrics.flatMap(({ metric }, index) =>
          headers[index].map((text, line) => ({
            text,
            x: columnOf.get(metric)! +
              (line - (headers[index].length - 1) / 2) * type.small * 1.15,
          }))
        ),
        {
          x: "x",
          y: () => top - 6,
          text: "text",
          rotate: -90,
          textAnchor: "start",
          fontSize: type.small,
        },
      ),
      Plot.text(nameRows.filter(({ isNew }) => !isNew), { ...nameText, fontSize: type.small }),
      Plot.text(nameRows.filter(({ isNew }) => isNew), {
        ...nameText,
        fontSize: type.small,
        fontWeight: 700,
      }),
      overlay(() =>
        known.map((cell) => {
          const mark = stateMark(cell.state);
          const [x, y] = [columnOf.get(cell.metric)!, rowOf.get(cell.shoe_id)!];
          const scale = size < 1 ? ` scale(${size.toFixed(2)})` : "";
          mark.setAttribute("transform", `translate(${x},${y})${scale}`);
          return mark;
        })
      ),
      overlay(() =>
        known.map((cell) => {
          const [x, y] = [columnOf.get(cell.metric)!, rowOf.get(cell.shoe_id)!];
          const about = titles.get(cell.shoe_id)!;
          return valueArea({ x: x - row / 2, y: y - row / 2, width: row, height: row }, {
            about,
            words: `${about}, ${titles.get(cell.metric)}: ${words[cell.state]}`,
          });
        })
      ),
      Plot.text([foot], {
        x: () => 0,
        y: () => bottom + row / 2 + 3,
        text: (text: string) => shortenText(text, left - 10, type.small),
        textAnchor: "start",
        fontSize: type.small,
        fill: colour.quiet,
      }),
      Plot.text(metrics, {
        x: ({ metric }) => columnOf.get(metric)!,
        y: () => bottom + (upright ? row / 2 + 3 : 8),
        text: ({ shoes_benched }) => String(shoes_benched),
        rotate: upright ? 0 : -90,
        textAnchor: upright ? "middle" : "end",
        fontSize: type.small,
        fill: colour.quiet,
      }),
    ],
  });
}

function stateMark(state: CoverageState): SvgElement {
  const { path, filled, stroke } = looks[state];
  return svgElement("path", {
    d: path,
    fill: filled ? stroke : "none",
    stroke,
    "stroke-width": state === "missing" ? 2.5 : 1.75,
  });
}

function stateKey(state: CoverageState): KeyEntry {
  return { label: words[state], mark: stateMark(state) };
}

function notesFor(shoes: BenchCoverage["shoes"]): string[] {
  const parts = [
    ...(shoes.some((shoe) => shoe.new_this_quarter) ? ["Bold: new this quarter."] : []),
    ...(shoes.some((shoe) => shoe.reference)
      ? ["◆: reference shoe, benched again in every session."]
      : []),
  ];
  return parts.length === 0 ? [] : [parts.join(" ")];
}
