/** How somebody sees colours. */
export type Sight = "normal" | "protanopia" | "deuteranopia" | "tritanopia";

/** Every kind of sight that colours are checked for. */
export const sights: readonly Sight[] = ["normal", "protanopia", "deuteranopia", "tritanopia"];

type Triple = readonly [number, number, number];
type Matrix = readonly [Triple, Triple, Triple];

/**
 * Machado, Oliveira & Fernandes, 'A physiologically-based model for simulation of color vision deficiency', IEEE
 * Transactions on Visualization and Computer Graphics 15(6), 2009: table of matrices at severity 1, on linear RGB.
 */
const simulation: Readonly<Record<Exclude<Sight, "normal">, Matrix>> = {
  protanopia: [
    [0.152286, 1.052583, -0.204868],
    [0.114503, 0.786281, 0.099216],
    [-0.003882, -0.048116, 1.051998],
  ],
  deuteranopia: [
    [0.367322, 0.860646, -0.227968],
    [0.280085, 0.672501, 0.047413],
    [-0.01182, 0.04294, 0.968881],
  ],
  tritanopia: [
    [1.255528, -0.076749, -0.178779],
    [-0.078411, 0.930809, 0.147602],
    [0.004733, 0.691367, 0.3039],
  ],
};

/** Linear sRGB to CIE XYZ, D65 (IEC 61966-2-1). */
const toXyz: Matrix = [
  [0.4124, 0.3576, 0.1805],
  [0.2126, 0.7152, 0.0722],
  [0.0193, 0.1192, 0.9505],
];
const white: Triple = [0.9505, 1, 1.089];

/** Is this a colour as it is written here: # and six hexadecimal digits? */
export function isHexColour(text: string): boolean {
  return /^#[0-9a-f]{6}$/i.test(text);
}

/**
 * How much lighter is one colour than the other?
 *
 * @param one as `#rrggbb`, as is `other`
 * @returns the contrast ratio of WCAG 2.2, from 1 to 21
 */
export function contrastRatio(one: string, other: string): number {
  const [a, b] = [one, other].map((hex) => {
    const [red, green, blue] = linearOf(hex);
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue + 0.05;
  });
  return Math.max(a, b) / Math.min(a, b);
}

/**
 * How far apart do two colours look?
 *
 * @param sight whose eyes look
 * @returns CIEDE2000 (CIE 142-2001), of which 1 is about the least that is seen side by side
 */
export function seenDistance(one: string, other: string, sight: Sight = "normal"): number {
  return ciede2000(labOf(one, sight), labOf(other, sight));
}

/** What a picture's marks must keep to: from the light ground, and from each other for every kind of sight. */
export const colourRules = { ground: "#FBFAF6", contrast: 3, apart: 10 } as const;

/**
 * Can these colours stand for shoes in one picture?
 *
 * Each has a contrast of 3 to 1 or more on the light ground (WCAG 2.2, 1.4.11), and every two are 10 or more apart in
 * CIEDE2000 for normal sight and the three simulated ones; every series has a shape of its own as well.
 *
 * @param colours as `#rrggbb`
 * @returns what is wrong with which of them, in words; none for colours that will do
 */
export function colourFaults(
  colours: readonly string[],
): readonly {
  readonly index: number;
  readonly found: string;
  readonly expected: string;
  readonly fix: string;
}[] {
  const { ground, contrast, apart } = colourRules;
  return colours.flatMap((own, index) => {
    if (!isHexColour(own)) return [];
    const ratio = contrastRatio(own, ground);
    if (ratio < contrast) {
      return [{
        index,
        found: `${own}, a contrast of ${ratio.toFixed(1)} to 1 with the light ground`,
        expected: `${contrast} to 1 or more`,
        fix: "Take a darker one.",
      }];
    }
    const near = colours.slice(0, index).filter(isHexColour).flatMap((other) =>
      sights.map((sight) => ({ other, sight, distance: seenDistance(own, other, sight) }))
    ).toSorted((a, b) =>
      a.distance - b.distance
    )[0];
    return near === undefined || near.distance >= apart ? [] : [{
      index,
      found: `${own}, ${near.distance.toFixed(1)} from ${near.other} ${
        near.sight === "normal" ? "for any eye" : `for eyes with ${near.sight}`
      }`,
      expected: `${apart} or more (CIEDE2000)`,
      fix: "Make one of the two much lighter or darker.",
    }];
  });
}

/** Colours of six series: those given, then those of `more` that can stand beside them. */
export function filledSeries(given: readonly string[], more: readonly string[]): readonly string[] {
  return more.reduce<readonly string[]>(
    (series, next) =>
      series.length >= 6 || colourFaults([...series, next]).length > 0 ? series : [...series, next],
    given,
  );
}

/** CIE L*a*b* of a colour as it is seen. */
export function labOf(hex: string, sight: Sight = "normal"): Triple {
  const linear = linearOf(hex);
  const seen = sight === "normal"
    ? linear
    : times(simulation[sight], linear).map((value) => Math.min(1, Math.max(0, value)));
  const [x, y, z] = times(toXyz, seen).map((value, index) => {
    const share = value / white[index];
    return share > 216 / 24389 ? Math.cbrt(share) : (24389 / 27 * share + 16) / 116;
  });
  return [116 * y - 16, 500 * (x - y), 200 * (y - z)];
}

/** The colour difference of CIE 142-2001, all weights 1. */
export function ciede2000([L1, a1, b1]: Triple, [L2, a2, b2]: Triple): number {
  const chroma7 = ((Math.hypot(a1, b1) + Math.hypot(a2, b2)) / 2) ** 7;
  const G = (1 - Math.sqrt(chroma7 / (chroma7 + 25 ** 7))) / 2;
  const [x1, x2] = [a1 * (1 + G), a2 * (1 + G)];
  const [C1, C2] = [Math.hypot(x1, b1), Math.hypot(x2, b2)];
  const [h1, h2] = [hue(x1, b1), hue(x2, b2)];
  const grey = C1 * C2 === 0;
  const turn = grey ? 0 : Math.abs(h2 - h1) <= 180 ? h2 - h1 : h2 - h1 + (h2 > h1 ? -360 : 360);
  const hMean = grey
    ? h1 + h2
    : Math.abs(h1 - h2) <= 180
    ? (h1 + h2) / 2
    : (h1 + h2 + (h1 + h2 < 360 ? 360 : -360)) / 2;
  const [LMean, CMean] = [(L1 + L2) / 2, (C1 + C2) / 2];
  const T = 1 - 0.17 * cos(hMean - 30) + 0.24 * cos(2 * hMean) + 0.32 * cos(3 * hMean + 6) -
    0.2 * cos(4 * hMean - 63);
  const SL = 1 + 0.015 * (LMean - 50) ** 2 / Math.sqrt(20 + (LMean - 50) ** 2);
  const [SC, SH] = [1 + 0.045 * CMean, 1 + 0.015 * CMean * T];
  const RC = 2 * Math.sqrt(CMean ** 7 / (CMean ** 7 + 25 ** 7));
  const RT = -RC * Math.sin(60 * Math.exp(-(((hMean - 275) / 25) ** 2)) * Math.PI / 180);
  const dL = (L2 - L1) / SL;
  const dC = (C2 - C1) / SC;
  const dH = 2 * Math.sqrt(C1 * C2) * Math.sin(turn / 2 * Math.PI / 180) / SH;
  return Math.sqrt(Math.max(0, dL ** 2 + dC ** 2 + dH ** 2 + RT * dC * dH));
}

function hue(a: number, b: number): number {
  return a === 0 && b === 0 ? 0 : (Math.atan2(b, a) * 180 / Math.PI + 360) % 360;
}

function cos(degrees: number): number {
  return Math.cos(degrees * Math.PI / 180);
}

/** sRGB transfer function, IEC 61966-2-1. */
function linearOf(hex: string): Triple {
  if (!isHexColour(hex)) throw new RangeError(`A colour is # and six digits, got ${hex}`);
  const [red, green, blue] = [1, 3, 5].map((start) => {
    const value = parseInt(hex.slice(start, start + 2), 16) / 255;
    return value <= 0.04045 ? value / 12.92 : ((value + 0.055) / 1.055) ** 2.4;
  });
  return [red, green, blue];
}

function times(matrix: Matrix, vector: readonly number[]): number[] {
  return matrix.map((row) => row.reduce((total, value, index) => total + value * vector[index], 0));
}
