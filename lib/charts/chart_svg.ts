import type { SvgElement, SvgNode } from "./draw.ts";
import { escapeMarkup } from "../markup_text.ts";

/**
 * What does a chart look like as a file of its own?
 *
 * @param chart the `<svg>` a chart function gave
 * @returns well-formed XML: `xmlns` set, fonts named, every text and attribute escaped
 */
export function chartSvg(chart: SvgElement): string {
  return `${serialize(chart)}\n`;
}

// The document's own serializer writes HTML, which leaves `<` in attributes alone; a file must be XML.
function serialize(element: SvgElement): string {
  // When an element comes in matters while a picture is made, and to no reader of it.
  const attributes = [...element.attributes].filter(({ name }) => name !== "data-step")
    .map(({ name, value }) => ` ${name}="${escapeMarkup(value)}"`)
    .join("");
  const content = [...element.childNodes].map(serializeNode).join("");
  const name = element.localName;
  return content === "" ? `<${name}${attributes}/>` : `<${name}${attributes}>${content}</${name}>`;
}

function serializeNode(node: SvgNode): string {
  if (node.nodeType === 1) return serialize(node as SvgElement);
  return node.nodeType === 3 ? escapeMarkup(node.textContent ?? "") : "";
}
