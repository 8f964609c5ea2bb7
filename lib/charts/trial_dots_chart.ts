import * as Plot from "@observablehq/plot";
import * as option from "../options.ts";
import { chartOptions } from "./theme.ts";
import type { MetricTrials } from "../studies/repeatability/metric_trials.ts";
import { sayReason } from "../words/reasons.ts";
import { noiseInUnit, valueInUnit } from "../words/unit_words.ts";
import { draw, drawNothing, type KeyEntry, type SvgElement, svgElement } from "./draw.ts";
import type { PlotMargins } from "./scatter_frame.ts";
import { shortenApart, textWidth } from "./text_width.ts";
import { type ChartOptions, colour, pageWidth, space, type } from "./theme.ts";
import { axisLabel, roomy } from "./value_words.ts";
import { counted } from "../words/phrases.ts";

/**
 * What was read, trial by trial, and which shoes can't be told from the one in the middle?
 *
 * A row a shoe, highest first: a dot a trial, a stroke at the mean of each visit. The band reaches one MDC to both sides
 * of the middle shoe. A flagged trial is a diamond in another colour, with its line in trials.csv.
 */
export function trialDotsChart(
  result: MetricTrials,
  { width = pageWidth, ...options }: ChartOptions = {},
): SvgElement {
  option.check("charts.trialDots", arguments[1], chartOptions);
  const { title, unit, shoes, mdc, mdc_of, middle } = result;
  const heading = `${title}, trial by trial`;
  if (shoes.length === 0 || middle === null) {
    return drawNothing(`Nobody has read ${title} yet.`, { title: heading, width, ...options });
  }
  const rows = rowsOf(result, width - 2 * space.card);
  const { trials, flagged, margins, height, domain } = rows;
  const noMdc = mdc === null ? `No MDC: ${sayReason(result.mdc_reason!)}.` : null;
  return draw({
    ...options,
    width,
    title: heading,
    alt: `${title}, ${counted(trials.length, "trial")} on ${counted(shoes.length, "shoe")}, from ${
      valueInUnit(shoes[0].value, result, mdc)
    } (${shoes[0].name}) to ${valueInUnit(shoes.at(-1)!.value, result, mdc)} (${
      shoes.at(-1)!.name
    }). ${
      noMdc ??
        `${result.like_the_middle || "No"} other ${
          result.like_the_middle === 1 ? "shoe lies" : "shoes lie"
        } within one MDC, ${noiseInUnit(mdc!, result)}, of ${middle.name}.`
    } ${flagged.length || "No"} ${flagged.length > 1 ? "trials stand" : "trial stands"} out.`,
    height,
    ...margins,
    x: { domain: [...domain], label: null },
    y: { type: "identity", axis: null },
    key: signs(flagged.length > 0),
    notes: [
      noMdc ??
        `Band: one MDC (${
          noiseInUnit(mdc!, result)
        }, means of ${mdc_of}) to both sides of ${middle.name}. A shoe inside it can't be told from that one.`,
    ],
    marks: [
      ...(mdc === null ? [] : [Plot.rect([0], {
        x1: middle.value - mdc,
        x2: middle.value + mdc,
        y1: margins.marginTop,
        y2: height - margins.marginBottom,
        fill: colour.bandStrong,
        fillOpacity: 0.75,
      })]),
      ...readingMarks(shoes, rows),
      ...flagWords(rows),
      ...edges(rows, axisLabel(title, unit, rows.inner - margins.marginLeft)),
    ],
  });
}

type DrawnTrial = MetricTrials["shoes"][number]["visits"][number]["trials"][number] & {
  readonly y: number;
};

/** Where the rows, their trials and the means of their visits lie. */
type Rows = {
  readonly inner: number;
  readonly height: number;
  readonly margins: PlotMargins;
  readonly names: readonly string[];
  readonly rowY: (row: number) => number;
  readonly trials: readonly DrawnTrial[];
  readonly flagged: readonly DrawnTrial[];
  readonly means: readonly { readonly mean: number; readonly y1: number; readonly y2: number }[];
  readonly domain: readonly [number, number];
};

function rowsOf({ shoes, mdc, middle }: MetricTrials, inner: number): Rows {
  const names = shortenApart(
    shoes.map(({ name, reference }) => reference ? `${name} (reference)` : name),
    Math.min(190, inner * 0.34),
    type.small,
  );
  const marginLeft = Math.ceil(Math.max(...names.map((name) => textWidth(name, type.small)))) + 10;
  const rowHeight = 17;
  const [marginTop, marginBottom, marginRight] = [8, 46, 12];
  const rowY = (row: number) => marginTop + (row + 0.5) * rowHeight;
  const trials = shoes.flatMap(({ visits }, row) =>
    visits.flatMap((visit) => visit.trials.map((trial) => ({ ...trial, y: rowY(row) })))
  );
  return {
    inner,
    height: marginTop + shoes.length * rowHeight + marginBottom,
    margins: { marginLeft, marginRight, marginTop, marginBottom },
    names,
    rowY,
    trials,
    flagged: trials.filter((trial) => trial.flagged),
    means: shoes.flatMap(({ visits }, row) =>
      visits.map(({ mean }) => ({ mean, y1: rowY(row) - 5, y2: rowY(row) + 5 }))
    ),
    domain: roomy([
      ...trials.map(({ value }) => value),
      ...(mdc === null ? [] : [middle!.value - mdc, middle!.value + mdc]),
    ], 0.04),
  };
}

function signs(anyFlagged: boolean): KeyEntry[] {
  return [
    { label: "one trial", mark: svgElement("circle", { r: 3, fill: colour.mark }) },
    {
      label: "mean of a visit",
      mark: svgElement("line", {
        y1: -6,
        y2: 6,
        x1: 0,
        x2: 0,
        stroke: colour.ink,
        "stroke-width": 2,
      }),
    },
    ...(anyFlagged
      ? [{
        label: "stands out: look it up",
        mark: svgElement("path", { d: "M0,-6L6,0L0,6L-6,0Z", fill: colour.accent }),
      }]
      : []),
  ];
}

function readingMarks(
  shoes: MetricTrials["shoes"],
  { inner, domain, rowY, trials, flagged, means }: Rows,
): Plot.Markish[] {
  return [
    Plot.gridX({ stroke: colour.grid, strokeOpacity: 1, ticks: Math.floor(inner / 90) }),
    Plot.link(shoes, {
      x1: domain[0],
      x2: domain[1],
      y1: (_, row) => rowY(row),
      y2: (_, row) => rowY(row),
      stroke: colour.grid,
    }),
    Plot.dot(trials.filter((trial) => !trial.flagged), {
      x: "value",
      y: "y",
      r: 2.6,
      fill: colour.mark,
      fillOpacity: 0.55,
    }),
    Plot.link(means, {
      x1: "mean",
      x2: "mean",
      y1: "y1",
      y2: "y2",
      stroke: colour.ink,
      strokeWidth: 1.75,
    }),
    Plot.dot(flagged, { x: "value", y: "y", r: 5.5, symbol: "diamond", fill: colour.accent }),
  ];
}

/** The lines of the flagged trials, on the side where the card has room. */
function flagWords(
  { inner, domain, margins: { marginLeft, marginRight }, flagged }: Rows,
): Plot.Markish[] {
  const px = (value: number) =>
    marginLeft + (value - domain[0]) / (domain[1] - domain[0]) * (inner - marginLeft - marginRight);
  const words = ({ line }: DrawnTrial) => `line ${line}`;
  const fitsRight = (trial: DrawnTrial) =>
    px(trial.value) + 9 + textWidth(words(trial), type.small) < inner;
  return [true, false].map((right) =>
    Plot.text(flagged.filter((trial) => fitsRight(trial) === right), {
      x: "value",
      y: "y",
      text: words,
      dx: right ? 9 : -9,
      textAnchor: right ? "start" : "end",
      fontSize: type.small,
      fill: colour.accent,
      stroke: colour.card,
      strokeWidth: 3,
    })
  );
}

/** The shoes' names on the left and the axis below. */
function edges({ inner, margins, names, rowY }: Rows, label: string): Plot.Markish[] {
  return [
    Plot.text(names, {
      frameAnchor: "left",
      textAnchor: "end",
      dx: -8,
      y: (_, row) => rowY(row),
      text: (name) => name,
      fontSize: type.small,
      fill: colour.ink,
    }),
    Plot.axisX({
      anchor: "bottom",
      ticks: Math.max(3, Math.floor((inner - margins.marginLeft) / 80)),
      tickSize: 4,
      fontSize: type.tick,
      label,
      labelAnchor: "center",
      labelArrow: "none",
      labelOffset: 40,
    }),
  ];
}
