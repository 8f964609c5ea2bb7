import * as option from "../options.ts";

/** One unit of measurement: its UCUM code, what it measures, and its exact size. */
export type Unit = {
  readonly code: string;
  readonly dimension: string;
  /** Size in the dimension's base unit, as numerator over denominator, so that it stays exact. */
  readonly size: readonly [number, number];
  /** Reading of this scale at the base unit's zero; 0 for all but temperatures. */
  readonly zero: number;
  /** Everyday spellings that are read as this unit. */
  readonly spellings: readonly string[];
  /** Where the size comes from. */
  readonly source: string;
};

/** A number with its unit, read from one cell; `unit` is the UCUM code, null when none is written. */
export type Quantity = { readonly value: number; readonly unit: string | null };

/** Why a cell is no quantity. */
export type NoQuantity = { readonly expected: string; readonly fix: string };

const SI = "SI Brochure, 9th edition (BIPM 2019)";
const YARD = "international yard and pound (1959): 1 in = 25.4 mm, 1 lb = 0.45359237 kg exactly";
const POUND_FORCE = "1 lb × 9.80665 m/s² (standard gravity, CGPM 1901) = 4.4482216152605 N exactly";
const UCUM = "The Unified Code for Units of Measure, version 2.1";
const OWN = "a scale of its own, converted to nothing (ISO 48-4)";

/** Every unit that a bench folder may use. Sizes are exact; the base unit of a dimension has size 1. */
export const units: readonly Unit[] = [
  unit("m", "length", [1, 1], SI, ["metre", "metres", "meter", "meters"]),
  unit("dm", "length", [1, 10], SI),
  unit("cm", "length", [1, 100], SI, ["centimetre", "centimetres", "centimeter", "centimeters"]),
  unit("mm", "length", [1, 1000], SI, ["millimetre", "millimetres", "millimeter", "millimeters"]),
  unit("um", "length", [1, 1000000], SI, ["µm", "μm", "micron", "microns"]),
  unit("km", "length", [1000, 1], SI),
  unit("[in_i]", "length", [254, 10000], YARD, ["in", "in.", "inch", "inches", '"', "″"]),
  unit("[ft_i]", "length", [3048, 10000], YARD, ["ft", "ft.", "foot", "feet"]),
  unit("m2", "area", [1, 1], SI, ["m²", "m^2"]),
  unit("cm2", "area", [1, 10000], SI, ["cm²", "cm^2"]),
  unit("mm2", "area", [1, 1000000], SI, ["mm²", "mm^2"]),
  unit("m3", "volume", [1, 1], SI, ["m³", "m^3"]),
  unit("L", "volume", [1, 1000], SI, ["l", "litre", "litres", "liter", "liters"]),
  unit("mL", "volume", [1, 1000000], SI, ["ml"]),
  unit("cm3", "volume", [1, 1000000], SI, ["cm³", "cm^3", "cc"]),
  unit("mm3", "volume", [1, 1000000000], SI, ["mm³", "mm^3"]),
  unit("kg", "mass", [1, 1], SI, ["kilogram", "kilograms"]),
  unit("g", "mass", [1, 1000], SI, ["gram", "grams", "gr"]),
  unit("mg", "mass", [1, 1000000], SI),
  unit("[oz_av]", "mass", [45359237, 1600000000], YARD, ["oz", "oz.", "ounce", "ounces"]),
  unit("[lb_av]", "mass", [45359237, 100000000], YARD, ["lb", "lb.", "lbs", "pound", "pounds"]),
  unit("N", "force", [1, 1], SI, ["newton", "newtons"]),
  unit("kN", "force", [1000, 1], SI),
  unit("kgf", "force", [980665, 100000], "standard gravity, CGPM 1901"),
  unit("[lbf_av]", "force", [44482216152605, 10000000000000], POUND_FORCE, ["lbf"]),
  unit("s", "time", [1, 1], SI, ["sec", "secs", "second", "seconds"]),
  unit("ms", "time", [1, 1000], SI),
  unit("min", "time", [60, 1], SI, ["minute", "minutes", "mins"]),
  unit("h", "time", [3600, 1], SI, ["hr", "hour", "hours"]),
  unit("d", "time", [86400, 1], SI, ["day", "days"]),
  unit("deg", "angle", [1, 1], SI, ["°", "degree", "degrees"]),
  unit("rad", "angle", [180, Math.PI], SI),
  temperature("Cel", [1, 1], 0, SI, ["degC", "°C", "℃", "celsius", "Celsius"]),
  temperature("K", [1, 1], 273.15, SI),
  temperature("[degF]", [5, 9], 32, UCUM, ["degF", "°F", "℉", "fahrenheit", "Fahrenheit"]),
  unit("1", "number", [1, 1], UCUM, ["ratio"]),
  unit("%", "number", [1, 100], UCUM, ["percent", "pct"]),
  unit("[ppth]", "number", [1, 1000], UCUM, ["‰"]),
  unit("Pa", "pressure", [1, 1], SI),
  unit("kPa", "pressure", [1000, 1], SI),
  unit("MPa", "pressure", [1000000, 1], SI, ["N/mm2", "N/mm²"]),
  unit("[psi]", "pressure", [44482216152605, 6451600000], `${POUND_FORCE}, over 1 in²`, ["psi"]),
  unit("J", "energy", [1, 1], SI, ["joule", "joules"]),
  unit("mJ", "energy", [1, 1000], SI),
  unit("N.m", "torque", [1, 1], SI, ["N*m", "Nm", "N·m"]),
  unit("N.cm", "torque", [1, 100], SI, ["N*cm", "Ncm", "N·cm"]),
  unit("N.mm", "torque", [1, 1000], SI, ["N*mm", "Nmm", "N·mm"]),
  unit("N/m", "stiffness", [1, 1], SI),
  unit("N/cm", "stiffness", [100, 1], SI),
  unit("N/mm", "stiffness", [1000, 1], SI, ["kN/m"]),
  unit("[lbf_av]/[in_i]", "stiffness", [44482216152605, 254000000000], POUND_FORCE, ["lbf/in"]),
  unit("N.m/deg", "angular stiffness", [1, 1], SI, [
    "N*m/deg",
    "Nm/deg",
    "N·m/deg",
    "Nm/°",
    "N.m/°",
    "N*m/°",
    "N·m/°",
  ]),
  unit("N.mm/deg", "angular stiffness", [1, 1000], SI, ["N*mm/deg", "Nmm/deg", "N·mm/deg"]),
  unit("N.m/rad", "angular stiffness", [Math.PI, 180], SI, ["N*m/rad", "Nm/rad", "N·m/rad"]),
  unit("N.m2", "flexural rigidity", [1, 1], SI, ["N*m2", "Nm2", "N·m²", "Nm²"]),
  unit("N.mm2", "flexural rigidity", [1, 1000000], SI, ["N*mm2", "Nmm2", "N·mm²", "Nmm²"]),
  unit("m/s", "speed", [1, 1], SI),
  unit("km/h", "speed", [1000, 3600], SI),
  unit("cm/s", "speed", [1, 100], SI),
  unit("mm/s", "speed", [1, 1000], SI),
  unit("mm/min", "speed", [1, 60000], SI),
  unit("mm/h", "speed", [1, 3600000], SI),
  unit("um/min", "speed", [1, 60000000], SI, ["µm/min", "μm/min"]),
  unit("mm/km", "wear", [1, 1000000], SI),
  unit("um/m", "wear", [1, 1000000], SI, ["µm/m", "μm/m"]),
  unit("mm/m", "wear", [1, 1000], SI),
  unit("Hz", "frequency", [1, 1], SI, ["/s", "1/s"]),
  unit("/min", "frequency", [1, 60], UCUM, ["1/min"]),
  unit("mg/mm3", "density", [1000, 1], SI, ["mg/mm³"]),
  unit("g/cm3", "density", [1000, 1], SI, ["g/cm³"]),
  unit("kg/m3", "density", [1, 1], SI, ["kg/m³"]),
  unit("L/min", "flow", [1, 60000], SI, ["l/min"]),
  unit("L/s", "flow", [1, 1000], SI, ["l/s"]),
  unit("shore-a", "Shore A hardness", [1, 1], OWN, ["Shore A", "shore a", "ShA", "{shore-a}"]),
  unit("shore-d", "Shore D hardness", [1, 1], OWN, ["Shore D", "shore d", "ShD", "{shore-d}"]),
];

const bySpelling = new Map<string, Unit>(
  units.flatMap((one) => [one.code, ...one.spellings].map((text) => [text, one] as const)),
);

/** Which unit does this text name? Null when none; capitals count, as in `mN` and `MN`. */
export function unitOf(text: string): Unit | null {
  return bySpelling.get(text.trim()) ?? null;
}

/** Do two units measure the same thing? False when either is unknown. */
export function sameDimension(from: string, to: string): boolean {
  const [a, b] = [unitOf(from), unitOf(to)];
  return a !== null && b !== null && a.dimension === b.dimension;
}

/**
 * How much is a value in another unit?
 *
 * Readings of a temperature are converted as points on a scale; differences of temperatures are not.
 *
 * @param value in the unit `from`
 * @throws {RangeError} if a unit is unknown or the two measure different things
 * @see The factors are exact; each carries its source in `units`.
 *
 * @example Inches and a temperature
 * ```ts
 * import assert from "node:assert/strict";
 * import { records } from "bench-to-court";
 * assert.equal(records.convert(11, "in", "mm"), 279.4);
 * assert.equal(records.convert(212, "°F", "°C"), 100);
 * ```
 */
export function convert(value: number, from: string, to: string): number {
  return converter(from, to)(value);
}

/** The conversion of `convert`, looked up once for many values. */
export function converter(from: string, to: string): (value: number) => number {
  const [a, b] = [known(from), known(to)];
  if (a.dimension !== b.dimension) {
    throw new RangeError(`Cannot convert ${from} (${a.dimension}) to ${to} (${b.dimension})`);
  }
  if (a === b) return (value) => value;
  const [up, down] = ratio(a.size, b.size);
  return (value) => (value - a.zero) * up / down + b.zero;
}

/**
 * What number and unit does this cell hold?
 *
 * Takes `11.2 in`, `28,4 cm`, `159 °F`, `48`. A comma that may be a decimal mark or a thousands mark
 * (`1,234 g`) is refused unless `decimal` says which; so is every mark between thousands.
 */
export function parseQuantity(
  text: string,
  { decimal = null }: { readonly decimal?: "." | "," | null } = {},
): Quantity | NoQuantity {
  option.check("records.parseQuantity", arguments[1], {
    decimal: option.orNull(option.oneOf(".", ",")),
  });
  const parts = /^\s*([-+−]?[\d.,'’]*\d[\d.,'’]*(?:[eE][-+−]?\d+)?)\s*(.*?)\s*$/su.exec(
    withoutFraction(text),
  );
  if (!parts) return { expected: "a number and a unit", fix: 'Write it like "28.4 cm".' };
  const [, digits, unitText] = parts;
  const value = readNumber(digits.replaceAll("−", "-"), decimal);
  if (typeof value !== "number") return value;
  if (unitText === "") return { value, unit: null };
  const found = unitOf(unitText) ?? unitOf(DEGREES[unitText] ?? "");
  if (found) return { value, unit: found.code };
  const near = likelyUnit(unitText);
  return {
    expected: "a known unit after the number",
    fix: near === null ? "" : `Write ${near.code} if that is meant.`,
  };
}

/** Letters that stand for a temperature behind a number; alone, in a header, they stand for much else. */
export const DEGREES: Readonly<Record<string, string>> = {
  F: "[degF]",
  C: "Cel",
  "deg F": "[degF]",
  "deg C": "Cel",
  "° F": "[degF]",
  "° C": "Cel",
};

/** `7.5` for `7½` and `7 1/2`: halves to eighths, which come out exactly or to 12 digits. */
function withoutFraction(text: string): string {
  const parts = /^(\s*)(\d*)\s*([½¼¾⅓⅔⅛⅜⅝⅞])/u.exec(text) ??
    /^(\s*)(\d+) +([1-7]\/[2-8])(?![\d/])/.exec(text);
  if (parts === null) return text;
  const [whole, space, ones, mark] = parts;
  const [up, down] = mark.normalize("NFKC").split(/[⁄/]/).map(Number);
  if (up >= down) return text;
  const value = Number((Number(ones || 0) + up / down).toPrecision(12));
  return `${space}${value}${text.slice(whole.length)}`;
}

/** A unit that differs only in its capitals or its spaces, for advice. */
export function likelyUnit(text: string): Unit | null {
  const plain = (one: string) => one.toLowerCase().replace(/[\s.]/g, "");
  const near = units.filter((one) =>
    [one.code, ...one.spellings].some((spelling) => plain(spelling) === plain(text))
  );
  return near.length === 1 ? near[0] : null;
}

function readNumber(digits: string, decimal: "." | "," | null): number | NoQuantity {
  const sign = digits.startsWith("-") ? "-" : "";
  const bare = digits.replace(/^[-+]/, "");
  const plain = /^(\d+|\d*[.,]\d+|\d+[.,])(?:[eE][-+]?\d+)?$/.exec(bare);
  if (!plain) {
    const last = Math.max(bare.lastIndexOf("."), bare.lastIndexOf(","));
    const whole = bare.slice(0, last).replace(/[.,'’]/g, "");
    const likely = /^\d+([.,'’]\d{3})*[.,]\d+$/.test(bare)
      ? `${sign}${whole}.${bare.slice(last + 1)}`
      : null;
    return {
      expected: "a number without marks between its thousands",
      fix: likely === null ? "" : `Write ${likely} if that is meant.`,
    };
  }
  const mark = bare.includes(",") ? "," : bare.includes(".") ? "." : null;
  if (mark !== null && decimal !== null && mark !== decimal) {
    return {
      expected: `"${decimal}" as the decimal mark`,
      fix: `Write it with "${decimal}", without marks between thousands.`,
    };
  }
  if (mark === "," && decimal === null && looksLikeThousands(bare)) {
    return {
      expected: "a number that can be read in one way only",
      fix: `Write ${sign}${bare.replace(",", "")} or ${sign}${bare.replace(",", ".")}.`,
    };
  }
  const value = Number(sign + bare.replace(",", "."));
  if (!Number.isFinite(value)) return { expected: "a number that is not too large", fix: "" };
  return value;
}

/** Could this comma stand between thousands, as in `1,234`? `0,234` and `12,5` could not. */
export function looksLikeThousands(text: string): boolean {
  return /^[-+]?[1-9]\d{0,2},\d{3}$/.test(text);
}

function known(text: string): Unit {
  const found = unitOf(text);
  if (!found) throw new RangeError(`Cannot convert: ${JSON.stringify(text)} is no unit known here`);
  return found;
}

// a/b as a reduced fraction: 284 mm is then 284 × 1 / 10 cm, which rounds once, to 28.4.
function ratio(a: Unit["size"], b: Unit["size"]): [number, number] {
  if (![...a, ...b].every(Number.isSafeInteger)) return [a[0] * b[1], a[1] * b[0]];
  const up = BigInt(a[0]) * BigInt(b[1]);
  const down = BigInt(a[1]) * BigInt(b[0]);
  const common = greatestCommonDivisor(up, down);
  return [Number(up / common), Number(down / common)];
}

function greatestCommonDivisor(a: bigint, b: bigint): bigint {
  while (b > 0n) [a, b] = [b, a % b];
  return a;
}

function unit(
  code: string,
  dimension: string,
  size: readonly [number, number],
  source: string,
  spellings: readonly string[] = [],
): Unit {
  return { code, dimension, size, zero: 0, spellings, source };
}

function temperature(
  code: string,
  size: readonly [number, number],
  zero: number,
  source: string,
  spellings: readonly string[] = [],
): Unit {
  return { code, dimension: "temperature", size, zero, spellings, source };
}
