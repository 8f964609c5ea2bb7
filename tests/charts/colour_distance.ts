/** Colour arithmetic for the tests of the theme; sources at each function. */

export type Sight = "normal" | "protanopia" | "deuteranopia" | "tritanopia";

/**
 * Simulation of dichromatic sight, severity 1.0, on linear RGB: Machado, Oliveira & Fernandes, 'A physiologically-based
 * model for simulation of color vision deficiency', IEEE TVCG 15(6), 2009, supplementary table (from memory).
 */
const simulation: Readonly<Record<Exclude<Sight, "normal">, readonly (readonly number[])[]>> = {
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
export function oklab(hex: string, sight: Sight = "normal"): readonly [number, number, number] {
  const seen = sight === "normal" ? linear(hex) : apply(simulation[sight], linear(hex));
  const [l, m, s] = apply([
    [0.4122214708, 0.5363325363, 0.0514459929],
    [0.2119034982, 0.6806995451, 0.1073969566],
    [0.0883024619, 0.2817188376, 0.6299787005],
  ], seen.map((value) => Math.min(1, Math.max(0, value)))).map(Math.cbrt);
  const [L, a, b] = apply([
    [0.2104542553, 0.793617785, -0.0040720468],
    [1.9779984951, -2.428592205, 0.4505937099],
    [0.0259040371, 0.7827717662, -0.808675766],
  ], [l, m, s]);
  return [L, a, b];
}

export function colourDistance(one: string, other: string, sight: Sight = "normal"): number {
  const [a, b] = [oklab(one, sight), oklab(other, sight)];
  return Math.hypot(...a.map((value, index) => value - b[index]));
}

/** Contrast ratio, WCAG 2.2. */
export function contrast(one: string, other: string): number {
  const [a, b] = [one, other].map((hex) => {
    const [red, green, blue] = linear(hex);
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue + 0.05;
  });
  return Math.max(a, b) / Math.min(a, b);
}
