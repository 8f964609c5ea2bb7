import type { FontWeight } from "./text_width.ts";
import { textWidth } from "./text_width.ts";

/** A point that wants its name beside it, in pixels. */
export type LabelRequest = {
  readonly x: number;
  readonly y: number;
  readonly text: string;
  /** Free room around the point, in pixels. */
  readonly radius?: number;
  /** Placed first, and never given up before one of lower priority. */
  readonly priority?: number;
};

/** A rectangle in pixels. */
export type Box = {
  readonly left: number;
  readonly top: number;
  readonly right: number;
  readonly bottom: number;
};

/** Where a label went. */
export type PlacedLabel = {
  /** Its place in the list of requests. */
  readonly index: number;
  readonly text: string;
  /** Left end and middle of the text. */
  readonly x: number;
  readonly y: number;
  readonly box: Box;
  /** From point to label, when the label had to go further away. */
  readonly leader: {
    readonly x1: number;
    readonly y1: number;
    readonly x2: number;
    readonly y2: number;
  } | null;
};

/**
 * Where do the names of points go, so that none covers another?
 *
 * Each label in turn, by priority and then from the top left, takes the cheapest of some hundred places around its point:
 * close, off other points and off `obstacles`. A second and third round move each while the others stay. A
 * label that finds no free place is given up and named. Nothing is random, and the order of the requests makes no
 * difference.
 *
 * @param bounds labels stay inside
 * @param obstacles boxes that a label should not cover, such as bars, but may where there is no other room
 * @param occupied boxes that a label may not cover, such as points without a name
 * @returns what was placed, in the order of the requests, and the indices of what was not
 */
export function placeLabels(
  requests: readonly LabelRequest[],
  { bounds, size, weight = "regular", obstacles = [], occupied = [] }: {
    readonly bounds: Box;
    readonly size: number;
    readonly weight?: FontWeight;
    readonly obstacles?: readonly Box[];
    readonly occupied?: readonly Box[];
  },
): { readonly placed: readonly PlacedLabel[]; readonly unplaced: readonly number[] } {
  const order = [...requests.keys()].sort((a, b) => {
    const [one, other] = [requests[a], requests[b]];
    return (other.priority ?? 0) - (one.priority ?? 0) || one.y - other.y || one.x - other.x ||
      (one.text < other.text ? -1 : one.text > other.text ? 1 : 0);
  });
  const points = requests.map(({ x, y, radius = 5 }) => around(x, y, radius + 1));
  const chosen = new Map<number, PlacedLabel>();
  for (let round = 0; round < 3; round++) {
    for (const index of order) {
      chosen.delete(index);
      const taken = [...chosen.values()].map(({ box, leader }) => ({ box, leader }));
      let best: { readonly cost: number; readonly label: PlacedLabel } | undefined;
      for (const candidate of candidates(requests[index], index, size, weight)) {
        const { box, leader } = candidate.label;
        if (!within(box, bounds)) continue;
        if (taken.some((other) => overlap(box, grow(other.box, 1)) > 0)) continue;
        if (taken.some((other) => crosses(leader, other.box) || crosses(other.leader, box))) {
          continue;
        }
        if (points.some((point, other) => other !== index && overlap(box, point) > 0)) continue;
        if (occupied.some((other) => overlap(box, other) > 0)) continue;
        const cost = candidate.cost +
          // A thin bar through the middle of a name spoils it as much as a wide one.
          sum(obstacles.map((obstacle) => {
            const covered = overlap(box, obstacle);
            return covered > 0 ? 24 + covered * 0.25 : 0;
          })) +
          points.filter((point, other) => other !== index && crosses(leader, point)).length * 12 +
          [...points.filter((_, other) => other !== index), ...occupied]
              .filter((other) => gapTo(other, box) < candidate.gap + 1).length * 8;
        if (best === undefined || cost < best.cost - 1e-9) best = { cost, label: candidate.label };
      }
      if (best !== undefined) chosen.set(index, best.label);
    }
  }
  return {
    placed: [...requests.keys()].flatMap((index) => chosen.get(index) ?? []),
    unplaced: [...requests.keys()].filter((index) => !chosen.has(index)),
  };
}

/** Right of the point first, as one reads; then left, above, below; then further out, with a leader. */
function candidates(
  { x, y, text, radius = 5 }: LabelRequest,
  index: number,
  size: number,
  weight: FontWeight,
): { readonly cost: number; readonly gap: number; readonly label: PlacedLabel }[] {
  const width = textWidth(text, size, weight);
  const height = size * 1.2;
  const result = [];
  for (const [ring, distance] of [4, 14, 26, 40, 58].entries()) {
    const turns = ring === 0 ? 8 : 16;
    for (let turn = 0; turn < turns; turn++) {
      const angle = turn / turns * 2 * Math.PI;
      const [right, down] = [Math.cos(angle), Math.sin(angle)];
      const reach = radius + distance;
      // The label's nearest edge or corner, not its middle, keeps the distance.
      const left = x + right * reach + (right > 0.3 ? 0 : right < -0.3 ? -width : -width / 2);
      const middle = y + down * reach + (Math.abs(right) > 0.3 ? 0 : Math.sign(down) * height / 2);
      const box = {
        left,
        right: left + width,
        top: middle - height / 2,
        bottom: middle + height / 2,
      };
      const nearest = {
        x: Math.min(box.right, Math.max(box.left, x)),
        y: Math.min(box.bottom - 2, Math.max(box.top + 2, y)),
      };
      const gap = Math.hypot(nearest.x - x, nearest.y - y);
      const leader = gap > radius + 9
        ? {
          x1: x + (nearest.x - x) / gap * radius,
          y1: y + (nearest.y - y) / gap * radius,
          x2: nearest.x,
          y2: nearest.y,
        }
        : null;
      const cost = distance * 1.5 + (1 - right) * 2 + Math.abs(down) * 3;
      result.push({
        cost,
        gap: gap - radius,
        label: { index, text, x: left, y: middle, box, leader },
      });
    }
  }
  return result;
}

function around(x: number, y: number, radius: number): Box {
  return { left: x - radius, right: x + radius, top: y - radius, bottom: y + radius };
}

/** How far a box is from another; a label nearer to a point that is not its own would be read as that one's. */
function gapTo(a: Box, b: Box): number {
  return Math.hypot(
    Math.max(0, a.left - b.right, b.left - a.right),
    Math.max(0, a.top - b.bottom, b.top - a.bottom),
  );
}

function grow({ left, top, right, bottom }: Box, by: number): Box {
  return { left: left - by, top: top - by, right: right + by, bottom: bottom + by };
}

function within(box: Box, bounds: Box): boolean {
  return box.left >= bounds.left && box.right <= bounds.right && box.top >= bounds.top &&
    box.bottom <= bounds.bottom;
}

function overlap(a: Box, b: Box): number {
  const width = Math.min(a.right, b.right) - Math.max(a.left, b.left);
  const height = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
  return width > 0 && height > 0 ? width * height : 0;
}

/** Whether a line enters a box, by clipping it to the box (Liang & Barsky 1984). */
function crosses(line: PlacedLabel["leader"], box: Box): boolean {
  if (line === null) return false;
  let [from, to] = [0, 1];
  const [dx, dy] = [line.x2 - line.x1, line.y2 - line.y1];
  for (
    const [step, room] of [
      [-dx, line.x1 - box.left],
      [dx, box.right - line.x1],
      [-dy, line.y1 - box.top],
      [dy, box.bottom - line.y1],
    ]
  ) {
    if (step === 0) {
      if (room < 0) return false;
    } else if (step < 0) from = Math.max(from, room / step);
    else to = Math.min(to, room / step);
  }
  return from < to;
}

function sum(values: readonly number[]): number {
  return values.reduce((total, value) => total + value, 0);
}
