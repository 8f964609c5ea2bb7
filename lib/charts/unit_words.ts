const spelled: Readonly<Record<string, string>> = {
  "1": "",
  "deg": "°",
  "Cel": "°C",
  "[degF]": "°F",
  "[in_i]": "in",
  "[oz_av]": "oz",
  "[lbf_av]": "lbf",
  "N.m/deg": "N·m/°",
  "shore-a": "Shore A",
};

/**
 * How does a unit's code read in a picture?
 *
 * @param unit a UCUM code, such as `N.m/deg`
 * @returns what a reader knows, such as `N·m/°`; empty for a plain ratio
 */
export function unitWords(unit: string): string {
  return spelled[unit] ?? unit;
}
