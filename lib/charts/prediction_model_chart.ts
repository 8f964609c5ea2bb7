import * as Plot from "@observablehq/plot";
import * as option from "../options.ts";
import { chartOptions } from "./theme.ts";
import type { AttributePrediction } from "../studies/prediction/types.ts";
import { sayReason } from "../words/reasons.ts";
import { draw, drawNothing, type SvgElement } from "./draw.ts";
import { labelMarks } from "./label_marks.ts";
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
  const height = Math.round(Math.min(460, Math.max(320, inner * 0.8)));
  const [marginLeft, marginRight, marginTop, marginBottom] = [46, 14, 30, 50];
  const x = padded(points.map(({ foretold }) => foretold));
  const y = padded(points.map(({ observed }) => observed));
  const px = (value: number) =>
    marginLeft + (value - x[0]) / (x[1] - x[0]) * (inner - marginLeft - marginRight);
  const py = (value: number) =>
    height - marginBottom - (value - y[0]) / (y[1] - y[0]) * (height - marginTop - marginBottom);
  const byMiss = points.toSorted((a, b) => Math.abs(b.miss) - Math.abs(a.miss));
  const missed = byMiss.slice(0, NAMED);
  const rest = byMiss.slice(NAMED);
  const { mark: labels, left_out } = labelMarks(
    missed.map((point) => ({
      x: px(point.foretold),
      y: py(point.observed),
      text: shortenText(point.name, inner * 0.45, type.small),
      fill: colour.accent,
    })),
    {
      bounds: {
        left: marginLeft + 2,
        right: inner - 2,
        top: marginTop - 6,
        bottom: height - marginBottom - 2,
      },
      occupied: rest.map((point) => ({
        left: px(point.foretold) - 5,
        right: px(point.foretold) + 5,
        top: py(point.observed) - 5,
        bottom: py(point.observed) + 5,
      })),
    },
  );
  // The line of agreement where it crosses both ranges.
  const [from, to] = [Math.max(x[0], y[0]), Math.min(x[1], y[1])];
  const fit = model![which];
  const { estimate, lower, upper } = fit.r2;
  const r2 = estimate === null
    ? "unknown"
    : `${signed(estimate)}${
      lower === null || upper === null ? "" : ` (${signed(lower)} to ${signed(upper)})`
    }`;
  const ticks = Math.max(3, Math.floor(inner / 90));
  const place = { x: "foretold", y: "observed" };
  return draw({
    ...options,
    width,
    title,
    alt: `${attribute} of ${points.length} shoes, each foretold from ${
      model!.metrics.length
    } metrics without having been in the fit: out-of-sample R² ${r2}, typical error ${
      fit.error === null ? "unknown" : fit.error.toFixed(1)
    } rating points. Missed by most: ${
      missed.slice(0, 3).map(({ name, miss }) => `${name} (${signed(miss, 1)})`).join(", ")
    }.`,
    height,
    marginLeft,
    marginRight,
    marginTop,
    marginBottom,
    x: { domain: x, label: null },
    y: { domain: y, label: null },
    notes: [
      `R² on shoes not seen ${r2}. Typical error ${
        fit.error === null ? "unknown" : fit.error.toFixed(1)
      } rating points.`,
      `On the dashed line the two agree. Diamonds: missed by most${
        left_out.length === 0 ? "" : `, ${missed.length - left_out.length} of them named`
      }.`,
    ],
    marks: [
      Plot.gridX({ stroke: colour.grid, strokeOpacity: 1, ticks }),
      Plot.gridY({ stroke: colour.grid, strokeOpacity: 1, ticks: 6 }),
      Plot.axisX({
        ticks,
        label: shortenText(
          `Foretold by the other shoes${
            which === "ridge" ? "" : ", better direction only"
          } (rating points)`,
          inner - 60,
          type.tick,
        ),
        labelAnchor: "center",
        labelArrow: "none",
        labelOffset: 42,
        tickSize: 4,
        fontSize: type.tick,
      }),
      Plot.axisY({
        ticks: 6,
        label: shortenText(`↑ ${attribute} as felt (rating points)`, inner - 20, type.tick),
        labelAnchor: "top",
        labelArrow: "none",
        labelOffset: marginLeft - 2,
        tickSize: 4,
        fontSize: type.tick,
      }),
      ...(to > from
        ? [
          Plot.link([{ from, to }], {
            x1: "from",
            y1: "from",
            x2: "to",
            y2: "to",
            stroke: colour.line,
            strokeDasharray: "4,3",
          }),
        ]
        : []),
      Plot.dot(rest, {
        ...place,
        r: 4.5,
        fill: colour.mark,
        stroke: colour.card,
        strokeWidth: 1.5,
      }),
      Plot.dot(missed, {
        ...place,
        r: 6,
        symbol: "diamond",
        fill: colour.accent,
        stroke: colour.card,
        strokeWidth: 1.5,
      }),
      labels,
    ],
  });
}

function padded(values: readonly number[]): [number, number] {
  const [low, high] = [Math.min(...values), Math.max(...values)];
  const room = high > low ? (high - low) * 0.06 : Math.max(Math.abs(low) * 0.1, 0.5);
  return [low - room, high + room];
}

function signed(value: number, decimals = 2): string {
  const text = value.toFixed(decimals);
  return Number(text) === 0 ? (0).toFixed(decimals) : text.replace("-", "−");
}
