import * as Plot from "@observablehq/plot";
import * as option from "../options.ts";
import { chartOptions } from "./theme.ts";
import type { ReferenceChart } from "../studies/drift/reference_charts.ts";
import type { ReferenceDrift } from "../studies/drift/reference_drift.ts";
import type { RigDrift } from "../studies/drift/rig_drift.ts";
import { rigSentence } from "../words/drift/drift_sentences.ts";
import { inUnit, noiseInUnit, unitWords } from "../words/unit_words.ts";
import { draw, drawNothing, overlay, type SvgElement, svgElement } from "./draw.ts";
import { limitLines, textWidth } from "./text_width.ts";
import { type ChartOptions, colour, pageWidth, space, type } from "./theme.ts";
import { valueArea } from "./value_area.ts";
import { counted } from "../words/phrases.ts";

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
  option.check("charts.drift", arguments[1], { ...chartOptions, metric: option.text });
  const shown = metric ?? rigs.find(({ claimed }) => claimed)?.metric ?? rigs[0]?.metric;
  const own = rigs.filter((rig) => rig.metric === shown);
  const panels = charts.filter((chart) => chart.metric === shown);
  if (panels.length === 0) {
    return drawNothing("No reference shoe has been benched, so drift can't be seen.", {
      title: "Reference shoes over time",
      width,
      ...options,
    });
  }
  const inner = width - 2 * space.card;
  const dates = panels.flatMap(({ points }) => points.map(({ date }) => Date.parse(date)));
  const [start, end] = [Math.min(...dates), Math.max(...dates)];
  const room = Math.max(86400000 * 5, (end - start) * 0.02);
  const { laid, height } = layOut(panels, own, inner);
  const signals = panels.reduce((sum, panel) => sum + signalled(panel).size, 0);
  const title = panels[0].title;
  const unit = unitWords(panels[0].unit);
  return draw({
    ...options,
    width,
    title: `${title}: reference shoes over time`,
    alt: `${title} of the reference shoes over time, ${
      counted(panels.length, "chart")
    }, one a shoe and rig. ${own.map(rigSentence).join(" ")} ${
      counted(signals, "visit gives", "visits give")
    } a signal.`,
    height,
    marginLeft,
    marginRight: 10,
    marginTop: 0,
    marginBottom: 40,
    x: { domain: [new Date(start - room), new Date(end + room)], type: "utc", label: null },
    y: { type: "identity", axis: null },
    key: keyOf(signals > 0),
    notes: [
      `On the left: ${title}${
        unit === "" ? "" : ` (${unit})`
      }. Visits to a steady bench stay between the limits; the moving average shows a slow change.${
        panels.length < 2
          ? ""
          : ` All charts are on one scale, ${
            noiseInUnit(sharedSpan(panels), panels[0])
          } high, each about its own shoe's level.`
      }`,
      ...signalNotes(panels),
      ...own.map(rigSentence),
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
      ...limitMarks(laid),
      ...visitMarks(laid),
      ...textMarks(laid),
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

const marginLeft = 58;
const plotHeight = 104;

/** One panel with its place on the card. */
type Laid = {
  readonly panel: ReferenceChart;
  readonly at: (value: number) => number;
  readonly top: number;
  readonly bottom: number;
  readonly lines: readonly { readonly text: string; readonly y: number }[];
};

function layOut(
  panels: readonly ReferenceChart[],
  rigs: readonly RigDrift[],
  inner: number,
): { readonly laid: readonly Laid[]; readonly height: number } {
  let y = 0;
  const span = sharedSpan(panels);
  const laid = panels.map((panel) => {
    const rig = rigs.find((one) => one.rig === panel.rig);
    const lines = limitLines(panelTitle(panel, rig), 2, inner, type.label, "bold");
    const top = y + lines.length * type.label * 1.3 + 6;
    const [low, high] = reachOf(panel);
    const at = (value: number) =>
      top + plotHeight * (0.5 + 0.88 * ((low + high) / 2 - value) / span);
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
  return { laid, height: y + 36 };
}

/** From the lowest to the highest of a panel's visits and limits. */
function reachOf({ points, lower, upper }: ReferenceChart): readonly [number, number] {
  const values = [
    ...points.map(({ value }) => value),
    ...[lower, upper].filter((limit) => limit !== null),
  ];
  return [Math.min(...values), Math.max(...values)];
}

/** What every panel spans, in the metric's unit: a step as high is as large in each of them. */
function sharedSpan(panels: readonly ReferenceChart[]): number {
  const reaches = panels.map(reachOf);
  const widest = Math.max(...reaches.map(([low, high]) => high - low));
  return widest > 0 ? widest : Math.max(1, ...reaches.map(([, high]) => Math.abs(high) * 0.1));
}

/** Why a visit inside the limits may be a signal, where there is such a one. */
function signalNotes(panels: readonly ReferenceChart[]): string[] {
  const inside = panels.reduce((sum, panel) => {
    const out = new Set(
      panel.signals.filter(({ rule }) => rule === "beyond the limits").map(({ session_id }) =>
        session_id
      ),
    );
    return sum + signalled(panel).size - out.size;
  }, 0);
  return inside === 0 ? [] : [
    `${
      counted(inside, "signal lies", "signals lie")
    } inside the limits: a jump from the visit before, the eighth or a later one in a row on one side of the middle, or a moving average that left narrower limits of its own.`,
  ];
}

function signalled(panel: ReferenceChart): ReadonlySet<string> {
  return new Set(panel.signals.map(({ session_id }) => session_id));
}

function keyOf(hasSignals: boolean) {
  return [
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
    ...(hasSignals
      ? [{
        label: "a signal: look it up",
        mark: svgElement("path", { d: "M0,-6L6,0L0,6L-6,0Z", fill: colour.accent }),
      }]
      : []),
  ];
}

function limitsOf(laid: readonly Laid[]) {
  return laid.flatMap(({ panel, at }) =>
    ([[panel.lower, "limit"], [panel.centre, "centre"], [panel.upper, "limit"]] as const)
      .flatMap(([value, kind]) =>
        value === null ? [] : [{ y: at(value), kind, words: tick(value, panel) }]
      )
  );
}

function limitMarks(laid: readonly Laid[]): Plot.Markish[] {
  const limits = limitsOf(laid);
  return [
    Plot.ruleY(limits.filter(({ kind }) => kind === "centre"), { y: "y", stroke: colour.line }),
    Plot.ruleY(limits.filter(({ kind }) => kind === "limit"), {
      y: "y",
      stroke: colour.ink,
      strokeDasharray: "4,3",
      strokeWidth: 1.25,
    }),
  ];
}

function visitMarks(laid: readonly Laid[]): Plot.Markish[] {
  const points = laid.flatMap(({ panel, at }) =>
    panel.points.map((point) => ({
      x: Date.parse(point.date),
      y: at(point.value),
      signal: signalled(panel).has(point.session_id),
      words: visitWords(panel, point),
    }))
  );
  const averages = laid.flatMap(({ panel, at }, index) =>
    panel.points.filter(({ ewma }) => ewma !== null)
      .map(({ date, ewma }) => ({ x: Date.parse(date), y: at(ewma!), index }))
  );
  return [
    Plot.line(averages, { x: "x", y: "y", z: "index", stroke: colour.context, strokeWidth: 2 }),
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
    overlay(({ x }) =>
      points.map((point) =>
        valueArea({ x: x(point.x) - 6, y: point.y - 8, width: 12, height: 16 }, {
          about: "",
          words: point.words,
        })
      )
    ),
  ];
}

/** A visit's value, and by which rule it is a signal: one inside the limits may be. */
function visitWords(
  panel: ReferenceChart,
  { date, session_id, value }: ReferenceChart["points"][number],
): string {
  const rules = panel.signals.filter((signal) => signal.session_id === session_id)
    .map(({ rule }) => rule);
  return `${date}: ${inUnit(value, panel)}${
    rules.length === 0 ? "" : `; a signal: ${[...new Set(rules)].join(", ")}`
  }`;
}

function textMarks(laid: readonly Laid[]): Plot.Markish[] {
  return [
    Plot.text(limitsOf(laid), {
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
  ];
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

/** The rig's change a year stands here only where it is claimed. */
function panelTitle({ name, rig }: ReferenceChart, drift: RigDrift | undefined): string {
  const slope = drift?.claimed === true ? drift.slope.estimate : null;
  const change = slope === null
    ? ""
    : `; the rig ${slope < 0 ? "" : "+"}${inUnit(slope, drift!)} a year`;
  return `${name}${rig === null ? "" : ` on ${rig}`}${change}`;
}

/** As precise as the margin has room for. */
function tick(value: number, { decimals, unit }: ReferenceChart): string {
  const digits = Math.min(6, decimals + (unitWords(unit) === "" ? 1 : 0));
  const words = value.toFixed(digits);
  return textWidth(words, type.small) <= 50 ? words : value.toPrecision(4);
}
