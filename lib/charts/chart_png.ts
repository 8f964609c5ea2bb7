import { readFile } from "node:fs/promises";
import { initWasm, Resvg } from "@resvg/resvg-wasm";
import * as option from "../options.ts";
import { chartSvg } from "./chart_svg.ts";
import type { SvgElement } from "./draw.ts";
import { kitFonts } from "./kit_fonts.ts";
import { fontFamily } from "./theme.ts";

/** How large a PNG is to be; give one of width and height, or both to fit the picture inside. */
export type PngOptions = {
  /** Width in pixels; twice the picture's own when neither is given. */
  readonly width?: number;
  readonly height?: number;
  /** Colour behind the picture; transparent when left out. */
  readonly background?: string;
};

/**
 * What does a chart look like as a PNG?
 *
 * Drawn with the kit's own fonts and none of the machine's, so that the same chart gives the same bytes anywhere.
 * With both `width` and `height` the picture is fitted inside and never stretched: one side may come out shorter.
 *
 * @param chart the `<svg>` a chart function gave, or the text of one
 * @returns the file's bytes
 * @throws {RangeError} if a size is not a whole number from 1 to 8192
 */
export async function chartPng(
  chart: SvgElement | string,
  { width, height, background }: PngOptions = {},
): Promise<Uint8Array> {
  option.check("charts.chartPng", arguments[1], {
    width: option.positive,
    height: option.positive,
    background: option.text,
  });
  for (const size of [width, height]) {
    if (size !== undefined && !(Number.isInteger(size) && size >= 1 && size <= 8192)) {
      throw new RangeError(`A PNG's size is a whole number from 1 to 8192, got ${size}`);
    }
  }
  const fontBuffers = await prepare();
  const svg = typeof chart === "string" ? chart : chartSvg(chart);
  const options = {
    font: { fontBuffers, loadSystemFonts: false, defaultFontFamily: fontFamily.split(",")[0] },
    ...(background === undefined ? {} : { background }),
  };
  const own = sizeOf(svg, options);
  const scale = Math.min(
    width === undefined ? Infinity : width / own.width,
    height === undefined ? Infinity : height / own.height,
  );
  const resvg = new Resvg(svg, {
    ...options,
    fitTo: { mode: "zoom", value: Number.isFinite(scale) ? scale : 2 },
  });
  const image = resvg.render();
  const bytes = image.asPng();
  image.free();
  resvg.free();
  return bytes;
}

/**
 * What comes out when this SVG is drawn so many pixels high?
 *
 * @returns the PNG, its size, and whether nothing at all is seen in it
 */
export async function rasterized(svg: string, height: number): Promise<{
  readonly png: Uint8Array;
  readonly width: number;
  readonly height: number;
  readonly isEmpty: boolean;
}> {
  const fontBuffers = await prepare();
  const font = { fontBuffers, loadSystemFonts: false };
  const resvg = new Resvg(svg, { font, fitTo: { mode: "height", value: height } });
  const image = resvg.render();
  const isEmpty = image.pixels.every((value, index) => index % 4 !== 3 || value === 0);
  const drawn = { png: image.asPng(), width: image.width, height: image.height, isEmpty };
  image.free();
  resvg.free();
  return drawn;
}

/** Draws the text of an SVG as a PNG, and says how large the SVG itself is. */
export type DrawPng = (svg: string) => {
  readonly png: Uint8Array;
  readonly width: number;
  readonly height: number;
};

/**
 * What draws pictures as PNG without waiting, once the renderer is there?
 *
 * @param scale how many pixels of the PNG stand for one of the picture
 */
export async function pngDrawer(scale: number): Promise<DrawPng> {
  const fontBuffers = await prepare();
  const font = {
    fontBuffers,
    loadSystemFonts: false,
    defaultFontFamily: fontFamily.split(",")[0],
  };
  return (svg) => {
    const size = sizeOf(svg, { font });
    const resvg = new Resvg(svg, { font, fitTo: { mode: "zoom", value: scale } });
    const image = resvg.render();
    const png = image.asPng();
    image.free();
    resvg.free();
    return { png, ...size };
  };
}

/** A picture's own size: as its first tag says, since the kit's charts say it, else as the renderer finds it. */
function sizeOf(
  svg: string,
  options: ConstructorParameters<typeof Resvg>[1],
): { readonly width: number; readonly height: number } {
  const tag = /<svg\b[^>]*>/.exec(svg)?.[0] ?? "";
  const said = (name: string) => Number(new RegExp(`\\s${name}="([\\d.]+)"`).exec(tag)?.[1]);
  const [width, height] = [said("width"), said("height")];
  if (width > 0 && height > 0) return { width, height };
  const picture = new Resvg(svg, options);
  const found = { width: picture.width, height: picture.height };
  picture.free();
  return found;
}

let renderer: Promise<void> | undefined;

/** Starts the renderer once a process; it may not be started twice. */
async function prepare(): Promise<Uint8Array[]> {
  renderer ??= initWasm(readFile(new URL(import.meta.resolve("@resvg/resvg-wasm/index_bg.wasm"))));
  await renderer;
  const { regular, bold } = await kitFonts();
  return [regular, bold];
}
