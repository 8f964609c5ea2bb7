import { chartSvg } from "../../lib/charts/chart_svg.ts";
import type { SvgElement, SvgNode } from "../../lib/charts/draw.ts";
import { textWidth } from "../../lib/charts/text_width.ts";

/** Where a text stands in its picture, in pixels of the outermost viewBox. */
export type TextBox = {
  readonly text: string;
  readonly size: number;
  readonly left: number;
  readonly top: number;
  readonly right: number;
  readonly bottom: number;
};

/** Affine transform [a, b, c, d, e, f], as in SVG's `matrix()`. */
type Matrix = readonly [number, number, number, number, number, number];

/**
 * Where does every text of a chart stand? Works out transforms, anchors and sizes as a renderer would, with the
 * kit's own advance widths, and takes a line's box as 0.74 em above the baseline and 0.2 below.
 */
export function textBoxes(chart: SvgElement): TextBox[] {
  const boxes: TextBox[] = [];
  walk(chart, [1, 0, 0, 1, 0, 0], { anchor: "start", size: 16, weight: "400" }, boxes, true);
  return boxes;
}

function walk(
  element: SvgElement,
  outer: Matrix,
  inherited: { readonly anchor: string; readonly size: number; readonly weight: string },
  boxes: TextBox[],
  root = false,
): void {
  const own = {
    anchor: element.getAttribute("text-anchor") ?? inherited.anchor,
    size: Number(element.getAttribute("font-size") ?? inherited.size),
    weight: element.getAttribute("font-weight") ?? inherited.weight,
  };
  let matrix = multiply(outer, parse(element.getAttribute("transform")));
  if (element.localName === "svg" && !root) {
    const [, , wide] = element.getAttribute("viewBox")!.split(" ").map(Number);
    const scale = Number(element.getAttribute("width")) / wide;
    const [x, y] = ["x", "y"].map((name) => Number(element.getAttribute(name) ?? 0));
    matrix = multiply(matrix, [scale, 0, 0, scale, x, y]);
  }
  if (element.localName === "text") {
    const text = element.textContent ?? "";
    if (text.trim() === "") return;
    const weight = Number(own.weight) >= 600 ? "bold" : "regular";
    const width = textWidth(text, own.size, weight);
    const length = (name: string) => {
      const value = element.getAttribute(name) ?? "0";
      return value.endsWith("em") ? parseFloat(value) * own.size : Number(value);
    };
    const x = length("x") + length("dx") -
      (own.anchor === "end" ? width : own.anchor === "middle" ? width / 2 : 0);
    const y = length("y") + length("dy");
    const corners = [x, x + width].flatMap((cx) =>
      [y - 0.74 * own.size, y + 0.2 * own.size].map((cy) => [
        matrix[0] * cx + matrix[2] * cy + matrix[4],
        matrix[1] * cx + matrix[3] * cy + matrix[5],
      ])
    );
    boxes.push({
      text,
      size: own.size * Math.hypot(matrix[0], matrix[1]),
      left: Math.min(...corners.map(([cx]) => cx)),
      right: Math.max(...corners.map(([cx]) => cx)),
      top: Math.min(...corners.map(([, cy]) => cy)),
      bottom: Math.max(...corners.map(([, cy]) => cy)),
    });
    return;
  }
  for (const child of element.childNodes) {
    if (isElement(child)) walk(child, matrix, own, boxes);
  }
}

function isElement(node: SvgNode): node is SvgElement {
  return node.nodeType === 1;
}

function multiply(a: Matrix, b: Matrix): Matrix {
  return [
    a[0] * b[0] + a[2] * b[1],
    a[1] * b[0] + a[3] * b[1],
    a[0] * b[2] + a[2] * b[3],
    a[1] * b[2] + a[3] * b[3],
    a[0] * b[4] + a[2] * b[5] + a[4],
    a[1] * b[4] + a[3] * b[5] + a[5],
  ];
}

function parse(transform: string | null): Matrix {
  let matrix: Matrix = [1, 0, 0, 1, 0, 0];
  for (const [, name, list] of (transform ?? "").matchAll(/(\w+)\(([^)]*)\)/g)) {
    const values = list.split(/[\s,]+/).map(Number);
    if (name === "translate") matrix = multiply(matrix, [1, 0, 0, 1, values[0], values[1] ?? 0]);
    else if (name === "rotate") {
      const angle = values[0] / 180 * Math.PI;
      const [cos, sin] = [Math.cos(angle), Math.sin(angle)];
      matrix = multiply(matrix, [cos, sin, -sin, cos, 0, 0]);
    } else if (name === "scale") {
      matrix = multiply(matrix, [values[0], 0, 0, values[1] ?? values[0], 0, 0]);
    } else throw new Error(`A chart uses a transform that this test can't follow: ${name}`);
  }
  return matrix;
}

/** Everything that must hold for any chart whatever its data; returns what does not. */
export function chartFaults(chart: SvgElement): string[] {
  const faults: string[] = [];
  const svg = chartSvg(chart);
  const [, , width, height] = chart.getAttribute("viewBox")!.split(" ").map(Number);
  const boxes = textBoxes(chart);
  for (const box of boxes) {
    if (box.left < 0 || box.top < 0 || box.right > width || box.bottom > height) {
      faults.push(`outside the picture: "${box.text}"`);
    }
    if (box.size < 11.99) faults.push(`smaller than 12 px: "${box.text}"`);
  }
  boxes.forEach((a, index) => {
    for (const b of boxes.slice(index + 1)) {
      const wide = Math.min(a.right, b.right) - Math.max(a.left, b.left);
      const tall = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
      if (wide > 0.5 && tall > 0.5) {
        faults.push(`on top of each other: "${a.text}" and "${b.text}"`);
      }
    }
  });
  for (const [, name, value] of svg.matchAll(/\s([\w-]+)="([^"]*)"/g)) {
    if (/NaN|Infinity|undefined|null/.test(value)) faults.push(`${name}="${value}"`);
  }
  const ids = [...svg.matchAll(/\sid="([^"]*)"/g)].map(([, id]) => id);
  if (new Set(ids).size !== ids.length) faults.push("two elements share an id");
  const named = (chart.getAttribute("aria-labelledby") ?? "").split(" ");
  if (named.length !== 2 || named.some((id) => !ids.includes(id))) {
    faults.push("aria-labelledby names what is not there");
  }
  if (chart.getAttribute("role") !== "img") faults.push("not an image to a screen reader");
  if (/<script|<foreignObject|\son\w+=|href=/i.test(svg)) {
    faults.push("something that is not inert");
  }
  return faults;
}
