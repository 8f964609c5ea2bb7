import { join } from "node:path";
import { writeWhole } from "./write_whole.ts";
import { writtenJson } from "./written_json.ts";

/**
 * Writes a study's whole result as JSON beside what a person reads.
 *
 * @param dir the folder for results
 * @param name the file's name without `.json`
 * @returns the path written
 * @throws {TypeError} naming the place of a value that JSON would lose: NaN, an infinity, undefined
 */
export async function writeResult(dir: string, name: string, result: unknown): Promise<string> {
  const lost = findLost(result, name);
  if (lost !== null) throw new TypeError(`Cannot write ${name}.json: ${lost}`);
  const path = join(dir, `${name}.json`);
  await writeWhole(path, writtenJson(result) + "\n");
  return path;
}

function findLost(value: unknown, place: string): string | null {
  if (typeof value === "number") {
    return Number.isFinite(value) ? null : `${place} is ${value}, expected a number or null`;
  }
  if (value === undefined || typeof value === "function") {
    return `${place} is ${typeof value}, expected a value or null`;
  }
  if (typeof value !== "object" || value === null) return null;
  for (const [key, part] of Object.entries(value)) {
    const lost = findLost(part, Array.isArray(value) ? `${place}[${key}]` : `${place}.${key}`);
    if (lost !== null) return lost;
  }
  return null;
}
