import { type CodeContext, codeContext } from "./code_context.ts";
import { kitDocs, type KitName } from "./kit_docs.ts";
import type { MessageContent } from "./messages.ts";

/** Help on the kit's names for a front end: what Shift-Tab and Tab ask for. */
export type KitHelp = {
  /** The reply to an `inspect_request`: `found` is false for what is not the kit's. */
  inspect(content: MessageContent): Promise<MessageContent>;
  /** The reply to a `complete_request` that names options or the kit's names; null leaves it to the kernel. */
  complete(content: MessageContent): Promise<MessageContent | null>;
};

/**
 * What helps where somebody types?
 *
 * The comments are read at the first question and kept. Where they can't be read there is no help, and the cells run.
 */
export function kitHelp(
  { kitDir, deno }: { readonly kitDir: string; readonly deno?: string },
): KitHelp {
  let loading: Promise<ReadonlyMap<string, KitName>> | undefined;
  const docs = () => loading ??= kitDocs({ kitDir, deno }).catch(() => new Map<string, KitName>());
  return {
    inspect: async (content) => {
      const { code, cursor } = placeIn(content);
      const { path, calls } = codeContext(code, cursor);
      const known = await docs();
      const found = [path, ...calls].map((name) => namesLike(name, known))
        .find((names) => names.length > 0) ?? [];
      if (found.length === 0) return { status: "ok", found: false, data: {}, metadata: {} };
      const isWhole = Number(content.detail_level ?? 0) > 0;
      const texts = found.map((name) => helpText(name, isWhole));
      return {
        status: "ok",
        found: true,
        data: {
          "text/plain": texts.map(({ plain }) => plain).join("\n\n"),
          "text/markdown": texts.map(({ markdown }) => markdown).join("\n\n---\n\n"),
        },
        metadata: {},
      };
    },
    complete: async (content) => {
      const { code, cursor, before } = placeIn(content);
      const { path, prefix, options } = codeContext(code, cursor);
      const matches = options !== null
        ? optionsOf(options, await docs()).filter((name) => !options.taken.includes(name))
        : path.includes(".")
        ? membersOf(path.slice(0, path.lastIndexOf(".")), await docs())
        : [];
      const fitting = matches.filter((name) => name.startsWith(prefix));
      if (fitting.length === 0) return null;
      return {
        status: "ok",
        matches: fitting,
        cursor_start: before - prefix.length,
        cursor_end: before,
        metadata: {},
      };
    },
  };
}

/** The cursor as a place in the text: the protocol counts whole characters, JavaScript halves of some. */
function placeIn(content: MessageContent) {
  const code = String(content.code ?? "");
  const letters = [...code];
  const before = Math.min(
    Math.max(Number(content.cursor_pos ?? letters.length), 0),
    letters.length,
  );
  return { code, before, cursor: letters.slice(0, before).join("").length };
}

/** A name with its namespace, or one alone that the cell may have taken out of it. */
function namesLike(name: string, known: ReadonlyMap<string, KitName>): readonly KitName[] {
  if (name === "") return [];
  const exact = known.get(name);
  if (exact !== undefined) return [exact];
  if (name.includes(".")) return [];
  return [...known.values()].filter(({ path }) => path.endsWith(`.${name}`));
}

function optionsOf(
  { call, argument }: NonNullable<CodeContext["options"]>,
  known: ReadonlyMap<string, KitName>,
): readonly string[] {
  return [...new Set(namesLike(call, known).flatMap(({ options }) => options[argument] ?? []))];
}

function membersOf(namespace: string, known: ReadonlyMap<string, KitName>): readonly string[] {
  const start = `${namespace}.`;
  return [...known.values()].filter(({ path, declaration }) =>
    path.startsWith(start) && !path.slice(start.length).includes(".") &&
    !/^(?:type|interface) /.test(declaration)
  ).map(({ path }) => path.slice(start.length)).sort();
}

function helpText(
  { path, declaration, doc, optionTypes, file }: KitName,
  isWhole: boolean,
): { readonly plain: string; readonly markdown: string } {
  const code = [declaration, ...optionTypes].join("\n\n");
  const isNamespace = declaration === path;
  const where = isWhole ? [`In ${file}`] : [];
  return {
    plain: [path, ...(isNamespace ? [] : [code]), plainDoc(doc), ...where].join("\n\n"),
    markdown: [
      `**${path}**`,
      ...(isNamespace ? [] : [`\`\`\`ts\n${code}\n\`\`\``]),
      doc,
      ...where,
    ].join("\n\n"),
  };
}

/** Without the marks of Markdown that a pane of plain text would show as they are. */
function plainDoc(doc: string): string {
  return doc.replace(/^```\w*$/gm, "").replace(/\*\*(\w+)\*\*/g, "$1:").replace(/`/g, "");
}
