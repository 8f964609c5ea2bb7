import * as Plot from "@observablehq/plot";
import * as option from "../options.ts";
import { chartOptions } from "./theme.ts";
import type { AttributePrediction } from "../studies/prediction/types.ts";
import { sayReason } from "../words/reasons.ts";
import { draw, drawNothing, type SvgElement } from "./draw.ts";
import { labelMarks } from "./label_marks.ts";
import { dotBox, scatterAxes, type ScatterFrame, scatterFrame } from "./scatter_frame.ts";
import { shortenText } from "./text_width.ts";
import { type ChartOptions, colour, pageWidth, space, type } from "./theme.ts";

/** Shoes named in the chart: those the model misses by most. */
const NAMED = 5;

/**
 * How near does a model of several metrics come to a shoe that it has not seen?
 *
 * A dot a shoe: across what the model foretells with that shoe left out, upwards what the panel felt. On the line the two
 * agree; the shoes missed by most are drawn as diamonds and named.
 *
 * @param options `model`: ridge (default) or weights that only reward the better direction
 */
export function predictionModelChart(
  { title: attribute, model }: Pick<AttributePrediction, "title" | "model">,
  { width = pageWidth, model: which = "ridge", ...options }:
    & ChartOptions
    & { readonly model?: "ridge" | "nnls" } = {},
): SvgElement {
  option.check("charts.predictionModel", arguments[1], {
    ...chartOptions,
    model: option.oneOf("ridge", "nnls"),
  });
  const title = `${attribute}: foretold and felt`;
  const points = (model?.points ?? []).flatMap(({ name, observed, ...point }) => {
    const foretold = point[which];
    return foretold === null ? [] : [{ name, observed, foretold, miss: observed - foretold }];
  });
  if (points.length === 0) {
    return drawNothing(
      `Nothing foretells ${attribute}: ${sayReason(model?.reason ?? { code: "not-modelled" })}.`,
      { title, width, ...options },
    );
  }
  const inner = width - 2 * space.card;
  const frame = scatterFrame({
    inner,
    height: Math.round(Math.min(460, Math.max(320, inner * 0.8))),
    x: points.map(({ foretold }) => foretold),
    y: points.map(({ observed }) => observed),
  });
  const byMiss = points.toSorted((a, b) => Math.abs(b.miss) - Math.abs(a.miss));
  const missed = byMiss.slice(0, NAMED);
  const rest = byMiss.slice(NAMED);
  const { mark: labels, left_out } = names(missed, rest, frame);
  const { r2, error } = fitWords(model![which]);
  const way = which === "ridge" ? "" : ", better direction only";
  return draw({
    ...options,
    width,
    title,
    alt: `${attribute} of ${points.length} shoes, each foretold from ${
      model!.metrics.length
    } metrics without having been in the fit: out-of-sample R² ${r2}, typical error ${error} rating points. Missed by most: ${
      missed.slice(0, 3).map(({ name, miss }) => `${name} (${signed(miss, 1)})`).join(", ")
    }.`,
    height: frame.height,
    ...frame.margins,
    x: { domain: [...frame.x], label: null },
    y: { domain: [...frame.y], label: null },
    notes: [
      `R² on shoes not seen ${r2}. Typical error ${error} rating points.`,
      `On the dashed line the two agree. Diamonds: missed by most${
        left_out.length === 0 ? "" : `, ${missed.length - left_out.length} of them named`
      }.`,
    ],
    marks: [
      ...scatterAxes(frame, {
        x: `Foretold by the other shoes${way} (rating points)`,
        y: `↑ ${attribute} as felt (rating points)`,
      }),
      ...agreement(frame),
      ...dots(missed, rest),
      labels,
    ],
  });
}

type Foretold = {
  readonly name: string;
  readonly observed: number;
  readonly foretold: number;
  /** What was felt minus what was foretold. */
  readonly miss: number;
};

function fitWords(
  { r2: { estimate, lower, upper }, error }: NonNullable<AttributePrediction["model"]>["ridge"],
): { readonly r2: string; readonly error: string } {
  const limits = lower === null || upper === null ? "" : ` (${signed(lower)} to ${signed(upper)})`;
  return {
    r2: estimate === null ? "unknown" : `${signed(estimate)}${limits}`,
    error: error === null ? "unknown" : error.toFixed(1),
  };
}

function names(
  missed: readonly Foretold[],
  rest: readonly Foretold[],
  { px, py, bounds, inner }: ScatterFrame,
) {
  return labelMarks(
    missed.map((point) => ({
      x: px(point.foretold),
      y: py(point.observed),
      text: shortenText(point.name, inner * 0.45, type.small),
      fill: colour.accent,
    })),
    {
      bounds,
      occupied: rest.map((point) => dotBox(px(point.foretold), py(point.observed), 5)),
    },
  );
}

/** The line of agreement where it crosses both ranges. */
function agreement({ x, y }: ScatterFrame): Plot.Markish[] {
  const [from, to] = [Math.max(x[0], y[0]), Math.min(x[1], y[1])];
  if (to <= from) return [];
  return [
    Plot.link([{ from, to }], {
      x1: "from",
      y1: "from",
      x2: "to",
      y2: "to",
      stroke: colour.line,
      strokeDasharray: "4,3",
    }),
  ];
}

function dots(missed: readonly Foretold[], rest: readonly Foretold[]): Plot.Markish[] {
  const looks = { x: "foretold", y: "observed", stroke: colour.card, strokeWidth: 1.5 };
  return [
    Plot.dot(rest, { ...looks, r: 4.5, fill: colour.mark }),
    Plot.dot(missed, { ...looks, r: 6, symbol: "diamond", fill: colour.accent }),
  ];
}

function signed(value: number, decimals = 2): string {
  const text = value.toFixed(decimals);
  return Number(text) === 0 ? (0).toFixed(decimals) : text.replace("-", "−");
}
