import type { z } from "zod";
import type { CellAdvice } from "./cells.ts";
import { controlTrouble, withoutControl } from "./control_characters.ts";
import { jsonTroubles } from "./json_text.ts";
import { quoted } from "./problem.ts";
import type { Problem } from "./types.ts";

/** A JSON file's text, and what it says once parsed. */
export type JsonFile = { readonly file: string; readonly text: string; readonly value: unknown };

/** Parses a file's text; what is not JSON is reported with its line, and null comes back. */
export function readJson(
  file: string,
  text: string,
  onProblem: (problem: Problem) => void,
): JsonFile | null {
  const plain = text.replace(/^\uFEFF/, "");
  const troubles = jsonTroubles(plain);
  const tooDeep = troubles.some(({ found }) => found === "a deeper level");
  const tell = (at: number, trouble: Pick<Problem, "found" | "expected" | "fix">) =>
    onProblem({ file, line: lineAt(plain, at), column: null, ...trouble, severity: "error" });
  try {
    const value = tooDeep ? null : JSON.parse(plain);
    for (const { at, ...trouble } of troubles) tell(at, trouble);
    return tooDeep ? null : plainJson({ file, text: plain, value }, onProblem);
  } catch (error) {
    const message = error instanceof Error ? error.message : String(error);
    const at = /position (\d+)/.exec(message);
    const line = at ? plain.slice(0, Number(at[1])).split("\n").length : plain.split("\n").length;
    onProblem({
      file,
      line,
      column: null,
      found: plain.trim() === "" ? "an empty file" : `text that is not JSON (${message})`,
      expected: "JSON",
      fix: "Look for a missing or extra comma, quote or bracket there.",
      severity: "error",
    });
    return null;
  }
}

function lineAt(text: string, offset: number): number {
  return text.slice(0, offset).split("\n").length;
}

/** The same file with every text in it shown for what it is; where that changes one, a warning. */
function plainJson(json: JsonFile, onProblem: (problem: Problem) => void): JsonFile {
  const plain = (value: unknown, path: readonly PropertyKey[]): unknown => {
    if (typeof value === "string") {
      const trouble = controlTrouble(value);
      if (trouble === null) return value;
      onProblem(problemAt(json, path, "", path, { ...trouble, severity: "warning" }));
      return withoutControl(value);
    }
    if (Array.isArray(value)) return value.map((entry, i) => plain(entry, [...path, i]));
    if (typeof value !== "object" || value === null) return value;
    return Object.fromEntries(
      Object.entries(value).map(([key, entry]) => [key, plain(entry, [...path, key])]),
    );
  };
  return { ...json, value: plain(json.value, []) };
}

/**
 * Reads one value of a JSON file by its schema; null when it has errors.
 *
 * A key that the schema does not know is a warning, and is passed over; with `unknownKey` it is an error.
 *
 * @param path where the value stands in the file, `[2]` for the third entry of an array
 * @param name what to call that place in problems, such as the entry's id; "" for the whole file
 */
export function readBySchema<T>(
  json: JsonFile,
  value: unknown,
  schema: z.ZodType<T>,
  path: readonly PropertyKey[],
  name: string,
  onProblem: (problem: Problem) => void,
  /** Advice on a key, where one that nothing reads would change what the file means. */
  unknownKey: ((path: readonly PropertyKey[], key: string) => string) | null = null,
): T | null {
  const first = schema.safeParse(value);
  if (first.success) return first.data;
  const issues = first.error.issues;
  const unknown = issues.filter((issue) => issue.code === "unrecognized_keys");
  const copy = structuredClone(value);
  for (const issue of unknown) {
    for (const key of issue.keys) {
      const holder = at(copy, issue.path);
      if (typeof holder === "object" && holder !== null) Reflect.deleteProperty(holder, key);
      onProblem({
        file: json.file,
        line: lineOf(json.text, [...path, ...issue.path, key]),
        column: placeName(name, [...issue.path, key]),
        found: "an unknown key",
        expected: "a key of the data contract",
        fix: unknownKey?.(issue.path, key) ?? "It is not read.",
        severity: unknownKey === null ? "warning" : "error",
      });
    }
  }
  const second = unknown.length > 0 ? schema.safeParse(copy) : first;
  if (second.success) {
    return unknown.length > 0 && unknownKey !== null ? null : second.data;
  }
  for (const issue of second.error.issues) {
    if (issue.code === "unrecognized_keys") continue;
    onProblem(jsonProblem(json, at(value, issue.path), issue, path, name));
  }
  return null;
}

/** A problem at a place in a JSON file, with its line. */
export function problemAt(
  json: JsonFile,
  path: readonly PropertyKey[],
  name: string,
  shownPath: readonly PropertyKey[],
  trouble: Pick<Problem, "found" | "expected"> & Partial<Pick<Problem, "fix" | "severity">>,
): Problem {
  return {
    file: json.file,
    line: lineOf(json.text, path),
    column: placeName(name, shownPath),
    fix: "",
    severity: "error",
    ...trouble,
  };
}

/**
 * On which line of this JSON text does the value at a path begin?
 *
 * A path that leads nowhere gives the line of the nearest value around it.
 */
export function lineOf(text: string, path: readonly PropertyKey[]): number {
  let here = 0;
  for (const step of path) {
    const next = childAt(text, here, step);
    if (next === null) break;
    here = next;
  }
  return text.slice(0, skipSpace(text, here)).split("\n").length;
}

type Issue = z.core.$ZodIssue;

function jsonProblem(
  json: JsonFile,
  found: unknown,
  issue: Issue,
  path: readonly PropertyKey[],
  name: string,
): Problem {
  const advice = issue.code === "custom" ? issue.params as CellAdvice | undefined : undefined;
  return problemAt(json, [...path, ...issue.path], name, issue.path, {
    found: shown(found),
    expected: expectedBy(issue),
    fix: advice?.fix ?? "",
  });
}

function expectedBy(issue: Issue): string {
  switch (issue.code) {
    case "invalid_type":
      return /^[aeiou]/.test(issue.expected) ? `an ${issue.expected}` : `a ${issue.expected}`;
    case "invalid_value":
      return issue.values.length === 1
        ? JSON.stringify(issue.values[0])
        : `one of ${issue.values.join(", ")}`;
    case "too_small":
      if (issue.origin === "array") return `at least ${issue.minimum} of them`;
      return `a number ${issue.inclusive ? "of at least" : "above"} ${issue.minimum}`;
    case "too_big":
      return `a number ${issue.inclusive ? "of at most" : "below"} ${issue.maximum}`;
    case "invalid_union":
      return issue.path.at(-1) === "kind" ? "range, standard or steps" : issue.message;
    default:
      return issue.message;
  }
}

function shown(value: unknown): string {
  if (value === undefined) return "nothing";
  if (typeof value === "string") return quoted(value);
  if (Array.isArray(value)) return `a list of ${value.length}`;
  return typeof value === "object" && value !== null ? "an object" : JSON.stringify(value);
}

function at(value: unknown, path: readonly PropertyKey[]): unknown {
  let here = value;
  for (const step of path) {
    if (typeof here !== "object" || here === null) return undefined;
    here = (here as Record<PropertyKey, unknown>)[step];
  }
  return here;
}

function placeName(name: string, path: readonly PropertyKey[]): string | null {
  const steps = path.map((step) => typeof step === "number" ? `[${step}]` : `.${String(step)}`);
  const place = `${name}${steps.join("")}`.replace(/^\./, "");
  return place === "" ? null : place;
}

// The text is known to be valid JSON, so this only has to step over strings and count brackets.
function childAt(text: string, start: number, step: PropertyKey): number | null {
  let i = skipSpace(text, start);
  const open = text[i];
  if (open !== "{" && open !== "[") return null;
  i = skipSpace(text, i + 1);
  for (let index = 0; text[i] !== "}" && text[i] !== "]"; index++) {
    let key: PropertyKey = index;
    const begin = i;
    if (open === "{") {
      const end = skipString(text, i);
      key = JSON.parse(text.slice(i, end));
      i = skipSpace(text, skipSpace(text, end) + 1); // over the colon
    }
    if (key === step) return open === "{" && isScalar(text[i]) ? begin : i;
    i = skipSpace(text, skipValue(text, i));
    if (text[i] === ",") i = skipSpace(text, i + 1);
  }
  return null;
}

function isScalar(letter: string): boolean {
  return letter !== "{" && letter !== "[";
}

function skipSpace(text: string, i: number): number {
  while (i < text.length && " \n\r\t".includes(text[i])) i++;
  return i;
}

function skipString(text: string, i: number): number {
  for (i++; text[i] !== '"'; i++) if (text[i] === "\\") i++;
  return i + 1;
}

function skipValue(text: string, i: number): number {
  if (text[i] === '"') return skipString(text, i);
  if (isScalar(text[i])) {
    while (i < text.length && !",]} \n\r\t".includes(text[i])) i++;
    return i;
  }
  for (let depth = 0;;) {
    if (text[i] === '"') {
      i = skipString(text, i);
      continue;
    }
    if (text[i] === "{" || text[i] === "[") depth++;
    if (text[i] === "}" || text[i] === "]") depth--;
    i++;
    if (depth === 0) return i;
  }
}
