/** Colour arithmetic for the tests of the theme, which shares no matrix with the kit's; sources at each function. */

type Triple = readonly [number, number, number];

/** sRGB transfer function, IEC 61966-2-1. */
function linear(hex: string): number[] {
  return [1, 3, 5].map((start) => {
    const value = parseInt(hex.slice(start, start + 2), 16) / 255;
    return value <= 0.04045 ? value / 12.92 : ((value + 0.055) / 1.055) ** 2.4;
  });
}

function apply(matrix: readonly (readonly number[])[], vector: readonly number[]): number[] {
  return matrix.map((row) => row.reduce((total, value, index) => total + value * vector[index], 0));
}

/** OKLab, B. Ottosson 2020 (constants from memory; white comes out at L = 1, a = b = 0, which the test checks). */
export function oklab(hex: string): Triple {
  const [l, m, s] = apply([
    [0.4122214708, 0.5363325363, 0.0514459929],
    [0.2119034982, 0.6806995451, 0.1073969566],
    [0.0883024619, 0.2817188376, 0.6299787005],
  ], linear(hex)).map(Math.cbrt);
  const [L, a, b] = apply([
    [0.2104542553, 0.793617785, -0.0040720468],
    [1.9779984951, -2.428592205, 0.4505937099],
    [0.0259040371, 0.7827717662, -0.808675766],
  ], [l, m, s]);
  return [L, a, b];
}

/** Contrast ratio, WCAG 2.2. */
export function contrast(one: string, other: string): number {
  const [a, b] = [one, other].map((hex) => {
    const [red, green, blue] = linear(hex);
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue + 0.05;
  });
  return Math.max(a, b) / Math.min(a, b);
}

export type Dichromat = "protanopia" | "deuteranopia" | "tritanopia";

/** CIE 1931 x, y. */
type Chromaticity = readonly [number, number];

/**
 * Where a dichromat's confusion lines meet (Smith & Pokorny, Vision Research 15, 1975) and two lights that the dichromat
 * sees as others do (Brettel, Viénot & Mollon, JOSA A 14, 1997: 475 and 575 nm, or 485 and 660 nm), as x and y of the
 * CIE 1931 observer. All from memory.
 */
const geometry: Readonly<
  Record<Dichromat, { readonly meet: Chromaticity; readonly seen: readonly Chromaticity[] }>
> = {
  protanopia: { meet: [0.7465, 0.2535], seen: [[0.1096, 0.0868], [0.4788, 0.5202]] },
  deuteranopia: { meet: [1.4, -0.4], seen: [[0.1096, 0.0868], [0.4788, 0.5202]] },
  tritanopia: { meet: [0.1748, 0], seen: [[0.0687, 0.2007], [0.73, 0.27]] },
};

/** Primaries and white of sRGB (IEC 61966-2-1), from which its way to XYZ follows. */
const primaries: readonly Chromaticity[] = [[0.64, 0.33], [0.3, 0.6], [0.15, 0.06]];
const white = tristimulus([0.3127, 0.329]).map((value) => value / 0.329) as unknown as Triple;

function tristimulus([x, y]: Chromaticity): Triple {
  return [x, y, 1 - x - y];
}

function cross(a: readonly number[], b: readonly number[]): Triple {
  return [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
}

function dot(a: readonly number[], b: readonly number[]): number {
  return a.reduce((total, value, index) => total + value * b[index], 0);
}

function xyz(hex: string): Triple {
  const [r, g, b] = primaries.map(tristimulus);
  // How much of each primary makes white, by Cramer's rule.
  const whole = dot(r, cross(g, b));
  const shares = [dot(white, cross(g, b)), dot(r, cross(white, b)), dot(r, cross(g, white))]
    .map((part) => part / whole);
  const light = linear(hex).map((value, index) => value * shares[index]);
  return [0, 1, 2].map((row) =>
    r[row] * light[0] + g[row] * light[1] + b[row] * light[2]
  ) as unknown as Triple;
}

/**
 * What does a dichromat take a colour for?
 *
 * The point where the line through the colour's confusion meets the half-plane of greys and the light that is seen as
 * by everyone on that side (the construction of Brettel, Viénot & Mollon 1997, in XYZ).
 */
export function takenFor(colour: Triple, sight: Dichromat): Triple {
  const { meet, seen } = geometry[sight];
  const along = tristimulus(meet);
  const side = cross(white, along);
  const light = seen.map(tristimulus).find((one) => dot(one, side) * dot(colour, side) >= 0)!;
  const plane = cross(white, light);
  const step = dot(colour, plane) / dot(along, plane);
  return colour.map((value, index) => value - step * along[index]) as unknown as Triple;
}

/** CIE L*a*b* of a colour, as a dichromat sees it where one is named (CIE 15). */
export function lab(hex: string, sight?: Dichromat): Triple {
  const seen = sight === undefined ? xyz(hex) : takenFor(xyz(hex), sight);
  const [x, y, z] = seen.map((value, index) => {
    const share = Math.max(0, value) / white[index];
    return share > 216 / 24389 ? Math.cbrt(share) : (24389 / 27 * share + 16) / 116;
  });
  return [116 * y - 16, 500 * (x - y), 200 * (y - z)];
}
