import * as option from "../options.ts";
import { chartOptions } from "./theme.ts";
import type { MetricPair, PairedShoe } from "../studies/comparison/metric_pair.ts";
import type { ComparedOn } from "../studies/comparison/compared_on.ts";
import { metricPairWords } from "../words/comparison/metric_pair_words.ts";
import { unitWords } from "../words/unit_words.ts";
import { atStep } from "./build_up.ts";
import { draw, overlay, type SvgElement, svgElement } from "./draw.ts";
import { labelMarks } from "./label_marks.ts";
import { crossBar } from "./lane_marks.ts";
import { inAskedOrder, seriesColour, seriesSymbol } from "./series_symbol.ts";
import { dotBox, scatterAxes, type ScatterFrame, scatterFrame } from "./scatter_frame.ts";
import { scatterHeight } from "./scatter_height.ts";
import { shortenText } from "./text_width.ts";
import { type ChartOptions, colour, pageWidth, space, type } from "./theme.ts";

/**
 * How do two metrics lie against each other over the catalogue?
 *
 * A dot a shoe; the asked ones with a symbol of their own, their name and both intervals.
 *
 * @param options `height` room in pixels; `most` asked shoes that are marked and named
 */
export function metricPairChart(
  result: MetricPair,
  { width = pageWidth, height: room, most, ...options }: ChartOptions & {
    readonly height?: number;
    readonly most?: number;
  } = {},
): SvgElement {
  option.check("charts.metricPair", arguments[1], {
    ...chartOptions,
    height: option.positive,
    most: option.howMany,
  });
  const { x, y, shoes, confidence } = result;
  const inner = width - 2 * space.card;
  const note = `One dot a shoe, ${shoes.length} in all.${
    shoes.some((shoe) => shoe.asked) ? ` Bars: ${Math.round(confidence * 100)}% intervals.` : ""
  }`;
  const height = scatterHeight(inner, room, { alt: "-", width, notes: [note], ...options });
  const asked = inAskedOrder(shoes).slice(0, most);
  const frame = scatterFrame({
    inner,
    height,
    x: [...shoes, ...asked].flatMap((shoe) => reach(shoe, "x", asked)),
    y: [...shoes, ...asked].flatMap((shoe) => reach(shoe, "y", asked)),
    marginLeft: 50,
    marginBottom: 48,
  });
  const { mark: labels, left_out } = names(shoes, asked, frame);
  return draw({
    ...options,
    width,
    title: `${x.title} against ${y.title}`,
    alt: metricPairWords(result).alt,
    height,
    ...frame.margins,
    x: { domain: [...frame.x], label: null },
    y: { domain: [...frame.y], label: null },
    // A name that found no room beside its shoe stands in the key.
    key: asked.flatMap((shoe, series) =>
      left_out.includes(nameText(shoe, inner))
        ? [{ label: shoe.name, mark: seriesSymbol(series, 0, 0) }]
        : []
    ),
    notes: [note],
    marks: [
      ...scatterAxes(frame, {
        x: axisWords(x, "x"),
        y: axisWords(y, "y"),
        upright: Math.max(3, Math.floor(height / 60)),
      }),
      ...shoeMarks(shoes.filter((shoe) => !asked.includes(shoe)), asked),
      labels,
    ],
  });
}

/** A shoe's value on one axis; an asked one's limits too. */
function reach(shoe: PairedShoe, axis: "x" | "y", asked: readonly PairedShoe[]): number[] {
  const value = shoe[axis];
  if (!asked.includes(shoe)) return [value];
  return [value, shoe[`${axis}_lower`] ?? value, shoe[`${axis}_upper`] ?? value];
}

/** The names of the asked shoes, or of those furthest out, where no bar and no dot lies. */
function names(
  shoes: readonly PairedShoe[],
  asked: readonly PairedShoe[],
  { px, py, bounds, inner }: ScatterFrame,
) {
  const named = asked.length > 0 ? asked : edge(shoes, px, py);
  return labelMarks(
    named.map((shoe) => ({
      x: px(shoe.x),
      y: py(shoe.y),
      text: nameText(shoe, inner),
      radius: 6,
      priority: shoe.asked ? 1 : 0,
    })),
    {
      bounds,
      obstacles: asked.flatMap((shoe) =>
        bars(shoe).map(([x1, y1, x2, y2]) => ({
          left: Math.min(px(x1), px(x2)) - 1,
          right: Math.max(px(x1), px(x2)) + 1,
          top: Math.min(py(y1), py(y2)) - 1,
          bottom: Math.max(py(y1), py(y2)) + 1,
        }))
      ),
      occupied: shoes.filter((shoe) => !named.includes(shoe))
        .map((shoe) => dotBox(px(shoe.x), py(shoe.y), 4)),
    },
  );
}

/** A grey dot for each of the others, then the asked ones with their intervals. */
function shoeMarks(others: readonly PairedShoe[], asked: readonly PairedShoe[]) {
  return [
    overlay((scale) =>
      others.map((shoe) =>
        atStep(
          2,
          svgElement("circle", {
            cx: scale.x(shoe.x),
            cy: scale.y(shoe.y),
            r: 3.4,
            fill: colour.context,
            stroke: colour.card,
          }),
        )
      )
    ),
    overlay((scale) =>
      asked.flatMap((shoe, series) => [
        ...bars(shoe).flatMap(([x1, y1, x2, y2]) =>
          crossBar([scale.x(x1), scale.y(y1)], [scale.x(x2), scale.y(y2)], seriesColour(series))
        ),
        seriesSymbol(series, scale.x(shoe.x), scale.y(shoe.y)),
      ]).map((mark) => atStep(3, mark))
    ),
  ];
}

function nameText({ name }: PairedShoe, inner: number): string {
  return shortenText(name, inner * 0.45, type.small);
}

function axisWords({ title, unit, better }: ComparedOn, axis: "x" | "y"): string {
  const units = unitWords(unit ?? "");
  const named = units === "" ? title : `${title} (${units})`;
  if (better !== "higher" && better !== "lower") return axis === "y" ? `↑ ${named}` : named;
  const words = `${better} is better`;
  if (axis === "y") return `↑ ${named}, ${words}`;
  return better === "lower" ? `${named}, ← ${words}` : `${named}, ${words} →`;
}

/** Its intervals as lines: x1, y1, x2, y2. */
function bars(shoe: PairedShoe): [number, number, number, number][] {
  return [
    ...(shoe.x_lower === null || shoe.x_upper === null
      ? []
      : [[shoe.x_lower, shoe.y, shoe.x_upper, shoe.y] as [number, number, number, number]]),
    ...(shoe.y_lower === null || shoe.y_upper === null
      ? []
      : [[shoe.x, shoe.y_lower, shoe.x, shoe.y_upper] as [number, number, number, number]]),
  ];
}

/** The six shoes that lie furthest out. */
function edge(
  shoes: readonly PairedShoe[],
  px: (value: number) => number,
  py: (value: number) => number,
): PairedShoe[] {
  const [cx, cy] = [
    shoes.reduce((total, shoe) => total + px(shoe.x), 0) / shoes.length,
    shoes.reduce((total, shoe) => total + py(shoe.y), 0) / shoes.length,
  ];
  const distance = (shoe: PairedShoe) => Math.hypot(px(shoe.x) - cx, py(shoe.y) - cy);
  return shoes.toSorted((a, b) => distance(b) - distance(a)).slice(0, 6);
}
