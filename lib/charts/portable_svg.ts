import { chartSvg } from "./chart_svg.ts";
import type { SvgElement, SvgNode } from "./draw.ts";
import { kitFonts } from "./kit_fonts.ts";
import { subsetFont } from "./subset_font.ts";

/**
 * What does a chart look like as a file that reads the same on a machine without the kit's fonts?
 *
 * `chartSvg` names the fonts and leaves it to the reader's machine to have them. This puts the letters that the
 * chart uses inside, some 10 to 30 kB: also as an `<img>` on a page, where a picture can't reach the page's fonts.
 *
 * @param chart the `<svg>` a chart function gave
 * @returns well-formed XML, the same bytes for the same chart
 */
export async function portableSvg(chart: SvgElement): Promise<string> {
  const { regular, bold } = await kitFonts();
  const letters = { regular: new Set<string>(), bold: new Set<string>() };
  collect(chart, false, letters);
  const faces = ([["regular", 400, regular], ["bold", 700, bold]] as const).flatMap(
    ([weight, number, font]) => {
      const text = [...letters[weight]].sort().join("");
      return text === "" ? [] : [
        `@font-face{font-family:Inter;font-weight:${number};src:url(data:font/ttf;base64,${
          subsetFont(font, text).toBase64()
        })}`,
      ];
    },
  );
  const svg = chartSvg(chart);
  const opening = /^<svg [^>]*>/.exec(svg)![0];
  return `${opening}<style>${faces.join("")}</style>${svg.slice(opening.length)}`;
}

function collect(
  element: SvgElement,
  bold: boolean,
  letters: { readonly regular: Set<string>; readonly bold: Set<string> },
): void {
  const weight = element.getAttribute("font-weight");
  const isBold = weight === null ? bold : Number(weight) >= 600 || weight === "bold";
  if (element.localName === "text") {
    for (const letter of element.textContent ?? "") {
      letters[isBold ? "bold" : "regular"].add(letter);
    }
    return;
  }
  for (const child of element.childNodes) {
    if (isElement(child)) collect(child, isBold, letters);
  }
}

function isElement(node: SvgNode): node is SvgElement {
  return node.nodeType === 1;
}
