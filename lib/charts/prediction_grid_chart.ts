import * as option from "../options.ts";
import { chartOptions } from "./theme.ts";
import type { PredictionClaim, PredictionPair } from "../studies/prediction/types.ts";
import { drawCard, drawNothing, type KeyEntry, type SvgElement, svgElement } from "./draw.ts";
import { limitLines, shortenText, textWidth } from "./text_width.ts";
import { type ChartOptions, colour, pageWidth, space, type } from "./theme.ts";
import { intervalWords, valueArea } from "./value_area.ts";
import { asSentence, listed, signed } from "../words/phrases.ts";
import { over } from "../words/prediction/pair_sentence.ts";

/** Below this width a cell has no room for its word, and the grid becomes one list an impression. */
const narrowestCell = 82;

/** What a mark says: a metric that says nothing a stronger one doesn't has one of its own. */
type Drawn = PredictionClaim | "goes with";

const drawnClaims: readonly Drawn[] = [
  "predicts",
  "goes with",
  "hint",
  "no sign of it",
  "can't tell",
];

function drawnOf({ claim, goes_with }: PredictionPair): Drawn {
  return claim === "predicts" && goes_with !== null ? "goes with" : claim;
}

/** Only what is drawn, but always the four claims. */
function keyOf(pairs: readonly PredictionPair[]): KeyEntry[] {
  const along = pairs.some((pair) => drawnOf(pair) === "goes with");
  return drawnClaims.filter((drawn) => along || drawn !== "goes with").map(claimKey);
}

/**
 * Which metric goes with which impression, and how surely?
 *
 * A cell a pair: the rank correlation with its interval on an axis of its own from −1 to 1, tall ticks where the noise of
 * both sides sets a ceiling, and the claim as a sign and as a word. On a narrow width the grid becomes a list.
 */
export function predictionGridChart(
  pairs: readonly PredictionPair[],
  { width = pageWidth, ...options }: ChartOptions = {},
): SvgElement {
  option.check("charts.predictionGrid", arguments[1], chartOptions);
  const title = "Which bench metric goes with which impression";
  if (pairs.length === 0) {
    return drawNothing("No metric can be set against an impression: no shoe has both.", {
      title,
      width,
      ...options,
    });
  }
  const metrics = [...new Map(pairs.map((pair) => [pair.metric, pair.metric_title]))];
  const attributes = [...new Map(pairs.map((pair) => [pair.attribute, pair.attribute_title]))];
  const pairOf = new Map(
    pairs.map((pair) => [JSON.stringify([pair.metric, pair.attribute]), pair]),
  );
  const find = (metric: string, attribute: string) =>
    pairOf.get(JSON.stringify([metric, attribute]));

  const inner = width - 2 * space.card;
  const widest = Math.max(...metrics.map(([, name]) => textWidth(name, type.tick)));
  const left = Math.min(widest + 12, Math.max(110, inner * 0.24));
  const cell = (inner - left) / attributes.length;
  const body = cell >= narrowestCell
    ? gridBody({ metrics, attributes, find, left, cell, inner })
    : listBody({ metrics, attributes, find, inner });
  const confidence = Math.round(pairs[0].spearman.confidence * 100);
  return drawCard({
    ...options,
    width,
    title,
    alt: gridAlt(pairs),
    key: keyOf(pairs),
    notes: [
      `Each small axis runs from −1 to 1: Spearman's rank correlation over shoes, bar = ${confidence}% interval.`,
      ...(pairs.some(({ ceiling }) => ceiling !== null)
        ? ["Tall thin ticks: the strongest correlation that the noise of both sides allows."]
        : []),
      ...computedNote(pairs),
    ],
  }, body);
}

type Layout = {
  readonly metrics: readonly (readonly [string, string])[];
  readonly attributes: readonly (readonly [string, string])[];
  readonly find: (metric: string, attribute: string) => PredictionPair | undefined;
  readonly inner: number;
};

function gridBody(
  { metrics, attributes, find, left, cell, inner }:
    & Layout
    & { readonly left: number; readonly cell: number },
): { height: number; content: SvgElement[] } {
  const content: SvgElement[] = [];
  const step = type.tick * 1.2;
  const headers = attributes.map(([, name]) => limitLines(name, 3, cell - 8, type.tick, "bold"));
  const top = Math.max(...headers.map((lines) => lines.length)) * step + 22;
  headers.forEach((lines, column) =>
    lines.forEach((line, index) =>
      content.push(label(line, {
        x: left + (column + 0.5) * cell,
        y: top - 22 - (lines.length - index - 0.5) * step,
        anchor: "middle",
        size: type.tick,
        bold: true,
      }))
    )
  );
  const axis = (column: number) =>
    [left + column * cell + 12, left + (column + 1) * cell - 12] as const;
  attributes.forEach((_, column) => {
    const [from, to] = axis(column);
    for (const [value, text] of [[-1, "−1"], [0, "0"], [1, "1"]] as const) {
      content.push(label(text, {
        x: from + (value + 1) / 2 * (to - from),
        y: top - 9,
        anchor: "middle",
        size: type.small,
        fill: colour.quiet,
      }));
    }
  });
  const areas: SvgElement[] = [];
  const row = 44;
  metrics.forEach(([metric, name], index) => {
    const y = top + index * row;
    content.push(
      svgElement("line", { x1: 0, x2: inner, y1: y, y2: y, stroke: colour.grid }),
    );
    const lines = limitLines(name, 3, left - 10, type.tick);
    lines.forEach((line, number) =>
      content.push(label(line, {
        x: 0,
        y: y + row / 2 + (number - (lines.length - 1) / 2) * type.tick * 1.1,
        anchor: "start",
        size: type.tick,
      }))
    );
    attributes.forEach(([attribute], column) => {
      const pair = find(metric, attribute);
      const [from, to] = axis(column);
      if (pair !== undefined) {
        content.push(...miniAxis(pair, { from, to, y: y + 15 }));
        areas.push(
          valueArea({ x: from - 4, y, width: to - from + 8, height: row }, pairValue(pair)),
        );
        const word = pair.spearman.estimate === null ? "no estimate" : drawnOf(pair);
        content.push(label(word, {
          x: (from + to) / 2,
          y: y + 33,
          anchor: "middle",
          size: type.small,
          bold: drawnOf(pair) === "predicts",
          fill: drawnOf(pair) === "predicts" ? colour.ink : colour.quiet,
        }));
      }
    });
  });
  return { height: top + metrics.length * row + 4, content: [...content, ...areas] };
}

function listBody(
  { metrics, attributes, find, inner }: Layout,
): { height: number; content: SvgElement[] } {
  const content: SvgElement[] = [];
  const word = Math.max(
    ...[...drawnClaims, "no estimate"].map((claim) => textWidth(claim, type.small, "bold")),
  ) +
    8;
  const names = Math.min(
    Math.max(...metrics.map(([, name]) => textWidth(name, type.small))) + 12,
    (inner - word) * 0.5,
  );
  const [from, to] = [names + 9, inner - word - 9];
  const [head, row] = [34, 25];
  let y = 0;
  for (const [attribute, title] of attributes) {
    content.push(label(shortenText(title, names - 6, type.label, "bold"), {
      x: 0,
      y: y + head - 10,
      anchor: "start",
      size: type.label,
      bold: true,
    }));
    for (const [value, text] of [[-1, "−1"], [0, "0"], [1, "1"]] as const) {
      content.push(label(text, {
        x: from + (value + 1) / 2 * (to - from),
        y: y + head - 9,
        anchor: "middle",
        size: type.small,
        fill: colour.quiet,
      }));
    }
    y += head;
    for (const [metric, name] of metrics) {
      const pair = find(metric, attribute);
      content.push(
        svgElement("line", { x1: 0, x2: inner, y1: y, y2: y, stroke: colour.grid }),
        label(shortenText(name, names - 6, type.small), {
          x: 0,
          y: y + row / 2,
          anchor: "start",
          size: type.small,
        }),
      );
      if (pair !== undefined) {
        content.push(
          ...miniAxis(pair, { from, to, y: y + row / 2 }),
          valueArea({ x: 0, y, width: inner, height: row }, pairValue(pair)),
          label(pair.spearman.estimate === null ? "no estimate" : drawnOf(pair), {
            x: inner,
            y: y + row / 2,
            anchor: "end",
            size: type.small,
            bold: drawnOf(pair) === "predicts",
            fill: drawnOf(pair) === "predicts" ? colour.ink : colour.quiet,
          }),
        );
      }
      y += row;
    }
    y += 6;
  }
  return { height: y, content };
}

function pairValue(pair: PredictionPair): { readonly about: string; readonly words: string } {
  return {
    about: pair.metric_title,
    words: `${pair.metric_title} and ${pair.attribute_title}: ${intervalWords(pair.spearman)}, ${
      drawnOf(pair)
    }, ${pair.n} shoes`,
  };
}

function miniAxis(
  pair: PredictionPair,
  { from, to, y }: { readonly from: number; readonly to: number; readonly y: number },
): SvgElement[] {
  const { spearman, ceiling } = pair;
  const px = (value: number) => from + (Math.min(1, Math.max(-1, value)) + 1) / 2 * (to - from);
  const line = (x1: number, x2: number, stroke: string, width: number, half = 0) =>
    svgElement("line", { x1, x2, y1: y - half, y2: y + half, stroke, "stroke-width": width });
  const base = [
    line(from, to, colour.edge, 1),
    line(px(0), px(0), colour.line, 1, 9),
    ...(ceiling === null
      ? []
      : [-ceiling, ceiling].map((end) => line(px(end), px(end), colour.ink, 1.25, 9))),
  ];
  if (spearman.estimate === null) return base;
  const drawn = drawnOf(pair);
  const stroke = isFound(drawn) ? colour.mark : colour.context;
  return [
    ...base,
    ...(spearman.lower === null || spearman.upper === null ? [] : [
      line(px(spearman.lower), px(spearman.upper), stroke, 2.5),
      ...[spearman.lower, spearman.upper].map((end) => line(px(end), px(end), stroke, 1.75, 6)),
    ]),
    svgElement("g", { transform: `translate(${px(spearman.estimate)},${y})` }, claimSign(drawn)),
  ];
}

function isFound(drawn: Drawn): boolean {
  return drawn !== "no sign of it" && drawn !== "can't tell";
}

function claimSign(claim: Drawn): SvgElement {
  switch (claim) {
    case "goes with":
      return svgElement(
        "g",
        {},
        svgElement("circle", {
          r: 4.5,
          fill: colour.card,
          stroke: colour.mark,
          "stroke-width": 1.75,
        }),
        svgElement("circle", { r: 2, fill: colour.mark }),
      );
    case "predicts":
      return svgElement("circle", { r: 4.5, fill: colour.mark });
    case "hint":
      return svgElement("circle", {
        r: 3.5,
        fill: colour.card,
        stroke: colour.mark,
        "stroke-width": 2,
      });
    case "no sign of it":
      return svgElement("rect", { x: -4, y: -4, width: 8, height: 8, fill: colour.context });
    case "can't tell":
      return svgElement("path", {
        d: "M0,-5L5,0L0,5L-5,0Z",
        fill: colour.card,
        stroke: colour.context,
        "stroke-width": 1.75,
      });
  }
}

function claimKey(claim: Drawn): KeyEntry {
  return {
    label: claim === "goes with" ? "goes with a stronger one" : claim,
    mark: svgElement(
      "g",
      {},
      svgElement("line", {
        x1: -9,
        x2: 9,
        stroke: isFound(claim) ? colour.mark : colour.context,
        "stroke-width": 2.5,
      }),
      claimSign(claim),
    ),
  };
}

function label(
  text: string,
  { x, y, anchor, size, bold = false, fill = colour.ink }: {
    readonly x: number;
    readonly y: number;
    readonly anchor: "start" | "middle" | "end";
    readonly size: number;
    readonly bold?: boolean;
    readonly fill?: string;
  },
): SvgElement {
  return svgElement("text", {
    x,
    y,
    dy: "0.32em",
    "text-anchor": anchor,
    "font-size": size,
    fill,
    ...(bold ? { "font-weight": 700 } : {}),
  }, text);
}

/** Why more is drawn than the text counts. */
function computedNote(pairs: readonly PredictionPair[]): string[] {
  const titles = [
    ...new Set(pairs.flatMap((pair) => pair.derived_from === null ? [] : [pair.metric_title])),
  ];
  if (titles.length === 0) return [];
  return [
    `${listed(titles)} ${
      titles.length === 1 ? "is computed from another metric" : "are computed from other metrics"
    }: drawn, but counted nowhere.`,
  ];
}

function gridAlt(pairs: readonly PredictionPair[]): string {
  const named = (pair: PredictionPair, cases: string) =>
    `${pair.metric_title} with ${pair.attribute_title}${
      pair.spearman.estimate === null ? "" : ` (${signed(pair.spearman.estimate)}${cases})`
    }`;
  const words = (pair: PredictionPair) => named(pair, "");
  const claimed = (pair: PredictionPair) => named(pair, ` over ${over(pair)}`);
  // A metric computed from another one's trials is drawn, but is no further evidence.
  const counted = pairs.filter(({ derived_from }) => derived_from === null);
  const of = (claim: PredictionClaim) => counted.filter((pair) => pair.claim === claim);
  const predicts = of("predicts").filter(({ goes_with }) => goes_with === null);
  const indirect = of("predicts").filter(({ goes_with }) => goes_with !== null);
  const hints = of("hint");
  const along = indirect.length === 0
    ? ""
    : ` ${indirect.length} ${indirect.length === 1 ? "goes" : "go"} with a stronger one: ${
      indirect.map(claimed).join(", ")
    }.`;
  const computed = pairs.length === counted.length
    ? ""
    : ` ${
      pairs.length - counted.length
    } more of computed metrics are drawn, but are no further evidence.`;
  const [none, open] = [of("no sign of it").length, of("can't tell").length];
  const rest = [
    ...(none === 0 ? [] : [`${none} ${none === 1 ? "shows" : "show"} no sign of it`]),
    ...(open === 0 ? [] : [`for ${open} these data can't tell`]),
  ].join(", and ");
  return `Of ${counted.length} ${
    counted.length === 1 ? "pair" : "pairs"
  } of a metric and an impression, ${predicts.length || "none"} ${
    predicts.length > 1 ? "predict" : "predicts"
  }${predicts.length === 0 ? "" : `: ${predicts.map(claimed).join(", ")}`}.${along}${
    hints.length === 0
      ? ""
      : ` ${hints.length} ${hints.length === 1 ? "is a hint" : "are hints"}: ${
        hints.map(words).join(", ")
      }.`
  }${rest === "" ? "" : ` ${asSentence(rest)}.`}${computed}`;
}
