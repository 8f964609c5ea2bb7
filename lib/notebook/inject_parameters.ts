import type { CodeCell, Notebook } from "./notebook_format.ts";

/** A value that a notebook can be given: anything JSON can hold. */
export type ParameterValue =
  | string
  | number
  | boolean
  | null
  | readonly ParameterValue[]
  | { readonly [key: string]: ParameterValue };

/** A parameter that the notebook does not know or cannot take. */
export class ParameterError extends Error {
  /** The error's name. */
  override readonly name = "ParameterError";
}

/**
 * Gives a notebook new values for its parameters.
 *
 * The cell tagged `parameters` declares them with `let`; a second cell, tagged `injected-parameters`, is put
 * behind it and assigns the new values, so that a reader sees both. An earlier injected cell is replaced.
 * Without parameters the notebook comes back as it is.
 *
 * @throws {ParameterError} if there is no such cell, or a name is not declared in it, naming those that are
 */
export function injectParameters(
  notebook: Notebook,
  parameters: Readonly<Record<string, ParameterValue>>,
  { name = "notebook" } = {},
): Notebook {
  const given = Object.entries(parameters);
  if (given.length === 0) return notebook;

  const cells = notebook.cells.filter((cell) => !hasTag(cell, "injected-parameters"));
  const at = cells.findIndex((cell) => cell.cell_type === "code" && hasTag(cell, "parameters"));
  if (at < 0) {
    throw new ParameterError(
      `${name}: found no code cell tagged "parameters", so it takes none; given: ${
        given.map(([key]) => key).join(", ")
      }`,
    );
  }
  const declared = declaredParameters(cells[at].source);
  for (const [key, value] of given) {
    const line = declared.get(key);
    if (line === undefined) {
      throw new ParameterError(
        `${name}: has no parameter "${key}"; it has: ${[...declared.keys()].join(", ") || "none"}`,
      );
    }
    if (line === "const") {
      throw new ParameterError(`${name}: the parameter "${key}" is a const; declare it with let`);
    }
    refuseUnwritable(value, `${name}: parameter "${key}"`);
  }
  const injected: CodeCell = {
    cell_type: "code",
    id: "injected-parameters",
    metadata: { tags: ["injected-parameters"] },
    source: injectedSource(parameters),
    execution_count: null,
    outputs: [],
  };
  return { ...notebook, cells: [...cells.slice(0, at + 1), injected, ...cells.slice(at + 1)] };
}

/** The code that gives parameters their values. */
export function injectedSource(parameters: Readonly<Record<string, ParameterValue>>): string {
  const assignments = Object.entries(parameters)
    .map(([name, value]) => `${name} = ${JSON.stringify(value)};`);
  // The last line keeps the last value from being shown as the cell's output.
  return ["// Set for this run", ...assignments, "undefined;"].join("\n");
}

/** The names that a parameters cell declares, each with the word that declares it. */
export function declaredParameters(source: string): ReadonlyMap<string, "let" | "const" | "var"> {
  // Parameters stand one to a line, so a line's beginning is enough; a comment's never matches.
  const lines = source.matchAll(
    /^[ \t]*(let|const|var)[ \t]+([A-Za-z_$][\w$]*)[ \t]*(?=[:=;]|$)/gm,
  );
  return new Map(
    [...lines].map(([, word, name]) => [name, word as "let" | "const" | "var"]),
  );
}

function refuseUnwritable(value: unknown, where: string): void {
  if (value === undefined || (typeof value === "number" && !Number.isFinite(value))) {
    throw new ParameterError(`${where}: found ${value}, expected a value that JSON can hold`);
  }
  if (typeof value === "object" && value !== null) {
    for (const part of Object.values(value)) refuseUnwritable(part, where);
  }
}

function hasTag(cell: { readonly metadata: { readonly tags?: readonly string[] } }, tag: string) {
  return cell.metadata.tags?.includes(tag) ?? false;
}
