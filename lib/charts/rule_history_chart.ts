import * as Plot from "@observablehq/plot";
import * as option from "../options.ts";
import { chartOptions } from "./theme.ts";
import type { RuleHistory } from "../studies/index/rule_history.ts";
import { draw, drawNothing, type KeyEntry, type SvgElement, svgElement } from "./draw.ts";
import { labelMarks } from "./label_marks.ts";
import type { PlotMargins } from "./scatter_frame.ts";
import { shortenText } from "./text_width.ts";
import {
  type ChartOptions,
  colour,
  pageWidth,
  seriesColours,
  seriesSymbols,
  space,
  type,
} from "./theme.ts";

/**
 * Which numbers were published when?
 *
 * A line a shoe through its score at the end of each quarter, as it stood then; lines break where the rule
 * changed, as scores of two versions are not on one scale. All shoes stand in grey, a few with a name.
 *
 * @param options `shoes`: ids of up to six shoes to name; unless given, those whose rank changed most under the rules
 */
export function ruleHistoryChart(
  { versions, shoes }: RuleHistory,
  { width = pageWidth, shoes: wanted, ...options }: ChartOptions & {
    readonly shoes?: readonly string[];
  } = {},
): SvgElement {
  option.check("charts.ruleHistory", arguments[1], {
    ...chartOptions,
    shoes: option.listOf(option.text),
  });
  const title = "Scores under every version so far";
  const rows = rowsOf(shoes);
  if (rows.length === 0) {
    return drawNothing("No score so far: no version of the index has been in force.", {
      title,
      width,
      ...options,
    });
  }
  const named = (wanted ?? mostMoved(shoes)).slice(0, seriesColours.length)
    .filter((id) => rows.some(({ shoe_id }) => shoe_id === id));
  const place = placeOf(rows, width - 2 * space.card);
  const { inner, margins, height } = place;
  const lastRows = named.map((id) => rows.findLast(({ shoe_id }) => shoe_id === id)!);
  const { mark: labels, left_out } = labelMarks(
    lastRows.map(({ day, score, name }) => ({
      x: place.px(day),
      y: place.py(score),
      text: shortenText(name, margins.marginRight - 14, type.small),
      radius: 4,
    })),
    {
      bounds: { left: inner - margins.marginRight + 2, right: inner, top: 0, bottom: height - 20 },
    },
  );
  return draw({
    ...options,
    width,
    title,
    alt: `Scores of ${shoes.length} shoes under ${
      versions.length === 1 ? "one version" : `${versions.length} versions`
    } of the index, as they stood at the end of each quarter.${
      named.length === 0
        ? ""
        : ` ${named.map((id) => wordsOf(shoes.find(({ shoe_id }) => shoe_id === id)!)).join("; ")}.`
    }`,
    height,
    ...margins,
    x: { domain: place.days.map((day) => new Date(day)), type: "utc" },
    y: { domain: [...place.scores], type: "linear" },
    key: signs().slice(0, versions.length < 2 ? 1 : 2),
    notes: [
      ...(versions.length < 2
        ? []
        : ["Lines break where the rule changed: scores of two versions are not on one scale."]),
      ...(left_out.length === 0 ? [] : [`No room for the name of ${left_out.join(", ")}.`]),
    ],
    marks: [
      Plot.gridY({ stroke: colour.grid, strokeOpacity: 1, ticks: 5 }),
      ...changeMarks(versions, place),
      ...scoreMarks(rows, named),
      labels,
      ...axes(place),
    ],
    symbol: { type: "identity" },
  });
}

/** One shoe's score at the end of one quarter, under the version then in force. */
type Row = {
  readonly shoe_id: string;
  readonly name: string;
  readonly score: number;
  /** Its line, which ends where the version does. */
  readonly line: string;
  readonly day: Date;
};

function rowsOf(shoes: RuleHistory["shoes"]): Row[] {
  return shoes.flatMap(({ shoe_id, name, versions: own }) =>
    own.flatMap(({ version, then }) =>
      then.flatMap(({ date, score }) =>
        score === null
          ? []
          : [{ shoe_id, name, score, line: `${shoe_id} ${version}`, day: new Date(date) }]
      )
    )
  );
}

/** Where days and scores lie on the card. */
type Place = {
  readonly inner: number;
  readonly height: number;
  readonly margins: PlotMargins;
  readonly plotWidth: number;
  readonly days: readonly [number, number];
  readonly scores: readonly [number, number];
  readonly px: (day: Date) => number;
  readonly py: (score: number) => number;
};

function placeOf(rows: readonly Row[], inner: number): Place {
  const [marginLeft, marginRight] = [44, Math.min(170, inner * 0.36)];
  const [marginTop, marginBottom, height] = [30, 32, 380];
  const times = rows.map(({ day }) => day.getTime());
  const [first, last] = [Math.min(...times), Math.max(...times)];
  const days = [first, first === last ? last + 86400000 : last] as const;
  const values = rows.map(({ score }) => score);
  const spread = Math.max(...values) - Math.min(...values) || 1;
  const scores = [
    Math.min(...values) - 0.04 * spread,
    Math.max(...values) + 0.04 * spread,
  ] as const;
  const plotWidth = inner - marginLeft - marginRight;
  const plotHeight = height - marginTop - marginBottom;
  return {
    inner,
    height,
    margins: { marginLeft, marginRight, marginTop, marginBottom },
    plotWidth,
    days,
    scores,
    px: (day) => marginLeft + (day.getTime() - days[0]) / (days[1] - days[0]) * plotWidth,
    py: (score) => marginTop + (1 - (score - scores[0]) / (scores[1] - scores[0])) * plotHeight,
  };
}

function signs(): KeyEntry[] {
  return [
    {
      label: "every shoe",
      mark: svgElement("line", { x1: -9, x2: 9, stroke: colour.context, "stroke-width": 1 }),
    },
    {
      label: "rule changes",
      mark: svgElement("line", {
        x1: 0,
        x2: 0,
        y1: -8,
        y2: 8,
        stroke: colour.ink,
        "stroke-dasharray": "3,3",
      }),
    },
  ];
}

/** A line across where one version took over from another. */
function changeMarks(
  versions: RuleHistory["versions"],
  { days, plotWidth }: Place,
): Plot.Markish[] {
  const changes = versions.slice(1).map(({ effective, version }) => ({
    day: new Date(effective),
    version,
  })).filter(({ day }) => day.getTime() > days[0] && day.getTime() < days[1]);
  return [
    Plot.ruleX(changes, { x: "day", stroke: colour.ink, strokeDasharray: "3,3" }),
    Plot.text(changes, {
      x: "day",
      frameAnchor: "top",
      dy: -12,
      text: ({ version }) => shortenText(`version ${version}`, plotWidth * 0.4, type.small),
      fontSize: type.small,
      fill: colour.quiet,
    }),
  ];
}

/** All shoes in grey, then the named ones each with a colour and a sign. */
function scoreMarks(rows: readonly Row[], named: readonly string[]): Plot.Markish[] {
  const isNamed = ({ shoe_id }: Row) => named.includes(shoe_id);
  const series = ({ shoe_id }: Row) => named.indexOf(shoe_id);
  const line = { x: "day", y: "score", z: "line" };
  return [
    Plot.line(rows.filter((row) => !isNamed(row)), {
      ...line,
      stroke: colour.context,
      strokeOpacity: 0.35,
      strokeWidth: 1,
    }),
    Plot.line(rows.filter(isNamed), {
      ...line,
      stroke: (row) => seriesColours[series(row)],
      strokeWidth: 2,
    }),
    Plot.dot(rows.filter(isNamed), {
      x: "day",
      y: "score",
      r: 4,
      symbol: (row: Row) => seriesSymbols[series(row)],
      fill: (row) => seriesColours[series(row)],
    }),
  ];
}

function axes({ plotWidth }: Place): Plot.Markish[] {
  const months = "Jan Feb Mar Apr May Jun Jul Aug Sep Oct Nov Dec".split(" ");
  return [
    Plot.axisX({
      anchor: "bottom",
      ticks: Math.max(2, Math.floor(plotWidth / 90)),
      tickFormat: (day: Date) =>
        `${months[day.getUTCMonth()]} ${String(day.getUTCFullYear()).slice(2)}`,
      tickSize: 4,
      label: null,
      fontSize: type.tick,
    }),
    Plot.axisY({
      anchor: "left",
      ticks: 5,
      tickSize: 4,
      label: "Score",
      labelArrow: "none",
      fontSize: type.tick,
    }),
  ];
}

/** The shoes whose place moved most from the first table that has them to the last. */
function mostMoved(shoes: RuleHistory["shoes"]): string[] {
  return shoes.flatMap(({ shoe_id, versions }) => {
    const ranks = versions.flatMap(({ then }) => then.flatMap(({ rank }) => rank ?? []));
    return ranks.length < 2 ? [] : [{ shoe_id, moved: Math.abs(ranks.at(-1)! - ranks[0]) }];
  }).toSorted((a, b) => b.moved - a.moved || (a.shoe_id < b.shoe_id ? -1 : 1))
    .slice(0, 4).map(({ shoe_id }) => shoe_id);
}

function wordsOf({ name, versions }: RuleHistory["shoes"][number]): string {
  const parts = versions.flatMap(({ version, then }) => {
    const last = then.findLast(({ score }) => score !== null);
    return last === undefined ? [] : [`${last.score!.toFixed(2)} under version ${version}`];
  });
  return `${name} ${parts.join(", ")}`;
}
