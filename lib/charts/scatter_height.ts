import { drawCard } from "./draw.ts";

/**
 * How high is a scatter in this room?
 *
 * @param inner its width in pixels
 * @param room of the whole chart; a wide scatter where none is given
 * @param card what stands around it
 * @returns the height in pixels: never flatter than can be read, never much taller than wide
 */
export function scatterHeight(
  inner: number,
  room: number | undefined,
  card: Parameters<typeof drawCard>[0],
): number {
  if (room === undefined) return Math.round(Math.min(640, Math.max(240, inner * 0.72)));
  const around = Number(drawCard(card, { height: 0, content: [] }).getAttribute("height"));
  return Math.round(Math.min(inner * 1.35, Math.max(116, room - around)));
}
