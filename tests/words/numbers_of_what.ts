import type { Bench } from "../../lib/records/types.ts";
import { namesOf } from "../../lib/studies/shoes/asked_shoes.ts";
import { midSentence } from "../../lib/words/phrases.ts";
import { namesIn, wordCounts } from "./numbers_in_words.ts";

/** A number of a result, with the shoes and the metrics or impressions whose rows it stands in. */
type PlacedNumber = {
  readonly value: number;
  readonly shoes: readonly string[];
  readonly on: readonly string[];
};

/** What the words of a bench may name: text → id. */
type Names = {
  readonly shoes: ReadonlyMap<string, string>;
  readonly on: ReadonlyMap<string, string>;
  /** Ids that are impressions, not metrics. */
  readonly impressions: ReadonlySet<string>;
  /** Whatever else has digits of its own. */
  readonly others: readonly string[];
};

/** How shoes, metrics and impressions are called in sentences. */
export function namesOfThings(bench: Bench): Names {
  const calls = (title: string) => [
    title,
    title.toLowerCase(),
    title[0].toLowerCase() + title.slice(1),
    midSentence(title),
  ];
  const shoes = new Map<string, string>();
  namesOf(bench.shoes).forEach((name, i) => {
    const { shoe_id, model, edition } = bench.shoes[i];
    shoes.set(name, shoe_id);
    shoes.set(`${model} ${edition ?? ""}`.trim(), shoe_id);
  });
  return {
    shoes,
    on: new Map(
      [...bench.metrics, ...bench.settings.attributes].flatMap(({ id, title }) =>
        calls(title).map((call) => [call, id] as const)
      ),
    ),
    impressions: new Set(bench.settings.attributes.map(({ id }) => id)),
    others: namesIn(bench),
  };
}

/** Every number of a result with the things whose rows it stands in; how long lists are counts as a number too. */
export function placedNumbers(result: unknown): PlacedNumber[] {
  const found: PlacedNumber[] = [];
  const visit = (value: unknown, shoes: readonly string[], on: readonly string[]): void => {
    if (typeof value === "number") found.push({ value, shoes, on });
    else if (Array.isArray(value)) {
      found.push({ value: value.length, shoes, on });
      for (const count of wordCounts(value)) found.push({ value: count, shoes, on });
      for (const member of value) visit(member, shoes, on);
    } else if (typeof value === "object" && value !== null) {
      const text = (key: string) => {
        const of = (value as Record<string, unknown>)[key];
        return typeof of === "string" ? [of] : [];
      };
      const about = (value as { on?: unknown }).on;
      const asked = typeof about === "object" && about !== null
        ? ["metric", "attribute"].flatMap((key) => {
          const of = (about as Record<string, unknown>)[key];
          return typeof of === "string" ? [of] : [];
        })
        : [];
      const here = [...shoes, ...["shoe_id", "a", "b"].flatMap(text)];
      const ons = [...on, ...["metric", "attribute"].flatMap(text), ...asked];
      for (const part of Object.values(value)) visit(part, here, ons);
    }
  };
  visit(result, [], []);
  return found;
}

/** A number itself, as a share in percent, what is left of it, and a count less one. */
function waysToSay(held: number): number[] {
  return [
    held,
    100 * held,
    ...(held >= 0 && held <= 1 ? [100 * (1 - held)] : []),
    ...(Number.isInteger(held) ? [held - 1] : []),
  ];
}

/** Marks of names in a text: characters of no script, so that no digit of a name passes for a number. */
const SHOE = 0xe000;
const ON = 0xe800;

/**
 * Which numbers of a text stand in no row of what their sentence names?
 *
 * A number beside a metric's or an impression's title must come from rows of that metric (of those of the clause,
 * else of the sentence); a number of one shoe's row from the shoe named last before it, or first after it. Rows
 * that name no shoe or metric are anybody's. To the rounding of the text, as a share in percent, or less one.
 */
export function misplacedNumbers(
  text: string,
  result: unknown,
  names: Names,
  also: readonly number[] = [],
): string[] {
  const shoeIds = [...new Set(names.shoes.values())];
  const onIds = [...new Set(names.on.values())];
  const calls = [
    ...[...names.shoes].map(([call, id]) =>
      [call, String.fromCharCode(SHOE + shoeIds.indexOf(id))] as const
    ),
    ...[...names.on].map(([call, id]) =>
      [call, String.fromCharCode(ON + onIds.indexOf(id))] as const
    ),
    ...names.others.filter((call) => !names.shoes.has(call) && !names.on.has(call))
      .map((call) => [call, " "] as const),
  ].toSorted(([a], [b]) => b.length - a.length);
  const marked = calls.reduce((left, [call, mark]) => left.replaceAll(call, mark), text)
    .replace(/\\/g, "").replace(/\d{4}-\d{2}(-\d{2})?|\d{4}Q[1-4]/g, " ");
  const numbers = [
    ...placedNumbers(result),
    ...also.map((value) => ({ value, shoes: [], on: [] })),
  ].filter(({ shoes, on }) =>
    shoes.every((id) => shoeIds.includes(id)) && on.every((id) => onIds.includes(id))
  );
  const idsIn = (part: string, from: number, ids: readonly string[]) =>
    [...part].flatMap((mark) => ids[mark.charCodeAt(0) - from] ?? []);
  return marked.split(/(?<=[.!?])\s+|\n+/).flatMap((sentence) => {
    const sentenceOn = idsIn(sentence, ON, onIds);
    const ofKind = (ids: readonly string[], impression: boolean) =>
      ids.filter((id) => names.impressions.has(id) === impression);
    const sentenceShoes = idsIn(sentence, SHOE, shoeIds);
    return sentence.split(/;/).flatMap((clause) => {
      const own = idsIn(clause, ON, onIds);
      // Of each kind what the clause names, else what the sentence names.
      const on = [true, false].map((impression) =>
        [ofKind(own, impression), ofKind(sentenceOn, impression)]
          .find((ids) => ids.length > 0) ?? []
      );
      const isNamed = (id: string) => {
        const kind = on[names.impressions.has(id) ? 0 : 1];
        return kind.length === 0 || kind.includes(id);
      };
      return [...clause.matchAll(/(?<![\w.])[−-]?\d+(?:\.(\d+))?(?![\w])/g)].flatMap((said) => {
        const value = Math.abs(Number(said[0].replace("−", "-")));
        const within = 0.5 * 10 ** -(said[1]?.length ?? 0) + 1e-9;
        const before = idsIn(clause.slice(0, said.index), SHOE, shoeIds).at(-1);
        const after = idsIn(clause.slice(said.index), SHOE, shoeIds)[0];
        const shoe = before ?? after;
        const may = numbers.filter((number) =>
          number.on.every(isNamed) &&
          (sentenceShoes.length === 0 ||
            (number.shoes.length < 2
              ? number.shoes.every((id) => shoe === undefined || id === shoe)
              : number.shoes.every((id) => sentenceShoes.includes(id))))
        );
        const found = may.some(({ value: held }) =>
          waysToSay(held).some((way) => Math.abs(Math.abs(way) - value) <= within)
        );
        return found ? [] : [
          clause.slice(Math.max(0, said.index - 60), said.index + said[0].length + 20)
            .replace(/[\ue000-\uefff]/g, (mark) => {
              const code = mark.charCodeAt(0);
              return `<${code >= ON ? onIds[code - ON] : shoeIds[code - SHOE]}>`;
            }),
        ];
      });
    });
  });
}
