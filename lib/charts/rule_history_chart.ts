import * as Plot from "@observablehq/plot";
import * as option from "../options.ts";
import { chartOptions } from "./theme.ts";
import type { RuleHistory } from "../studies/index/rule_history.ts";
import { draw, drawNothing, type SvgElement, svgElement } from "./draw.ts";
import { labelMarks } from "./label_marks.ts";
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
  const rows = shoes.flatMap(({ shoe_id, name, versions: own }) =>
    own.flatMap(({ version, then }) =>
      then.flatMap(({ date, score }) =>
        score === null
          ? []
          : [{ shoe_id, name, version, score, line: `${shoe_id} ${version}`, day: new Date(date) }]
      )
    )
  );
  if (rows.length === 0) {
    return drawNothing("No score so far: no version of the index has been in force.", {
      title,
      width,
      ...options,
    });
  }
  const named = (wanted ?? mostMoved(shoes)).slice(0, seriesColours.length)
    .filter((id) => rows.some(({ shoe_id }) => shoe_id === id));
  const inner = width - 2 * space.card;
  const [marginLeft, marginRight] = [44, Math.min(170, inner * 0.36)];
  const [top, height] = [30, 380];
  const days = rows.map(({ day }) => day.getTime());
  const domainX = [Math.min(...days), Math.max(...days)];
  if (domainX[0] === domainX[1]) domainX[1] += 86400000;
  const scores = rows.map(({ score }) => score);
  const spread = Math.max(...scores) - Math.min(...scores) || 1;
  const domainY = [Math.min(...scores) - 0.04 * spread, Math.max(...scores) + 0.04 * spread];
  const plotWidth = inner - marginLeft - marginRight;
  const px = (day: Date) =>
    marginLeft + (day.getTime() - domainX[0]) / (domainX[1] - domainX[0]) * plotWidth;
  const plotHeight = height - top - 32;
  const py = (score: number) =>
    top + (1 - (score - domainY[0]) / (domainY[1] - domainY[0])) * plotHeight;
  const points = named.map((id) => {
    const last = rows.findLast(({ shoe_id }) => shoe_id === id)!;
    return {
      x: px(last.day),
      y: py(last.score),
      text: shortenText(last.name, marginRight - 14, type.small),
      radius: 4,
    };
  });
  const { mark: labels, left_out } = labelMarks(points, {
    bounds: { left: inner - marginRight + 2, right: inner, top: 0, bottom: height - 20 },
  });
  const changes = versions.slice(1).map(({ effective, version }) => ({
    day: new Date(effective),
    version,
  })).filter(({ day }) => day.getTime() > domainX[0] && day.getTime() < domainX[1]);
  const isNamed = ({ shoe_id }: typeof rows[number]) => named.includes(shoe_id);
  const place = ({ shoe_id }: typeof rows[number]) => named.indexOf(shoe_id);
  return draw({
    ...options,
    width,
    title,
    alt: `Scores of ${shoes.length} shoes under ${
      versions.length === 1 ? "one version" : `${versions.length} versions`
    } of the index, as they stood at the end of each quarter. ${
      named.map((id) => wordsOf(shoes.find(({ shoe_id }) => shoe_id === id)!)).join("; ")
    }.`,
    height,
    marginLeft,
    marginRight,
    marginTop: top,
    marginBottom: 32,
    x: { domain: domainX.map((day) => new Date(day)), type: "utc" },
    y: { domain: domainY, type: "linear" },
    key: [
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
    ],
    notes: [
      "Lines break where the rule changed: scores of two versions are not on one scale.",
      ...(left_out.length === 0 ? [] : [`No room for the name of ${left_out.join(", ")}.`]),
    ],
    marks: [
      Plot.gridY({ stroke: colour.grid, strokeOpacity: 1, ticks: 5 }),
      Plot.ruleX(changes, { x: "day", stroke: colour.ink, strokeDasharray: "3,3" }),
      Plot.text(changes, {
        x: "day",
        frameAnchor: "top",
        dy: -12,
        text: ({ version }) => shortenText(`version ${version}`, plotWidth * 0.4, type.small),
        fontSize: type.small,
        fill: colour.quiet,
      }),
      Plot.line(rows.filter((row) => !isNamed(row)), {
        x: "day",
        y: "score",
        z: "line",
        stroke: colour.context,
        strokeOpacity: 0.35,
        strokeWidth: 1,
      }),
      Plot.line(rows.filter(isNamed), {
        x: "day",
        y: "score",
        z: "line",
        stroke: (row) => seriesColours[place(row)],
        strokeWidth: 2,
      }),
      Plot.dot(rows.filter(isNamed), {
        x: "day",
        y: "score",
        r: 4,
        symbol: (row: typeof rows[number]) => seriesSymbols[place(row)],
        fill: (row) => seriesColours[place(row)],
      }),
      labels,
      Plot.axisX({
        anchor: "bottom",
        ticks: Math.max(2, Math.floor(plotWidth / 90)),
        tickFormat: (day: Date) =>
          `${"Jan Feb Mar Apr May Jun Jul Aug Sep Oct Nov Dec".split(" ")[day.getUTCMonth()]} ${
            String(day.getUTCFullYear()).slice(2)
          }`,
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
    ],
    symbol: { type: "identity" },
  });
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
