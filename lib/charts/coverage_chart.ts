import * as Plot from "@observablehq/plot";
import * as option from "../options.ts";
import { chartOptions } from "./theme.ts";
import type { BenchCoverage, CoverageState } from "../studies/coverage/bench_coverage.ts";
import { draw, drawNothing, type KeyEntry, overlay, type SvgElement, svgElement } from "./draw.ts";
import { limitLines, shortenApart, shortenText, textWidth } from "./text_width.ts";
import { type ChartOptions, colour, pageWidth, space, type } from "./theme.ts";
import { coverageSentence } from "../words/coverage/coverage_sentence.ts";
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
  coverage: BenchCoverage,
  { width = pageWidth, ...options }: ChartOptions = {},
): SvgElement {
  option.check("charts.coverage", arguments[1], chartOptions);
  const { shoes, metrics, cells, quarter, totals } = coverage;
  const title = `Bench coverage up to the end of ${quarter}`;
  if (shoes.length === 0 || metrics.length === 0) {
    const missing = shoes.length === 0 ? "no shoes" : "no metrics";
    return drawNothing(`Nothing to show: the bench has ${missing} yet.`, {
      title,
      width,
      ...options,
    });
  }
  const grid = gridOf({ shoes, metrics }, width - 2 * space.card);
  const known = cells.filter(({ shoe_id, metric }) =>
    grid.rowOf.has(shoe_id) && grid.columnOf.has(metric)
  );
  return draw({
    ...options,
    width,
    title,
    alt: `${coverageSentence(coverage)} ${missingWords(totals)}`,
    height: grid.height,
    marginLeft: 0,
    marginRight: 0,
    marginTop: 0,
    marginBottom: 0,
    x: { type: "identity", axis: null },
    y: { type: "identity", axis: null },
    key: (Object.keys(looks) as CoverageState[]).map(stateKey),
    notes: notesFor(shoes),
    marks: [
      Plot.link([...grid.rowOf.values()].map((y) => y + ROW / 2), {
        x1: 0,
        x2: grid.inner,
        y1: (y: number) => y,
        y2: (y: number) => y,
        stroke: colour.grid,
      }),
      ...headMarks(metrics, grid),
      ...nameMarks(shoes, grid),
      ...cellMarks(known, { shoes, metrics }, grid),
      ...footMarks(metrics, grid),
    ],
  });
}

const ROW = 19;
const FOOT = "shoes with a value";

/** Where the rows, the columns and their words stand. */
type Grid = {
  readonly inner: number;
  readonly left: number;
  readonly top: number;
  readonly bottom: number;
  readonly height: number;
  /** How large a sign is drawn, 1 where a column has room for it. */
  readonly size: number;
  /** Whether the counts at the foot stand upright; else they are turned on end. */
  readonly upright: boolean;
  readonly names: readonly string[];
  readonly headers: readonly (readonly string[])[];
  readonly rowOf: ReadonlyMap<string, number>;
  readonly columnOf: ReadonlyMap<string, number>;
};

function gridOf({ shoes, metrics }: Pick<BenchCoverage, "shoes" | "metrics">, inner: number): Grid {
  const names = shoes.map(({ name, reference }) => reference ? `◆ ${name}` : name);
  const widest = Math.max(...[...names, FOOT].map((name) => textWidth(name, type.small, "bold")));
  const left = Math.min(widest + 10, inner * 0.42);
  const column = (inner - left) / metrics.length;
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
  const bottom = top + shoes.length * ROW;
  const widestCount = Math.max(
    ...metrics.map(({ shoes_benched }) => textWidth(String(shoes_benched), type.small)),
  );
  const upright = widestCount + 5 < column; // else they run into each other, and stand on end
  return {
    inner,
    left,
    top,
    bottom,
    height: bottom + 6 + (upright ? ROW : Math.max(ROW, widestCount + 8)),
    size: Math.min(1, (column - 3) / 14),
    upright,
    names: shortenApart(names, left - 10, type.small, "bold"),
    headers,
    rowOf: new Map(shoes.map(({ shoe_id }, index) => [shoe_id, top + (index + 0.5) * ROW])),
    columnOf: new Map(metrics.map(({ metric }, index) => [metric, left + (index + 0.5) * column])),
  };
}

function missingWords({ cells_missing, cells_before_metric }: BenchCoverage["totals"]): string {
  const missing = cells_missing === 0
    ? "No cell is"
    : cells_missing === 1
    ? "1 cell is"
    : `${cells_missing} cells are`;
  const before = cells_before_metric === 0
    ? ""
    : `, and ${cells_before_metric} ${
      cells_before_metric === 1 ? "lies" : "lie"
    } before the metric existed`;
  return `${missing} missing${before}.`;
}

function headMarks(metrics: BenchCoverage["metrics"], { headers, columnOf, top }: Grid) {
  const lines = metrics.flatMap(({ metric }, index) =>
    headers[index].map((text, line) => ({
      text,
      x: columnOf.get(metric)! + (line - (headers[index].length - 1) / 2) * type.small * 1.15,
    }))
  );
  return [
    Plot.text(lines, {
      x: "x",
      y: () => top - 6,
      text: "text",
      rotate: -90,
      textAnchor: "start",
      fontSize: type.small,
    }),
  ];
}

function nameMarks(shoes: BenchCoverage["shoes"], { names, rowOf }: Grid) {
  const rows = shoes.map((shoe, index) => ({
    text: names[index],
    y: rowOf.get(shoe.shoe_id)!,
    isNew: shoe.new_this_quarter,
  }));
  const looks = {
    x: () => 0,
    y: "y",
    text: "text",
    textAnchor: "start",
    fontSize: type.small,
  } as const;
  return [
    Plot.text(rows.filter(({ isNew }) => !isNew), looks),
    Plot.text(rows.filter(({ isNew }) => isNew), { ...looks, fontWeight: 700 }),
  ];
}

/** A sign in each cell, and an area that says in words what it means. */
function cellMarks(
  cells: BenchCoverage["cells"],
  { shoes, metrics }: Pick<BenchCoverage, "shoes" | "metrics">,
  { rowOf, columnOf, size }: Grid,
) {
  const titles = new Map([
    ...shoes.map(({ shoe_id, name }) => [shoe_id, name] as const),
    ...metrics.map(({ metric, title }) => [metric, title] as const),
  ]);
  return [
    overlay(() =>
      cells.map((cell) => {
        const mark = stateMark(cell.state);
        const [x, y] = [columnOf.get(cell.metric)!, rowOf.get(cell.shoe_id)!];
        const scale = size < 1 ? ` scale(${size.toFixed(2)})` : "";
        mark.setAttribute("transform", `translate(${x},${y})${scale}`);
        return mark;
      })
    ),
    overlay(() =>
      cells.map((cell) => {
        const [x, y] = [columnOf.get(cell.metric)!, rowOf.get(cell.shoe_id)!];
        const about = titles.get(cell.shoe_id)!;
        return valueArea({ x: x - ROW / 2, y: y - ROW / 2, width: ROW, height: ROW }, {
          about,
          words: `${about}, ${titles.get(cell.metric)}: ${words[cell.state]}`,
        });
      })
    ),
  ];
}

function footMarks(metrics: BenchCoverage["metrics"], { columnOf, bottom, left, upright }: Grid) {
  return [
    Plot.text([FOOT], {
      x: () => 0,
      y: () => bottom + ROW / 2 + 3,
      text: (text: string) => shortenText(text, left - 10, type.small),
      textAnchor: "start",
      fontSize: type.small,
      fill: colour.quiet,
    }),
    Plot.text(metrics, {
      x: ({ metric }) => columnOf.get(metric)!,
      y: () => bottom + (upright ? ROW / 2 + 3 : 8),
      text: ({ shoes_benched }) => String(shoes_benched),
      rotate: upright ? 0 : -90,
      textAnchor: upright ? "middle" : "end",
      fontSize: type.small,
      fill: colour.quiet,
    }),
  ];
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
