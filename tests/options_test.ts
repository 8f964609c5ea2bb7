import assert from "node:assert/strict";
import * as door from "../lib/mod.ts";

/*
 * A walk through the door: every function that takes options, every option, each with a wrong word, a
 * wrong type and a misspelt name. What the functions take is read from their documentation, so that a
 * function added later is walked too.
 */

type Type = {
  readonly kind: string;
  // deno-lint-ignore no-explicit-any
  readonly value: any;
};
type Property = {
  readonly name: string;
  readonly optional?: boolean;
  readonly tsType?: Type;
};
type Parameter = {
  readonly kind: string;
  readonly name?: string;
  readonly optional?: boolean;
  readonly tsType?: Type;
  readonly left?: Parameter;
};
type Declaration = {
  readonly kind: string;
  readonly def: {
    readonly params?: readonly Parameter[];
    readonly tsType?: Type;
  };
};
type Symbols = readonly {
  readonly name: string;
  readonly declarations: readonly Declaration[];
}[];

// Arguments with a name each, or parts of a richer result, which no caller types as options.
const records = new Set([
  "statistics.equivalence 0",
  "statistics.widenedLimits 0",
  "statistics.whitenNested 1",
  "studies.applyRule 3",
  "studies.bonusWorth 1",
  "studies.courtGain 0",
  "studies.pileUps 2",
  "studies.proposalGain 1",
  "studies.ruleCoverage 1",
  "studies.scoreLink 0",
  "studies.shoeTree 0",
  "words.catalogue.partWords 1",
  "words.changes.adviceWords 1",
  "words.inUnit 1",
]);

const namespaces = [
  "records",
  "metrics",
  "statistics",
  "studies",
  "words",
  ...Object.keys(door.words).filter((name) =>
    typeof door.words[name as keyof typeof door.words] === "object"
  )
    .map((room) => `words.${room}`),
  "charts",
];

type Walked = {
  readonly call: string;
  readonly place: number;
  readonly options: readonly Property[];
  readonly run: (...given: unknown[]) => unknown;
};

async function docs(file: string): Promise<Symbols> {
  const { stdout, success } = await new Deno.Command(Deno.execPath(), {
    args: ["doc", "--json", file],
    cwd: new URL("..", import.meta.url).pathname,
    stderr: "null",
  }).output();
  assert.ok(success, `deno doc ${file}`);
  const { nodes } = JSON.parse(new TextDecoder().decode(stdout));
  return Object.values(nodes as Record<string, { symbols: Symbols }>).flatMap((
    file,
  ) => file.symbols);
}

function propertiesOf(
  type: Type | undefined,
  named: ReadonlyMap<string, Type>,
): readonly Property[] | null {
  switch (type?.kind) {
    case "typeLiteral":
      return type.value.properties;
    case "parenthesized":
      return propertiesOf(type.value, named);
    case "intersection": {
      const parts = (type.value as Type[]).map((part) => propertiesOf(part, named));
      return parts.includes(null) ? null : parts.flatMap((part) => part!);
    }
    case "typeRef": {
      const { typeName, typeParams = [] } = type.value;
      if (["Readonly", "Partial", "Required"].includes(typeName)) {
        return propertiesOf(typeParams[0], named);
      }
      if (typeName === "Pick" || typeName === "Omit") {
        const [of, keys] = typeParams as [Type, Type];
        const words = wordsOf(keys, named) ?? [];
        return propertiesOf(of, named)?.filter(({ name }) =>
          words.includes(name) === (typeName === "Pick")
        ) ?? null;
      }
      return named.has(typeName) ? propertiesOf(named.get(typeName), named) : null;
    }
    default:
      return null;
  }
}

/** The words that a type allows, where it allows nothing else. */
function wordsOf(
  type: Type | undefined,
  named: ReadonlyMap<string, Type>,
): string[] | null {
  if (type?.kind === "literal" && "string" in type.value) {
    return [type.value.string];
  }
  if (type?.kind === "typeRef" && named.has(type.value.typeName)) {
    return wordsOf(named.get(type.value.typeName), named);
  }
  if (type?.kind !== "union") return null;
  const parts = (type.value as Type[]).map((part) => wordsOf(part, named));
  return parts.includes(null) ? null : parts.flatMap((part) => part!);
}

/** A value of another type than this one. */
function wrongFor(type: Type | undefined): unknown {
  if (type?.kind === "keyword") {
    return { number: "7", boolean: "yes" }[String(type.value)] ?? true;
  }
  return wordsOf(type, new Map()) === null ? true : "no such thing";
}

async function walk(): Promise<Walked[]> {
  const named = new Map<string, Type>();
  const files = new Map(
    await Promise.all(
      namespaces.map(async (name): Promise<[string, Symbols]> => [
        name,
        await docs(`lib/${name.replaceAll(".", "/")}/mod.ts`),
      ]),
    ),
  );
  for (const symbols of files.values()) {
    for (const { name, declarations } of symbols) {
      for (const { kind, def } of declarations) {
        if (kind === "typeAlias" && def.tsType) named.set(name, def.tsType);
      }
    }
  }
  return [...files].flatMap(([namespace, symbols]) =>
    symbols.flatMap(({ name, declarations }) =>
      declarations.filter(({ kind }) => kind === "function").flatMap((
        { def },
      ) =>
        def.params!.flatMap((given, place): Walked[] => {
          const parameter = given.left ?? given;
          const optional = given.kind === "assign" || given.optional === true;
          const options = propertiesOf(parameter.tsType, named);
          const isOptions = options !== null &&
            (parameter.kind === "object" || optional) &&
            (place > 0 || optional || parameter.tsType?.kind === "typeLiteral");
          const call = `${namespace}.${name}`;
          if (!isOptions || records.has(`${call} ${place}`)) return [];
          const home = namespace.split(".").reduce(
            // deno-lint-ignore no-explicit-any
            (at: any, part) => at[part],
            door,
          );
          return [{ call, place, options, run: home[name] }];
        })
      )
    )
  );
}

// Stands for every other argument: an option is looked at before anything else is.
const inside = (_: unknown, key: string | symbol) =>
  key === Symbol.iterator ? [][Symbol.iterator] : key === Symbol.toPrimitive ? () => 1 : part;
const part: unknown = new Proxy(() => part, { get: inside });
const anything = new Proxy({}, { get: inside });

async function refusal(
  { run, place }: Walked,
  options: unknown,
): Promise<unknown> {
  let timer: ReturnType<typeof setTimeout> | undefined;
  // What stands for an argument looks like a promise that never settles: nobody waits for it.
  const tooLong = new Promise<null>((resolve) => timer = setTimeout(resolve, 1000, null));
  try {
    const result = run(
      ...Array.from({ length: place }, () => anything),
      options,
      anything,
    );
    if (result instanceof Promise) await Promise.race([result, tooLong]);
  } catch (error) {
    return error;
  } finally {
    clearTimeout(timer);
  }
  return null;
}

Deno.test("every function of the door refuses an option it does not have, and says which it has", async () => {
  const walked = await walk();
  assert.ok(
    walked.length > 150,
    `only ${walked.length} functions take options`,
  );
  const wrong: string[] = [];
  for (const one of walked) {
    const names = one.options.map(({ name }) => name);
    const misspelt = `${names[0]}q`;
    const error = await refusal(one, { [misspelt]: 1 });
    const message = error instanceof RangeError ? error.message : `no RangeError: ${error}`;
    const all = names.every((name) => message.includes(name));
    if (
      !message.startsWith(`${one.call} has no option "${misspelt}"`) || !all
    ) {
      wrong.push(`${one.call}: ${message}`);
    }
  }
  assert.deepEqual(wrong, []);
});

Deno.test("every option of the door refuses a wrong word and a wrong type, and says what it takes", async () => {
  const named = new Map<string, Type>();
  const wrong: string[] = [];
  let options = 0;
  for (const one of await walk()) {
    for (const { name, tsType } of one.options) {
      options++;
      const given = wrongFor(tsType);
      const error = await refusal(one, { [name]: given });
      const message = error instanceof RangeError ? error.message : `no RangeError: ${error}`;
      const says = message.startsWith(`${one.call}: ${name} is `) &&
        message.includes("expected ");
      const words = wordsOf(tsType, named) ?? [];
      const unnamed = words.filter((word) => !message.includes(`"${word}"`));
      if (!says || unnamed.length > 0) {
        wrong.push(`${one.call} ${name}: ${message}`);
      }
    }
  }
  assert.ok(options > 500, `only ${options} options were tried`);
  assert.deepEqual(wrong, []);
});

Deno.test("a misspelt word of an option is met with the nearest known one", () => {
  const { permutationTest, bootstrapInterval, pearson, spearman } = door.statistics;
  // deno-lint-ignore no-explicit-any
  const loose = (options: unknown) => options as any;
  assert.throws(
    () =>
      permutationTest(
        [1, 2],
        [3, 4],
        loose({ design: "two groups", alternative: "two-sidde" }),
      ),
    /alternative is "two-sidde", expected "two-sided", "greater" or "less". Did you mean "two-sided"\?/,
  );
  assert.throws(
    () => permutationTest([1, 2], [3, 4], loose({ design: "pairs" })),
    RangeError,
  );
  assert.throws(
    () => permutationTest([1, 2], [3, 4], loose({})),
    /design is not given/,
  );
  assert.throws(
    () => bootstrapInterval([1, 2, 3], ([x]) => x, loose({ method: "percentil" })),
    {
      name: "RangeError",
      message: /Did you mean "percentile"\?/,
    },
  );
  assert.throws(
    () => pearson([1, 2, 3], [2, 1, 3], loose({ interval: "boot" })),
    /"fisher"/,
  );
  assert.throws(
    () => spearman([1, 2, 3], [2, 1, 3], loose({ resamples: 1 })),
    /at least 40/,
  );
  assert.throws(
    () => spearman([1, 2, 3], [2, 1, 3], loose({ confidance: 0.9 })),
    {
      name: "RangeError",
      message: /no option "confidance"\. Did you mean "confidence"\?/,
    },
  );
  assert.throws(
    () => spearman([1, 2, 3], [2, 1, 3], loose(0.9)),
    /expected an object/,
  );
});
