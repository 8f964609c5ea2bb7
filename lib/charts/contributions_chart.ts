import * as Plot from "@observablehq/plot";
import * as option from "../options.ts";
import { chartOptions } from "./theme.ts";
import type { IndexScores, ShoeScore } from "../studies/index/index_scores.ts";
import { draw, drawNothing, type SvgElement, svgElement } from "./draw.ts";
import { shortenApart, shortenText, textWidth } from "./text_width.ts";
import { type ChartOptions, colour, pageWidth, seriesColours, space, type } from "./theme.ts";

type Part = { readonly id: string; readonly title: string; readonly points: number };

/**
 * What is every score made of?
 *
 * A bar a shoe, best first, stacked from the points of each term and of the bonuses. Every part carries its letter where it
 * fits, the same as in the key; beyond five terms those of least effect go together. The base, which all shoes have, is
 * left out: a bar is as long as the score less the base.
 *
 * @param options `most`: how many shoes from the top; `titles`: metric id to title; `base`: the rule's offset
 */
export function contributionsChart(
  { shoes, rule }: Pick<IndexScores, "shoes" | "rule">,
  { width = pageWidth, most = 20, titles = {}, base = 0, ...options }: ChartOptions & {
    readonly most?: number;
    readonly titles?: Readonly<Record<string, string>>;
    readonly base?: number;
  } = {},
): SvgElement {
  option.check("charts.contributions", arguments[1], {
    ...chartOptions,
    most: option.howMany,
    titles: option.thing,
    base: option.number,
  });
  const title = "What each score is made of";
  const scored = shoes.filter(({ score }) => score !== null);
  if (rule === null || scored.length === 0) {
    return drawNothing("No score to take apart: no shoe has one.", { title, width, ...options });
  }
  const series = chooseSeries(scored, titles);
  const shown = scored.slice(0, Math.max(1, most));
  const inner = width - 2 * space.card;
  const names = shown.map(({ name }) => name);
  const left = Math.min(
    Math.max(...names.map((name) => textWidth(name, type.small))) + 13,
    inner * 0.42,
  );
  const shortNames = shortenApart(names, left - 12, type.small);
  const totals = shown.map(({ score }) => score!.toFixed(2));
  const right = Math.max(...totals.map((text) => textWidth(text, type.small))) + 12;
  const [top, row] = [20, 22];
  const bottom = top + shown.length * row;
  const segments = shown.flatMap((shoe, index) => stack(shoe, series, index));
  const domain: [number, number] = [
    Math.min(0, ...segments.map(({ x1 }) => x1)),
    Math.max(0.001, ...segments.map(({ x2 }) => x2)),
  ];
  const plot = inner - left - right;
  const pixels = ({ x1, x2 }: { x1: number; x2: number }) =>
    (x2 - x1) / (domain[1] - domain[0]) * plot;
  const y = (index: number) => top + (index + 0.5) * row;
  const first = shown[0];
  const main = first.terms.toSorted((a, b) => (b.points ?? 0) - (a.points ?? 0)).at(0);
  return draw({
    ...options,
    width,
    title,
    alt: `What the scores of ${shown.length} shoes are made of, in points. ${first.name} has ${
      first.score!.toFixed(2)
    }${
      main === undefined
        ? ""
        : `, most of it from ${titles[main.metric] ?? main.metric}: ${
          (main.points ?? 0).toFixed(2)
        }`
    }.`,
    height: bottom + 46,
    marginLeft: left,
    marginRight: right,
    marginTop: top,
    marginBottom: 46,
    x: { domain, type: "linear" },
    y: { type: "identity", axis: null },
    key: series.map(({ letter, label, fill }) => ({
      label,
      mark: svgElement(
        "g",
        {},
        svgElement("rect", { x: -8, y: -8, width: 16, height: 16, fill }),
        svgElement("text", {
          x: 0,
          y: 0,
          dy: "0.35em",
          "text-anchor": "middle",
          "font-size": type.small,
          "font-weight": 700,
          fill: letterOn(fill),
        }, letter),
      ),
    })),
    notes: [
      base === 0
        ? "The number on the right is the score."
        : `The number on the right is the score: the bar and the base of ${
          Number(base.toFixed(3))
        }, which every shoe has.`,
      ...(shown.length < scored.length
        ? [`The first ${shown.length} of ${scored.length} shoes.`]
        : []),
    ],
    marks: [
      Plot.gridX({
        stroke: colour.bandStrong,
        strokeOpacity: 1,
        ticks: Math.max(3, Math.floor(plot / 70)),
      }),
      Plot.rect(segments, {
        x1: "x1",
        x2: "x2",
        y1: ({ index }) => y(index) - 8,
        y2: ({ index }) => y(index) + 8,
        fill: "fill",
        stroke: colour.card,
        strokeWidth: 1,
      }),
      Plot.text(segments.filter((segment) => pixels(segment) >= 13), {
        x: ({ x1, x2 }) => (x1 + x2) / 2,
        y: ({ index }) => y(index),
        text: "letter",
        fontSize: type.small,
        fontWeight: 700,
        fill: ({ fill }) => letterOn(fill),
      }),
      Plot.ruleX([0], { stroke: colour.ink }),
      Plot.text(shortNames, {
        frameAnchor: "left",
        textAnchor: "start",
        dx: -left + 4,
        y: (_, index) => y(index),
        text: (name: string) => name,
        fontSize: type.small,
      }),
      Plot.text(totals, {
        frameAnchor: "right",
        textAnchor: "end",
        dx: right - 4,
        y: (_, index) => y(index),
        text: (words: string) => words,
        fontSize: type.small,
      }),
      Plot.axisX({
        anchor: "bottom",
        ticks: Math.max(3, Math.floor(plot / 70)),
        tickSize: 4,
        label: shortenText("Points above the base", plot + right, type.tick),
        labelAnchor: "center",
        labelArrow: "none",
        labelOffset: 40,
        fontSize: type.tick,
      }),
    ],
  });
}

type Series = {
  readonly letter: string;
  readonly label: string;
  readonly fill: string;
  readonly holds: (part: Part) => boolean;
};

const BONUS = "bonus";

function partsOf(shoe: ShoeScore): Part[] {
  return [
    ...[...Map.groupBy(shoe.terms, ({ metric }) => metric)].map((
      [metric, terms],
    ) => ({
      id: metric,
      title: metric,
      points: terms.reduce((sum, { points }) => sum + (points ?? 0), 0),
    })),
    {
      id: BONUS,
      title: "bonuses",
      points: shoe.bonuses.reduce((sum, { points }) => sum + points, 0),
    },
  ];
}

/** The terms that move scores most have a colour each; the rest share one. */
function chooseSeries(
  shoes: readonly ShoeScore[],
  titles: Readonly<Record<string, string>>,
): Series[] {
  const metrics = [...new Set(shoes[0].terms.map(({ metric }) => metric))];
  const hasBonus = shoes.some(({ bonuses }) => bonuses.length > 0);
  const room = hasBonus ? 5 : 6;
  const size = (metric: string) =>
    shoes.reduce(
      (sum, { terms }) =>
        sum + Math.abs(
          terms.filter((term) => term.metric === metric)
            .reduce((all, { points }) => all + (points ?? 0), 0),
        ),
      0,
    );
  const own = metrics.length <= room
    ? metrics
    : metrics.toSorted((a, b) => size(b) - size(a)).slice(0, room - 1);
  const named = metrics.filter((metric) => own.includes(metric));
  const entries = [
    ...named.map((metric) => ({
      label: titles[metric] ?? metric,
      holds: ({ id }: Part) => id === metric,
    })),
    ...(named.length < metrics.length
      ? [{
        label: `${metrics.length - named.length} other terms`,
        holds: ({ id }: Part) => id !== BONUS && !named.includes(id),
      }]
      : []),
    ...(hasBonus ? [{ label: "Bonuses", holds: ({ id }: Part) => id === BONUS }] : []),
  ];
  return entries.map((entry, index) => ({
    ...entry,
    letter: "ABCDEF"[index],
    fill: seriesColours[index],
  }));
}

function stack(shoe: ShoeScore, series: readonly Series[], index: number) {
  const parts = partsOf(shoe);
  let [up, down] = [0, 0];
  return series.flatMap(({ letter, fill, holds }) => {
    const points = parts.filter(holds).reduce((sum, part) => sum + part.points, 0);
    if (points === 0) return [];
    const [x1, x2] = points > 0 ? [up, up + points] : [down + points, down];
    if (points > 0) up = x2;
    else down = x1;
    return [{ x1, x2, letter, fill, index }];
  });
}

/** Dark or light, whichever stands out more (relative luminance of WCAG 2.2). */
function letterOn(fill: string): string {
  const channel = (at: number) => {
    const value = parseInt(fill.slice(at, at + 2), 16) / 255;
    return value <= 0.04045 ? value / 12.92 : ((value + 0.055) / 1.055) ** 2.4;
  };
  const luminance = 0.2126 * channel(1) + 0.7152 * channel(3) + 0.0722 * channel(5);
  return luminance > 0.2 ? colour.ink : colour.card;
}
