import * as Plot from "@observablehq/plot";
import { counted } from "../words/comparison/answer_words.ts";
import type { ReferenceChart, ReferenceDrift } from "../studies/drift/reference_drift.ts";
import { inUnit, unitWords } from "../words/unit_words.ts";
import { draw, drawNothing, type SvgElement, svgElement } from "./draw.ts";
import { limitLines, textWidth } from "./text_width.ts";
import { type ChartOptions, colour, pageWidth, space, type } from "./theme.ts";

/**
 * Do the reference shoes read today as they did at the start?
 *
 * One panel a reference shoe and rig of a metric: each visit's mean in order of time, the moving average, the limits of an
 * individuals chart. A visit with a signal (out of the limits, end of a run, the average out of its own limits) is a
 * diamond in another colour.
 *
 * @param options.metric which metric to draw; the first that drifts, or the first of all, by default
 */
export function driftChart(
  { charts, rigs }: Pick<ReferenceDrift, "charts" | "rigs">,
  { metric, width = pageWidth, ...options }: ChartOptions & { readonly metric?: string } = {},
): SvgElement {
  const drifts = (verdict: string) => verdict !== "no drift" && verdict !== "can't tell";
  const shown = metric ?? rigs.find(({ verdict }) => drifts(verdict))?.metric ?? rigs[0]?.metric;
  const panels = charts.filter((chart) => chart.metric === shown);
  if (panels.length === 0) {
    return drawNothing("No reference shoe has been benched, so drift can't be seen.", {
      title: "Reference shoes over time",
      width,
      ...options,
    });
  }
  const inner = width - 2 * space.card;
  const [marginLeft, marginRight] = [58, 10];
  const dates = panels.flatMap(({ points }) => points.map(({ date }) => Date.parse(date)));
  const [start, end] = [Math.min(...dates), Math.max(...dates)];
  const room = Math.max(86400000 * 5, (end - start) * 0.02);
  const plotHeight = 104;
  let y = 0;
  const laid = panels.map((panel) => {
    const lines = limitLines(panelTitle(panel), 2, inner, type.label, "bold");
    const top = y + lines.length * type.label * 1.3 + 6;
    const values = [
      ...panel.points.map(({ value }) => value),
      ...[panel.lower, panel.upper].filter((limit) => limit !== null),
    ];
    const [low, high] = [Math.min(...values), Math.max(...values)];
    const span = high > low ? high - low : Math.max(Math.abs(high) * 0.1, 1);
    const at = (value: number) =>
      top + plotHeight * (0.06 + 0.88 * (high + (high > low ? 0 : span / 2) - value) / span);
    const out = {
      panel,
      at,
      top,
      bottom: top + plotHeight,
      lines: lines.map((text, i) => ({ text, y: y + (i + 0.75) * type.label * 1.3 })),
    };
    y = top + plotHeight + 16;
    return out;
  });
  const height = y + 36;
  const signalled = (panel: ReferenceChart) =>
    new Set(panel.signals.map(({ session_id }) => session_id));
  const points = laid.flatMap(({ panel, at }) =>
    panel.points.map((point) => ({
      x: Date.parse(point.date),
      y: at(point.value),
      signal: signalled(panel).has(point.session_id),
    }))
  );
  const limits = laid.flatMap(({ panel, at }) =>
    [
      [panel.lower, "limit"],
      [panel.centre, "centre"],
      [panel.upper, "limit"],
    ].flatMap(([value, kind]) =>
      value === null ? [] : [{ y: at(value as number), value: value as number, kind }]
    ).map((line) => ({ ...line, words: tick(line.value, panel) }))
  );
  const averages = laid.flatMap(({ panel, at }, index) =>
    panel.points.filter(({ ewma }) => ewma !== null)
      .map(({ date, ewma }) => ({ x: Date.parse(date), y: at(ewma!), index }))
  );
  const signals = panels.reduce((sum, panel) => sum + signalled(panel).size, 0);
  const title = panels[0].title;
  const own = rigs.filter((rig) => rig.metric === shown);
  return draw({
    ...options,
    width,
    title: `${title}: reference shoes over time`,
    alt: `${title} of the reference shoes over time, ${
      counted(panels.length, "chart")
    }, one a shoe and rig. ${own.map(({ sentence }) => sentence).join(" ")} ${
      counted(signals, "visit gives", "visits give")
    } a signal.`,
    height,
    marginLeft,
    marginRight,
    marginTop: 0,
    marginBottom: 40,
    x: { domain: [new Date(start - room), new Date(end + room)], type: "utc", label: null },
    y: { type: "identity", axis: null },
    key: [
      { label: "mean of a visit", mark: svgElement("circle", { r: 3.5, fill: colour.mark }) },
      {
        label: "moving average",
        mark: svgElement("line", { x1: -9, x2: 9, stroke: colour.context, "stroke-width": 2 }),
      },
      {
        label: "limits",
        mark: svgElement("line", {
          x1: -9,
          x2: 9,
          stroke: colour.ink,
          "stroke-dasharray": "4,3",
          "stroke-width": 1.25,
        }),
      },
      ...(signals === 0 ? [] : [{
        label: "a signal: look it up",
        mark: svgElement("path", { d: "M0,-6L6,0L0,6L-6,0Z", fill: colour.accent }),
      }]),
    ],
    notes: [
      `On the left: ${title}${
        unitWords(panels[0].unit) === "" ? "" : ` (${unitWords(panels[0].unit)})`
      }. Visits to a steady bench stay between the limits; the moving average shows a slow change.`,
      ...own.map(({ sentence }) => sentence),
    ],
    marks: [
      Plot.rect(laid, {
        x1: new Date(start - room),
        x2: new Date(end + room),
        y1: "top",
        y2: "bottom",
        fill: colour.band,
        fillOpacity: 0.45,
      }),
      Plot.ruleY(limits.filter(({ kind }) => kind === "centre"), { y: "y", stroke: colour.line }),
      Plot.ruleY(limits.filter(({ kind }) => kind === "limit"), {
        y: "y",
        stroke: colour.ink,
        strokeDasharray: "4,3",
        strokeWidth: 1.25,
      }),
      Plot.line(averages, {
        x: "x",
        y: "y",
        z: "index",
        stroke: colour.context,
        strokeWidth: 2,
      }),
      Plot.dot(points.filter(({ signal }) => !signal), {
        x: "x",
        y: "y",
        r: 3.5,
        fill: colour.mark,
        stroke: colour.card,
      }),
      Plot.dot(points.filter(({ signal }) => signal), {
        x: "x",
        y: "y",
        r: 5.5,
        symbol: "diamond",
        fill: colour.accent,
        stroke: colour.card,
      }),
      Plot.text(limits, {
        frameAnchor: "left",
        textAnchor: "end",
        dx: -6,
        y: "y",
        text: "words",
        fontSize: type.small,
        fill: colour.ink,
      }),
      Plot.text(laid.flatMap(({ lines }) => lines), {
        frameAnchor: "left",
        textAnchor: "start",
        dx: -marginLeft,
        y: "y",
        text: "text",
        fontSize: type.label,
        fontWeight: 700,
        fill: colour.ink,
      }),
      Plot.axisX({
        anchor: "bottom",
        ticks: monthTicks(start - room, end + room, Math.floor((inner - marginLeft) / 66)),
        tickFormat: (date: Date) => date.toISOString().slice(0, 7),
        tickSize: 4,
        fontSize: type.tick,
        label: null,
      }),
    ],
  });
}

/** First days of months, thinned to what there is room for. */
function monthTicks(start: number, end: number, most: number): Date[] {
  const first = new Date(start);
  const months = [...Array(1200).keys()]
    .map((month) => new Date(Date.UTC(first.getUTCFullYear(), month, 1)))
    .filter((date) => date.getTime() >= start && date.getTime() <= end);
  const step = [1, 2, 3, 6, 12, 24, 60, 120]
    .find((every) => Math.ceil(months.length / every) <= Math.max(1, most)) ?? 240;
  return months.filter((date) => (date.getUTCFullYear() * 12 + date.getUTCMonth()) % step === 0);
}

function panelTitle({ name, rig, slope, ...metric }: ReferenceChart): string {
  const change = slope.estimate === null
    ? ""
    : `, ${slope.estimate < 0 ? "" : "+"}${inUnit(slope.estimate, metric)} a year`;
  return `${name}${rig === null ? "" : ` on ${rig}`}${change}`;
}

/** As precise as the margin has room for. */
function tick(value: number, { decimals, unit }: ReferenceChart): string {
  const digits = Math.min(6, decimals + (unitWords(unit) === "" ? 1 : 0));
  const words = value.toFixed(digits);
  return textWidth(words, type.small) <= 50 ? words : value.toPrecision(4);
}
