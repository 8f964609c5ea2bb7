import assert from "node:assert/strict";
import { codeContext } from "../../lib/notebook/code_context.ts";
import { declarationText } from "../../lib/notebook/declaration_text.ts";
import { kitDocs } from "../../lib/notebook/kit_docs.ts";
import { kitHelp } from "../../lib/notebook/kit_help.ts";
import * as kit from "../../lib/mod.ts";
import { kitDir } from "./with_kernel.ts";

/** What a cursor, written |, is about. */
function at(marked: string) {
  const cursor = marked.indexOf("|");
  return codeContext(
    marked.slice(0, cursor) + marked.slice(cursor + 1),
    cursor,
  );
}

Deno.test("codeContext() reads the name under the cursor with its namespace, and the calls around it", () => {
  assert.equal(
    at("const r = studies.court|Prediction(bench)").path,
    "studies.courtPrediction",
  );
  assert.equal(
    at("words.prediction.summary|(r)").path,
    "words.prediction.summary",
  );
  assert.deepEqual(at("charts.drift(studies.referenceDrift(bench, |))").calls, [
    "studies.referenceDrift",
    "charts.drift",
  ]);
  assert.deepEqual(at(`show.table(rows, ")(" /* f( */, |`).calls, [
    "show.table",
  ]);
  assert.equal(at("1 + |").path, "");
});

Deno.test("codeContext() tells an option's name from its value, and from braces that are no options", () => {
  assert.deepEqual(
    at("statistics.spearman(x, [1, f(2)], { seed: 1, res|").options,
    {
      call: "statistics.spearman",
      argument: 2,
      taken: ["seed"],
    },
  );
  assert.deepEqual(at("f({ a: { b: 1, c: [2, 3] }, d, |})").options?.taken, [
    "a",
    "d",
  ]);
  for (
    const none of [
      "f(x, { seed: |",
      "if (x) { |",
      "f(() => { |",
      "const { |",
      "f(x, { ...|",
    ]
  ) {
    assert.equal(at(none).options, null, none);
  }
});

Deno.test("declarationText() ends a signature at its body, however its types use braces", () => {
  const signature = (text: string) => declarationText(`// one\n${text}`, 2);
  assert.equal(
    signature(
      "export function f({ a = 1 }: { readonly a?: number /* } */ } = {}): { b: number } {\n  return",
    ),
    "function f({ a = 1 }: { readonly a?: number /* } */ } = {}): { b: number }",
  );
  assert.equal(
    signature(
      "export async function g(by: (x: number) => { y: 1 }): Promise<{ z: string }> { x }",
    ),
    "async function g(by: (x: number) => { y: 1 }): Promise<{ z: string }>",
  );
  assert.equal(
    signature("export type T = {\n  a: 1;\n};\nconst x = 1;"),
    "type T = {\n  a: 1;\n}",
  );
});

Deno.test("kitDocs() explains every function that the door hands out", async () => {
  const docs = await kitDocs({ kitDir });
  const unexplained: string[] = [];
  let functions = 0;
  const walk = (namespace: object, path: string) => {
    for (const [name, value] of Object.entries(namespace)) {
      const whole = path === "" ? name : `${path}.${name}`;
      const isNamespace = Object.prototype.toString.call(value) === "[object Module]";
      if (isNamespace) walk(value, whole);
      else if (typeof value === "function") functions++;
      const found = docs.get(whole);
      if (found === undefined || found.doc === "" || found.declaration === "") {
        unexplained.push(whole);
      }
    }
  };
  walk(kit, "");
  assert.ok(functions > 200, `only ${functions} functions were looked at`);
  assert.deepEqual(unexplained, []);
});

Deno.test("kitHelp() shows signature, defaults and comments for a name, inside its call too, and nothing for another's", async () => {
  const help = kitHelp({ kitDir });
  const ask = async (code: string, more = {}) =>
    await help.inspect({ code, cursor_pos: [...code].length, ...more }) as {
      readonly found: boolean;
      readonly data: Readonly<Record<string, string>>;
    };
  const { found, data } = await ask("studies.courtPrediction(bench, ");
  assert.ok(found);
  assert.match(data["text/plain"], /function courtPrediction\(/);
  assert.match(data["text/plain"], /seed = 20260101/);
  assert.match(
    data["text/plain"],
    /What on the bench tells how a shoe will play\?/,
  );
  assert.match(data["text/markdown"], /```ts\nfunction courtPrediction/);
  assert.match(
    (await ask("show.frame"))["data"]["text/plain"],
    /readonly units\?:/,
  );
  assert.match(
    (await ask("spearman(x, "))["data"]["text/plain"],
    /statistics\.spearman/,
  );
  assert.match(
    (await ask("words.prediction.summary"))["data"]["text/plain"],
    /What does the bench tell/,
  );
  assert.match(
    (await ask("studies"))["data"]["text/plain"],
    /courtPrediction What on the bench/,
  );
  const whole = await ask("statistics.spearman(", { detail_level: 1 });
  assert.match(whole.data["text/plain"], /In lib\/statistics\/spearman\.ts$/);
  assert.deepEqual(await ask("myOwn("), {
    status: "ok",
    found: false,
    data: {},
    metadata: {},
  });
});

Deno.test("kitHelp() completes options that aren't named yet, counting characters as the protocol does", async () => {
  const help = kitHelp({ kitDir });
  const complete = async (code: string) => {
    const reply = await help.complete({ code, cursor_pos: [...code].length });
    return reply && [reply.matches, reply.cursor_start, reply.cursor_end];
  };
  assert.deepEqual(
    await complete("statistics.spearman(x, y, { interval: 'none', s"),
    [["seed"], 46, 47],
  );
  assert.deepEqual(await complete("'👟'; records.shoeTable(bench, {"), [
    ["counts"],
    31,
    31,
  ]);
  assert.deepEqual(await complete("studies.courtPred"), [
    ["courtPrediction"],
    8,
    17,
  ]);
  assert.equal(await complete("statistics.spearman(x, y, { interval: "), null);
  assert.equal(await complete("myOwn({ "), null);
});
