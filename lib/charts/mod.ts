export { chartPng, type PngOptions } from "./chart_png.ts";
export { chartSvg } from "./chart_svg.ts";
export { chartAlt, chartImage, figure, type FigureOptions } from "./figure.ts";
export { type SvgElement } from "./draw.ts";
export { type ChartOptions, pageWidth, phoneWidth } from "./theme.ts";
