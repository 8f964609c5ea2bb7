/** The other end of `pngPainter`: draws one picture after another. */
/// <reference no-default-lib="true" />
/// <reference lib="deno.worker" />
import { chartPng } from "./chart_png.ts";
import type { Painted, PngOrder } from "./png_painter.ts";

/** Letters of both weights, a line, a dot and an outline: what a renderer meets in most pictures. */
const tryOut = `<svg xmlns="http://www.w3.org/2000/svg" width="60" height="40" viewBox="0 0 30 20">
<rect width="30" height="20" fill="#fff"/>
<g transform="translate(1,1)"><text x="2" y="9" font-family="Inter" font-size="9">aB 0</text>
<text x="2" y="18" font-family="Inter" font-weight="700" font-size="9" text-anchor="middle" dy="0.3em"
stroke="#fff" stroke-width="3" stroke-linejoin="round" paint-order="stroke">aB 0</text></g>
<line x1="1" x2="29" y1="3" y2="3" stroke="#000" stroke-width="2" stroke-opacity="0.5"/>
<line x1="1" x2="29" y1="3" y2="8" stroke="#000" stroke-dasharray="3,3"/>
<path d="M1,1L9,9Q12,12,9,15Z" fill="#000" fill-opacity="0.5"/>
<circle cx="20" cy="10" r="4" fill="#fff" stroke="#000"/></svg>`;

// Drawn before anyone asks: a renderer's first picture takes several times as long as its second.
let last: Promise<unknown> = chartPng(tryOut, { width: 600, height: 400 });

// Set before anything is awaited, since an order that finds no handler is lost; answered in the order asked.
self.onmessage = ({ data: { svg, size } }: MessageEvent<PngOrder>) => {
  last = last.then(() => chartPng(svg, size)).then(
    (png): Painted => ({ png }),
    (error: Error): Painted => ({ failed: error.message }),
  ).then((painted) => self.postMessage(painted));
};
