import type { PngOptions } from "./chart_png.ts";

/** What draws pictures beside the work that makes them. */
export type PngPainter = {
  /** As `chartPng`, from the text of an SVG. */
  readonly paint: (svg: string, size: PngOptions) => Promise<Uint8Array>;
  /** Ends it; what was not drawn by then never is. */
  readonly end: () => void;
};

/** A picture that is wanted. */
export type PngOrder = { readonly svg: string; readonly size: PngOptions };

/** What comes back. */
export type Painted = { readonly png: Uint8Array } | { readonly failed: string };

/**
 * What draws pictures as PNG on another processor, while this one still computes what they show?
 *
 * Starts at once, since a renderer takes longer to get going than to draw: ask for it before the work begins. The
 * same picture gives the same bytes as by `chartPng`.
 */
export function pngPainter(): PngPainter {
  const worker = new Worker(new URL("./png_worker.ts", import.meta.url).href, { type: "module" });
  const waiting: PromiseWithResolvers<Uint8Array>[] = [];
  let broken: Error | null = null;
  worker.onmessage = ({ data }: MessageEvent<Painted>) => {
    const { resolve, reject } = waiting.shift()!;
    if ("png" in data) resolve(data.png);
    else reject(new Error(data.failed));
  };
  worker.onerror = (event) => {
    event.preventDefault();
    broken = new Error(`The pictures can't be drawn as PNG: ${event.message}`);
    for (const { reject } of waiting.splice(0)) reject(broken);
  };
  return {
    paint(svg, size) {
      if (broken !== null) return Promise.reject(broken);
      const painted = Promise.withResolvers<Uint8Array>();
      waiting.push(painted);
      worker.postMessage({ svg, size } satisfies PngOrder);
      return painted.promise;
    },
    end: () => worker.terminate(),
  };
}
