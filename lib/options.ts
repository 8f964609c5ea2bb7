/**
 * What an option may be, for every function of the door: notebook cells aren't type-checked, so a
 * misspelt word would run as something else.
 *
 * A leaf that every room may import. A function names its options once more in its first line and reads
 * them from `arguments`, so that its signature keeps the defaults where help and completion find them.
 *
 * @module
 */
import { nearestName } from "./similar_names.ts";

/** What an option may be: in words, and as a test. */
export type Kind = {
  readonly says: string;
  readonly holds: (value: unknown) => boolean;
  /** Must it be given? */
  readonly needed?: boolean;
  /** The words it may be, where it is one of a few. */
  readonly words?: readonly (string | number)[];
};

/**
 * Is every option one of those known, and what it may be?
 *
 * @param call the function's name at the door, such as `statistics.spearman`
 * @param given what the caller gave, before defaults; undefined is no options
 * @throws {RangeError} that says what was given, what is known and the nearest known word
 */
export function check(
  call: string,
  given: unknown,
  known: Readonly<Record<string, Kind>>,
): void {
  const there = given ?? {};
  if (typeof there !== "object" || Array.isArray(there)) {
    throw new RangeError(
      `${call}: options are ${shown(given)}, expected an object with ${listed(Object.keys(known))}`,
    );
  }
  for (const [name, value] of Object.entries(there)) {
    if (!Object.hasOwn(known, name)) {
      if (value !== undefined) throw unknownOption(call, name, Object.keys(known));
      continue;
    }
    const { holds, says, words } = known[name];
    if (value === undefined || holds(value)) continue;
    const near = words === undefined ? null : nearestName(String(value), words.map(String));
    throw new RangeError(
      `${call}: ${name} is ${shown(value)}, expected ${says}${
        near === null ? "" : `. Did you mean ${shown(near)}?`
      }`,
    );
  }
  for (const [name, { needed, says }] of Object.entries(known)) {
    if (needed && (there as Record<string, unknown>)[name] === undefined) {
      throw new RangeError(`${call}: ${name} is not given, expected ${says}`);
    }
  }
}

function unknownOption(call: string, name: string, known: readonly string[]): RangeError {
  const near = nearestName(name, known);
  return new RangeError(
    `${call} has no option "${name}"${near === null ? "" : `. Did you mean "${near}"?`}; it has ${
      listed(known)
    }`,
  );
}

/** Not to be left out. */
export function needed(kind: Kind): Kind {
  return { ...kind, needed: true };
}

/** Null is allowed too. */
export function orNull({ says, holds, ...rest }: Kind): Kind {
  return { ...rest, says: `${says}, or null`, holds: (value) => value === null || holds(value) };
}

/** Either of two. */
export function either(one: Kind, other: Kind): Kind {
  return {
    says: `${one.says}, or ${other.says}`,
    holds: (value) => one.holds(value) || other.holds(value),
  };
}

/** One of a few words or numbers. */
export function oneOf(...words: readonly (string | number)[]): Kind {
  const said = words.map(shown);
  const says = said.length === 1
    ? said[0]
    : `${said.slice(0, -1).join(", ")} or ${said[said.length - 1]}`;
  return { says, words, holds: (value) => words.includes(value as string | number) };
}

/** A list, each part of one kind. */
export function listOf(kind: Kind): Kind {
  return {
    says: `a list, each ${kind.says}`,
    holds: (value) =>
      ArrayBuffer.isView(value) || Array.isArray(value) && value.every((part) => kind.holds(part)),
  };
}

/** A whole number from one bound to another. */
export function whole(least: number, most = Number.MAX_SAFE_INTEGER): Kind {
  return {
    says: most === Number.MAX_SAFE_INTEGER
      ? `a whole number of at least ${least}`
      : `a whole number from ${least} to ${most}`,
    holds: (value) =>
      Number.isSafeInteger(value) && Number(value) >= least && Number(value) <= most,
  };
}

const finite = (value: unknown): value is number => Number.isFinite(value);

/** A finite number. */
export const number: Kind = { says: "a number", holds: finite };
/** A number above 0. */
export const positive: Kind = {
  says: "a number above 0",
  holds: (value) => finite(value) && value > 0,
};
/** A number of at least 0. */
export const notNegative: Kind = {
  says: "a number of at least 0",
  holds: (value) => finite(value) && value >= 0,
};
/** A share or a chance, such as a confidence. */
export const share: Kind = {
  says: "a number between 0 and 1",
  holds: (value) => finite(value) && value > 0 && value < 1,
};
/** How often to draw again: fewer draws have no tails to read limits from. */
export const resamples: Kind = {
  says: "0, or a whole number of at least 40",
  holds: (value) => value === 0 || Number.isSafeInteger(value) && Number(value) >= 40,
};
/** How many to show at most. */
export const howMany: Kind = {
  says: "a whole number of at least 1, or Infinity",
  holds: (value) => value === Infinity || Number.isSafeInteger(value) && Number(value) >= 1,
};
/** A seed. */
export const seed: Kind = whole(0);
/** True or false. */
export const flag: Kind = {
  says: "true or false",
  holds: (value) => typeof value === "boolean",
};
/** A text. */
export const text: Kind = { says: "a text", holds: (value) => typeof value === "string" };
/** A function. */
export const call: Kind = { says: "a function", holds: (value) => typeof value === "function" };
/** An object, such as a study's result. */
export const record: Kind = {
  says: "an object",
  holds: (value) => typeof value === "object" && value !== null && !Array.isArray(value),
};
/** Anything but a bare text, number or truth value, where the function itself looks further. */
export const thing: Kind = {
  says: "an object or a list",
  holds: (value) => typeof value === "object" && value !== null || typeof value === "function",
};

function listed(names: readonly string[]): string {
  return names.length === 0 ? "no option" : names.join(", ");
}

function shown(value: unknown): string {
  if (typeof value === "string") return JSON.stringify(value);
  if (Array.isArray(value)) return `a list of ${value.length}`;
  if (typeof value === "function") return "a function";
  return typeof value === "object" && value !== null ? "an object" : String(value);
}
