import { join } from "node:path";
import { fileURLToPath } from "node:url";
import * as seeds from "../statistics/default_seeds.ts";
import { kernelEnvironment } from "./deno_cache.ts";
import { declarationText } from "./declaration_text.ts";

/** One name of the door, as its doc comment and declaration explain it. */
export type KitName = {
  /** As a cell writes it, such as `studies.courtPrediction`. */
  readonly path: string;
  /** The declaration as it stands in its file. */
  readonly declaration: string;
  /** The doc comment, in Markdown. */
  readonly doc: string;
  /** For each parameter of a function, what an object given for it may name. */
  readonly options: readonly (readonly string[])[];
  /** Declarations of the types that the last parameter has, which are the options as a rule. */
  readonly optionTypes: readonly string[];
  /** Path of the file within the kit. */
  readonly file: string;
};

/**
 * What does each name of the kit's door mean?
 *
 * From the comments in the kit's own files, by `deno doc`: half a second once, so ask for it when somebody asks for help.
 *
 * @returns by the path a cell writes, the namespaces themselves among them
 * @throws {Error} if Deno can't read the files, with what it said
 */
export async function kitDocs(
  { kitDir, deno = Deno.execPath() }: { readonly kitDir: string; readonly deno?: string },
): Promise<ReadonlyMap<string, KitName>> {
  const rooms = await roomsOf(join(kitDir, "lib", "mod.ts"), "");
  const { success, stdout, stderr } = await new Deno.Command(deno, {
    args: ["doc", "--json", ...new Set(rooms.map(({ file }) => file))],
    cwd: kitDir,
    clearEnv: true,
    env: kernelEnvironment(),
    stdin: "null",
    stdout: "piped",
    stderr: "piped",
  }).output();
  const text = new TextDecoder();
  if (!success) throw new Error(`Cannot read the kit's comments: ${text.decode(stderr)}`);
  const { nodes } = JSON.parse(text.decode(stdout)) as DocFile;
  const sources = new Map<string, string>();
  const sourceOf = (file: string) => {
    const known = sources.get(file) ?? Deno.readTextFileSync(file);
    sources.set(file, known);
    return known;
  };
  const all = Object.values(nodes).flatMap(({ symbols }) => symbols)
    .flatMap(({ name, declarations: [declaration] }) =>
      declaration.kind === "reference" ? [] : [{ name, declaration }]
    );
  const types = new Map(all.map(({ name, declaration }) => [name, declaration]));
  const placed = new Map(
    all.map(({ declaration }) => [placeOf(declaration.location), declaration]),
  );
  const names = new Map<string, KitName>();
  for (const { path, file, doc } of rooms) {
    const symbols = nodes[`file://${file}`]?.symbols ?? [];
    if (path !== "") {
      names.set(path, namespaceNamed(path, doc, file.slice(kitDir.length + 1), symbols));
    }
    for (const { name, declarations: [found] } of symbols) {
      // What an earlier room handed out already is only referred to.
      const declaration = found.kind === "reference"
        ? placed.get(placeOf(found.def!.target!))
        : found;
      if (declaration === undefined || declaration.kind === "namespace") continue;
      const whole = path === "" ? name : `${path}.${name}`;
      names.set(whole, named(whole, declaration, { kitDir, sourceOf, types }));
    }
  }
  return names;
}

type DocType = {
  readonly kind: string;
  readonly repr?: string;
  readonly value?: unknown;
};

type DocParam = {
  readonly kind: string;
  readonly left?: DocParam;
  readonly props?: readonly { readonly kind: string; readonly key?: string }[];
  readonly tsType?: DocType;
};

type DocPlace = { readonly filename: string; readonly line: number; readonly col: number };

type DocDeclaration = {
  readonly kind: string;
  /** Lines count from 0. */
  readonly location: DocPlace;
  readonly jsDoc?: {
    readonly doc?: string;
    readonly tags?: readonly {
      readonly kind: string;
      readonly name?: string;
      readonly doc?: string;
      readonly tsType?: DocType;
    }[];
  };
  readonly def?: {
    readonly params?: readonly DocParam[];
    readonly tsType?: DocType;
    readonly target?: DocPlace;
  };
};

type DocSymbol = { readonly name: string; readonly declarations: readonly DocDeclaration[] };

type DocFile = {
  readonly nodes: Readonly<Record<string, { readonly symbols: readonly DocSymbol[] }>>;
};

type Room = { readonly path: string; readonly file: string; readonly doc: string };

function placeOf({ filename, line, col }: DocPlace): string {
  return `${filename}:${line}:${col}`;
}

/** The door's file and those of the namespaces it hands out, and of theirs. */
async function roomsOf(file: string, path: string, doc = ""): Promise<readonly Room[]> {
  const text = await Deno.readTextFile(file);
  const handed = /(?:\/\*\*((?:(?!\*\/)[\s\S])*)\*\/\n)?export \* as (\w+) from "(\.[^"]+)"/g;
  const inner = [...text.matchAll(handed)].map(([, comment = "", name, target]) =>
    roomsOf(
      join(file, "..", target),
      path === "" ? name : `${path}.${name}`,
      comment.replace(/^\s*\* ?/gm, "").trim(),
    )
  );
  return [{ path, file, doc }, ...(await Promise.all(inner)).flat()];
}

function namespaceNamed(
  path: string,
  doc: string,
  file: string,
  symbols: readonly DocSymbol[],
): KitName {
  const lines = symbols.filter(({ declarations: [{ kind }] }) =>
    kind === "function" || kind === "variable" || kind === "namespace"
  ).map(({ name, declarations: [{ jsDoc }] }) =>
    `- \`${name}\` ${jsDoc?.doc?.split(/\n\n/)[0].replace(/\s+/g, " ").trim() ?? ""}`
  );
  return {
    path,
    declaration: path,
    doc: [doc, lines.join("\n")].join("\n\n").trim(),
    options: [],
    optionTypes: [],
    file,
  };
}

function named(
  path: string,
  declaration: DocDeclaration,
  { kitDir, sourceOf, types }: {
    readonly kitDir: string;
    readonly sourceOf: (file: string) => string;
    readonly types: ReadonlyMap<string, DocDeclaration>;
  },
): KitName {
  // A reader in a cell has the figure in front of them, not the file that names it.
  const textOf = ({ location }: DocDeclaration) =>
    declarationText(sourceOf(fileURLToPath(location.filename)), location.line + 1)
      .replace(/\b[A-Z]+_SEED\b/g, (name) => String(seeds[name as keyof typeof seeds] ?? name));
  const params = (declaration.def?.params ?? []).map((param) => {
    const inner = param.kind === "assign" ? param.left! : param;
    const written = inner.props?.flatMap(({ kind, key }) => kind === "rest" || !key ? [] : [key]);
    const found = optionsIn(inner.tsType, types);
    return { names: [...new Set([...written ?? [], ...found.names])], types: found.types };
  });
  return {
    path,
    declaration: textOf(declaration),
    doc: docText(declaration),
    options: params.map(({ names }) => names),
    optionTypes: (params.at(-1)?.types ?? []).map((name) => textOf(types.get(name)!)),
    file: fileURLToPath(declaration.location.filename).slice(kitDir.length + 1),
  };
}

/** The properties of an options type, whether it is written out, joined from several or has a name. */
function optionsIn(
  type: DocType | undefined,
  types: ReadonlyMap<string, DocDeclaration>,
  depth = 0,
): { readonly names: readonly string[]; readonly types: readonly string[] } {
  const none = { names: [], types: [] };
  if (type === undefined || depth > 4) return none;
  if (type.kind === "typeLiteral") {
    const { properties } = type.value as {
      readonly properties: readonly { readonly name: string }[];
    };
    return { names: properties.map(({ name }) => name), types: [] };
  }
  if (type.kind === "intersection") {
    const parts = (type.value as readonly DocType[]).map((part) =>
      optionsIn(part, types, depth + 1)
    );
    return {
      names: parts.flatMap(({ names }) => names),
      types: parts.flatMap((part) => part.types),
    };
  }
  if (type.kind === "parenthesized") return optionsIn(type.value as DocType, types, depth + 1);
  if (type.kind !== "typeRef") return none;
  const { typeName } = type.value as { readonly typeName: string };
  const alias = types.get(typeName);
  if (alias?.def?.tsType === undefined) return none;
  const inner = optionsIn(alias.def.tsType, types, depth + 1);
  return { names: inner.names, types: [typeName, ...inner.types] };
}

const headings: Readonly<Record<string, string>> = {
  param: "Takes",
  return: "Gives",
  throws: "Throws",
  see: "Source",
  example: "Example",
};

function docText({ jsDoc }: DocDeclaration): string {
  const parts = (jsDoc?.tags ?? []).filter(({ kind }) => kind in headings).map((tag) => {
    const about = tag.kind === "param"
      ? ` \`${tag.name}\``
      : tag.kind === "throws" && tag.tsType?.repr
      ? ` \`${tag.tsType.repr}\``
      : "";
    const text = tag.doc?.trim() ?? "";
    return `**${headings[tag.kind]}**${about}${text.startsWith("```") ? "\n" : " "}${text}`;
  });
  return [jsDoc?.doc?.trim() ?? "", ...parts].filter((part) => part !== "").join("\n\n");
}
