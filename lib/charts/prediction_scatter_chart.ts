import { signed } from "../words/phrases.ts";
import * as Plot from "@observablehq/plot";
import * as option from "../options.ts";
import { chartOptions } from "./theme.ts";
import type { PredictionPair } from "../studies/prediction/types.ts";
import { sayReason } from "../words/reasons.ts";
import { draw, drawNothing, type KeyEntry, type SvgElement } from "./draw.ts";
import { labelMarks } from "./label_marks.ts";
import { dotBox, scatterAxes, type ScatterFrame, scatterFrame } from "./scatter_frame.ts";
import { seriesSymbol } from "./series_symbol.ts";
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
import { unitWords } from "../words/unit_words.ts";
import { pairSentence } from "../words/prediction/pair_sentence.ts";

/** More names than this cover the dots. */
const NAMED = 8;

/**
 * How do the shoes lie on one bench metric against one impression?
 *
 * A mark a shoe, with a sign of its own for each of the makers with most shoes; editions of a line are joined, since
 * they are no separate cases. A thin line runs from a shoe's most severe tester to its most lenient one. The shoe
 * whose absence moves the correlation most has a ring around it, and is named first.
 *
 * @param options `names`: ids of the shoes to name; all when there are 8 or fewer, else those furthest out
 */
export function predictionScatterChart(
  pair: PredictionPair,
  { width = pageWidth, names, ...options }: ChartOptions & { readonly names?: readonly string[] } =
    {},
): SvgElement {
  option.check("charts.predictionScatter", arguments[1], {
    ...chartOptions,
    names: option.listOf(option.text),
  });
  const { metric_title, attribute_title, unit, points, influence, spearman } = pair;
  const title = `${metric_title} against ${attribute_title}`;
  if (points.length === 0) {
    return drawNothing(`No shoe has both ${metric_title} and ${attribute_title}.`, {
      title,
      width,
      ...options,
    });
  }
  const inner = width - 2 * space.card;
  const frame = scatterFrame({
    inner,
    height: Math.round(Math.min(440, Math.max(280, inner * 0.64))),
    x: points.map((point) => point.metric_value),
    y: points.flatMap(({ panel_low, panel_high }) => [panel_low, panel_high]),
  });
  const special = points.filter(({ shoe_id }) => shoe_id === influence.shoe_id);
  const makers = makersOf(points);
  const joined = points.filter(({ line }, i) =>
    points.some((other, j) => j !== i && other.line === line)
  );
  const asked = names === undefined ? edgeShoes(points, frame.x, frame.y) : new Set(names);
  if (names === undefined && influence.shoe_id !== null) asked.add(influence.shoe_id);
  return draw({
    ...options,
    width,
    title,
    alt: scatterAlt(pair),
    height: frame.height,
    ...frame.margins,
    x: { domain: [...frame.x], label: null },
    y: { domain: [...frame.y], label: null },
    notes: [
      "Thin lines: from a shoe's lowest to its highest tester, each one's leniency taken out.",
      ...(special.length === 0
        ? []
        : [`Ring: ${special[0].name} moves the rank correlation most.`]),
      ...boundNote(points),
      ...(joined.length === 0 ? [] : ["Dashes join editions of a line: no separate cases."]),
    ],
    key: makers.length < 2 ? [] : makers.map(({ name }, series): KeyEntry => ({
      label: shortenText(name, inner * 0.4, type.note),
      mark: seriesSymbol(series, 0, 0),
    })),
    marks: [
      ...scatterAxes(frame, {
        x: unitWords(unit) === "" ? metric_title : `${metric_title} (${unitWords(unit)})`,
        y: `↑ ${attribute_title} (rating points)`,
      }),
      ...shoeMarks(pair, { special, makers, joined }),
      nameMarks(pair, asked, frame),
      ...noEstimateNote(spearman, inner),
    ],
  });
}

/** How many shoes ran off the end of the scale. */
export function boundNote(points: PredictionPair["points"]): string[] {
  const beyond = points.filter(({ bound }) => bound !== undefined).length;
  return beyond === 0 ? [] : [
    `Arrows: ${
      beyond === 1 ? "a shoe" : `${beyond} shoes`
    } that ran off the end of the scale, drawn at the bound.`,
  ];
}

/** Which way the values of such shoes lie. */
export function boundArrows(points: PredictionPair["points"]): Plot.Markish[] {
  const at = { x: "metric_value", y: "panel_value", fill: colour.ink };
  const beyond = (side: "below" | "above") =>
    points.filter(({ bound }) => bound !== undefined && side in bound);
  return [
    Plot.text(beyond("below"), { ...at, dx: -11, text: () => "←" }),
    Plot.text(beyond("above"), { ...at, dx: 11, text: () => "→" }),
  ];
}

type Points = PredictionPair["points"];

function shoeMarks(
  { points }: PredictionPair,
  { special, makers, joined }: {
    readonly special: Points;
    readonly makers: readonly MakerSeries[];
    readonly joined: Points;
  },
): Plot.Markish[] {
  const place = { x: "metric_value", y: "panel_value" };
  return [
    Plot.ruleX(points, {
      x: "metric_value",
      y1: "panel_low",
      y2: "panel_high",
      stroke: colour.line,
      strokeWidth: 1,
      strokeOpacity: 0.7,
    }),
    Plot.line(joined, {
      ...place,
      z: "line",
      stroke: colour.line,
      strokeWidth: 1.25,
      strokeDasharray: "3,2",
    }),
    ...makers.map(({ own, fill, symbol }) =>
      Plot.dot(own, { ...place, r: 4.5, symbol, fill, stroke: colour.card, strokeWidth: 1 })
    ),
    ...boundArrows(points),
    Plot.dot(special, { ...place, r: 8.5, stroke: colour.accent, strokeWidth: 2 }),
  ];
}

/** The names of the asked shoes, where no dot and no tester's line lies; the one with the ring goes first. */
function nameMarks(
  { points, influence }: PredictionPair,
  asked: ReadonlySet<string>,
  { px, py, bounds, inner }: ScatterFrame,
) {
  const { mark } = labelMarks(
    points.filter(({ shoe_id }) => asked.has(shoe_id)).map((point) => ({
      x: px(point.metric_value),
      y: py(point.panel_value),
      text: shortenText(point.name, inner * 0.45, type.small),
      ...(point.shoe_id === influence.shoe_id ? { fill: colour.accent, priority: 1 } : {}),
    })),
    {
      bounds,
      obstacles: points.map((point) => ({
        left: px(point.metric_value) - 1,
        right: px(point.metric_value) + 1,
        top: py(point.panel_high),
        bottom: py(point.panel_low),
      })),
      occupied: points.filter(({ shoe_id }) => !asked.has(shoe_id))
        .map((point) => dotBox(px(point.metric_value), py(point.panel_value), 5)),
    },
  );
  return mark;
}

function noEstimateNote(spearman: PredictionPair["spearman"], inner: number): Plot.Markish[] {
  return [
    ...(spearman.estimate === null
      ? [
        Plot.text([`no estimate: ${sayReason(spearman.estimate_reason!)}`], {
          frameAnchor: "top-right",
          dy: -22,
          text: (text: string) => shortenText(text, inner * 0.5, type.small),
          textAnchor: "end",
          fontSize: type.small,
          fill: colour.quiet,
        }),
      ]
      : []),
  ];
}

type MakerSeries = {
  readonly name: string;
  readonly own: PredictionPair["points"];
  readonly fill: string;
  readonly symbol: (typeof seriesSymbols)[number];
};

/** Makers with most shoes first, as many as there are signs; the rest together. */
function makersOf(points: PredictionPair["points"]): MakerSeries[] {
  const byMaker = [...Map.groupBy(points, ({ maker }) => maker)]
    .sort(([a, of], [b, than]) => than.length - of.length || (a < b ? -1 : 1));
  const most = seriesSymbols.length;
  const shown = byMaker.length <= most ? byMaker : byMaker.slice(0, most - 1);
  const rest = byMaker.slice(shown.length);
  return [
    ...shown,
    ...(rest.length === 0
      ? []
      : [[`${rest.length} other makers`, rest.flatMap(([, own]) => own)] as const]),
  ].map(([name, own], i) => ({ name, own, fill: seriesColours[i], symbol: seriesSymbols[i] }));
}

/** The shoes that lie furthest out, so that the reader can name both ends. */
function edgeShoes(
  points: PredictionPair["points"],
  x: readonly [number, number],
  y: readonly [number, number],
): Set<string> {
  const distance = ({ metric_value, panel_value }: PredictionPair["points"][number]) =>
    Math.hypot(
      (metric_value - (x[0] + x[1]) / 2) / (x[1] - x[0]),
      (panel_value - (y[0] + y[1]) / 2) / (y[1] - y[0]),
    );
  return new Set(
    points.toSorted((a, b) => distance(b) - distance(a) || (a.shoe_id < b.shoe_id ? -1 : 1))
      .slice(0, NAMED)
      .map(({ shoe_id }) => shoe_id),
  );
}

function scatterAlt(
  pair: PredictionPair,
): string {
  const { metric_title, attribute_title, spearman, n, influence, points } = pair;
  const shoe = points.find(({ shoe_id }) => shoe_id === influence.shoe_id)?.name;
  // The sentence holds the correlation already, unless there is none.
  const rho = spearman.estimate === null
    ? `no rank correlation (${sayReason(spearman.estimate_reason!)}). `
    : "";
  const without = shoe === undefined || influence.without_it === null
    ? ""
    : ` Without ${shoe} it would be ${signed(influence.without_it)}.`;
  return `${metric_title} against ${attribute_title}, ${n} ${n === 1 ? "shoe" : "shoes"}: ${rho}${
    pairSentence(pair)
  }${without}`;
}
