import * as option from "../options.ts";
import type { Edition, EditionHistory } from "../studies/comparison/edition_history.ts";
import { editionWords } from "../words/comparison/edition_words.ts";
import { measured } from "../words/comparison/answer_words.ts";
import { axisHeading } from "./axis_heading.ts";
import { betterWords } from "./better_words.ts";
import { decimalsOf } from "../words/digits.ts";
import { signed } from "../words/phrases.ts";
import { atStep, LAST_STEP } from "./build_up.ts";
import { drawCard, type SvgElement, svgElement } from "./draw.ts";
import { laneBar, type LaneScale, laneScale, laneText } from "./lane_marks.ts";
import { limitLines, shortenText, textWidth } from "./text_width.ts";
import { type ChartOptions, chartOptions, colour, pageWidth, space, type } from "./theme.ts";

/**
 * How has a model changed from edition to edition?
 *
 * Editions from left to right, each with its value and its own interval; between two of them stands the change with its
 * interval and what may be said of it, all changes judged together. A full line joins editions that differ, a dotted
 * one those of which that can't be told.
 *
 * @param options `height` room in pixels
 */
export function editionChart(
  result: EditionHistory,
  { width = pageWidth, height: room, ...options }: ChartOptions & { readonly height?: number } = {},
): SvgElement {
  option.check("charts.edition", arguments[1], { ...chartOptions, height: option.positive });
  const { on, editions, model, confidence, family } = result;
  const inner = width - 2 * space.card;
  const percent = `${Math.round(confidence * 100)}%`;
  const card = {
    ...options,
    alt: editionWords(result).alt,
    title: `${model}: ${on.title} by edition`,
    width,
    key: [
      {
        label: `${percent} interval of an edition`,
        mark: svgElement("g", {}, ...laneBar(-9, 9, 0, colour.mark)),
      },
    ],
    notes: [
      `In brackets: interval of the change, ${percent}${
        family > 1 ? ` for all ${family} together` : ""
      }.`,
    ],
  };
  const around = Number(drawCard(card, { height: 0, content: [] }).getAttribute("height"));
  const heading = axisHeading(on, inner, uprightWords(on));
  const words = changeWords(result, inner);
  // Below the plot: a line for the edition, one for its date, and those of the changes.
  const below = 36 + 15 * Math.max(...words.map(({ length }) => length));
  const height = Math.round(
    Math.min(620, Math.max(heading.height + 70 + below, room === undefined ? 330 : room - around)),
  );
  const bottom = height - below;
  return drawCard(card, {
    height,
    content: [
      ...heading.content,
      ...plotMarks(result, { inner, top: heading.height + 6, bottom }),
      ...editionNames(result, { inner, y: bottom + 14 }),
      ...words.flatMap((lines, index) =>
        lines.map((line, row) =>
          atStep(
            LAST_STEP,
            laneText(line, {
              x: (index + 1) * inner / editions.length,
              y: bottom + 44 + 15 * row,
              anchor: "middle",
              weight: editions[index + 1].change!.word.startsWith("differ") ? "bold" : "regular",
            }),
          )
        )
      ),
    ],
  });
}

/** Which way is better on an axis that stands upright. */
function uprightWords(on: EditionHistory["on"]): string {
  return betterWords(on).replace(/^← (.*)$/, "↓ $1").replace(/^(.*) →$/, "↑ $1");
}

/** Each change as lines between its two editions; all are broken alike, so that their words stand level. */
function changeWords({ editions, on }: EditionHistory, inner: number): string[][] {
  const room = inner / editions.length - 8;
  const told = editions.slice(1).map(({ change }) => {
    // The change is kept as the edition before minus this one.
    const { estimate, lower, upper } = change!.difference;
    const word = change!.word === "differ by enough to feel" ? "enough to feel" : change!.word;
    if (estimate === null || lower === null || upper === null) return null;
    const size = `${estimate <= 0 ? "+" : ""}${measured(-estimate, on, { lower, upper })}`;
    const ends = [-upper, -lower].map((end) =>
      signed(end, decimalsOf({ lower, upper }, on.decimals))
    );
    const around = `(${ends.join(" to ")})`;
    return { size, around, word };
  });
  const known = told.filter((one) => one !== null);
  const fit = (of: (one: typeof known[number]) => string) =>
    known.every((one) => textWidth(of(one), type.small, "bold") <= room);
  const inOneLine = fit(({ size, around }) => `${size} ${around}`);
  const inTwo = fit(({ around }) => around);
  return told.map((one) => {
    if (one === null) return ["can't compare"];
    const { size, around, word } = one;
    return [
      ...(inOneLine ? [`${size} ${around}`] : inTwo ? [size, around] : [size]),
      ...limitLines(word, 2, room, type.small, "bold"),
    ];
  });
}

function plotMarks(
  { editions, on }: EditionHistory,
  { inner, top, bottom }: { readonly inner: number; readonly top: number; readonly bottom: number },
): SvgElement[] {
  const inside = (value: number) =>
    Math.min(on.possible.high ?? Infinity, Math.max(on.possible.low ?? -Infinity, value));
  const scale = laneScale(
    editions.flatMap(({ value }) =>
      [value.estimate, value.lower, value.upper].flatMap((one) => one === null ? [] : inside(one))
    ),
    { left: bottom, right: top, apart: 34, possible: on.possible },
  );
  const tickRoom = Math.max(
    ...scale.ticks.map((tick) => textWidth(scale.tickText(tick), type.small)),
  );
  const at = (index: number) => (index + 0.5) * inner / editions.length;
  return [
    ...scale.ticks.flatMap((tick) => [
      svgElement("line", {
        x1: tickRoom + 8,
        x2: inner,
        y1: scale.px(tick),
        y2: scale.px(tick),
        stroke: colour.grid,
      }),
      laneText(scale.tickText(tick), {
        x: tickRoom,
        y: scale.px(tick),
        anchor: "end",
        fill: colour.quiet,
      }),
    ]),
    ...editions.slice(1).map((edition, index) =>
      atStep(
        LAST_STEP,
        joint(edition, editions[index], { scale, x1: at(index), x2: at(index + 1) }),
      )
    ),
    ...editions.flatMap((edition, index) =>
      editionMarks(edition, { on, scale, x: at(index) })
        .map((mark) => atStep(index === 0 ? 2 : 3, mark))
    ),
  ];
}

function joint(
  { change, value }: Edition,
  before: Edition,
  { scale, x1, x2 }: { readonly scale: LaneScale; readonly x1: number; readonly x2: number },
): SvgElement {
  const differ = change!.word.startsWith("differ");
  return svgElement("line", {
    x1: x1 + 9,
    x2: x2 - 9,
    y1: scale.px(before.value.estimate!),
    y2: scale.px(value.estimate!),
    stroke: differ ? colour.ink : colour.context,
    "stroke-width": differ ? 2.25 : 1.5,
    ...(differ ? {} : { "stroke-dasharray": "2,4" }),
  });
}

function editionMarks(
  { value }: Edition,
  { on, scale, x }: {
    readonly on: EditionHistory["on"];
    readonly scale: LaneScale;
    readonly x: number;
  },
): SvgElement[] {
  const y = scale.px(value.estimate!);
  const [low, high] = [scale.right, scale.left];
  const ends = [value.lower, value.upper].flatMap((one) => {
    const end = one === null ? null : scale.px(one);
    return end === null
      ? []
      : [{ y: Math.min(high, Math.max(low, end)), capped: end >= low && end <= high }];
  });
  return [
    ...(ends.length < 2 ? [] : [
      svgElement("line", {
        x1: x,
        x2: x,
        y1: ends[0].y,
        y2: ends[1].y,
        stroke: colour.mark,
        "stroke-width": 2.5,
      }),
      ...ends.filter(({ capped }) => capped).map(({ y: end }) =>
        svgElement("line", {
          x1: x - 6,
          x2: x + 6,
          y1: end,
          y2: end,
          stroke: colour.mark,
          "stroke-width": 1.75,
        })
      ),
    ]),
    svgElement("circle", {
      cx: x,
      cy: y,
      r: 5.5,
      fill: colour.mark,
      stroke: colour.card,
      "stroke-width": 1.5,
    }),
    // Beside its dot, and never up among the heading's words.
    laneText(measured(value.estimate!, on, value), {
      x: x + 12,
      y: Math.max(low + 4, y - 9),
      weight: "bold",
      halo: true,
    }),
  ];
}

function editionNames(
  { editions }: EditionHistory,
  { inner, y }: { readonly inner: number; readonly y: number },
): SvgElement[] {
  const column = inner / editions.length;
  return editions.flatMap(({ edition, name, released }, index) => {
    const place = { x: (index + 0.5) * column, anchor: "middle" as const };
    const words = edition === null ? name : `Edition ${edition}`;
    return [
      laneText(shortenText(words, column - 8, type.small, "bold"), { ...place, y, weight: "bold" }),
      laneText(released === null ? "no date" : released.slice(0, 7), {
        ...place,
        y: y + 15,
        fill: colour.quiet,
      }),
    ];
  });
}
