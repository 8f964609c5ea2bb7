import type { AskedOn } from "../studies/questions/shown_order.ts";
import type { ShortlistCondition } from "../studies/comparison/shortlist_conditions.ts";
import { conditionsOf, exactly, names, number, type Options, price } from "./question_options.ts";
import { CallError } from "./task_calls.ts";

/** Kinds of question about the catalogue as a whole, or about one shoe among all. */
export const moreKinds = [
  "link",
  "best",
  "profile",
  "like",
  "makers",
  "panel",
  "index",
  "drift",
  "sizes",
] as const;

/** What is asked, as typed. */
export type MoreQuestion =
  | { readonly kind: "link"; readonly metric: string; readonly attribute: string }
  | {
    readonly kind: "best";
    /** Null for the index. */
    readonly on: AskedOn | null;
    readonly first: number;
    readonly order: "highest" | "lowest" | null;
    readonly conditions: readonly ShortlistCondition[];
    readonly price_below: number | null;
    readonly played_on: string | null;
  }
  | { readonly kind: "profile" | "index"; readonly shoe: string }
  | {
    readonly kind: "like";
    readonly shoe: string;
    /** Null for all. */
    readonly metrics: readonly string[] | null;
    readonly price_below: number | null;
  }
  | {
    readonly kind: "makers";
    readonly on: AskedOn;
    readonly makers: readonly string[];
    readonly conditions: readonly ShortlistCondition[];
    readonly price_below: number | null;
  }
  | { readonly kind: "panel"; readonly attributes: readonly string[] }
  | { readonly kind: "drift" | "sizes"; readonly metric: string }
  | { readonly kind: "runs"; readonly asked: "short" | "long"; readonly shoes: readonly string[] };

/**
 * What is asked by a question of these kinds?
 *
 * @throws {CallError} when something is missing, is no number, or is one too many
 */
export function readMore(kind: typeof moreKinds[number], options: Options): MoreQuestion {
  switch (kind) {
    case "link":
      return {
        kind,
        metric: exactly(names(options, "metrics"), 1, kind)[0],
        attribute: oneAttribute(options, kind),
      };
    case "best":
      return {
        kind,
        on: askedOn(options, kind),
        first: options.first === undefined ? 1 : places(options.first as string),
        order: options.order === undefined ? null : end(options.order as string),
        conditions: conditionsOf(options),
        price_below: options["price-below"] === undefined ? null : price(options),
        played_on: options["played-on"] === undefined
          ? null
          : (options["played-on"] as string).trim(),
      };
    case "profile":
    case "index":
      return { kind, shoe: oneShoe(options, kind) };
    case "like":
      return {
        kind,
        shoe: oneShoe(options, kind),
        metrics: options.metrics === undefined ? null : names(options, "metrics"),
        price_below: options["price-below"] === undefined ? null : price(options),
      };
    case "makers": {
      const on = askedOn(options, kind);
      if (on !== null) {
        return {
          kind,
          on,
          makers: names(options, "makers"),
          conditions: conditionsOf(options),
          price_below: options["price-below"] === undefined ? null : price(options),
        };
      }
      throw new CallError(
        "--kind makers takes a metric or an impression: --metrics M or --attributes A",
      );
    }
    case "panel":
      return { kind, attributes: names(options, "attributes") };
    case "drift":
    case "sizes":
      return { kind, metric: exactly(names(options, "metrics"), 1, kind)[0] };
  }
}

/**
 * Which shoes run short or long, where that is asked of `fit`?
 *
 * @throws {CallError} on anything but short and long, or with a foot
 */
export function readRuns(options: Options): MoreQuestion {
  const { runs } = options;
  if (runs !== "short" && runs !== "long") {
    throw new CallError(`--runs is short or long, not "${runs}".`);
  }
  const foot = ["foot-length", "foot-width", "least-width-room", "metrics"]
    .find((option) => options[option] !== undefined);
  if (foot === undefined) return { kind: "runs", asked: runs, shoes: names(options, "shoes") };
  throw new CallError(`--runs is about shoes and their labels, so it goes without --${foot}.`);
}

/** What stands for the question in a file's name. */
export function moreWords(question: MoreQuestion): string[] {
  switch (question.kind) {
    case "link":
      return ["link", question.metric, question.attribute];
    case "best":
      return [
        "best",
        onWords(question.on),
        ...(question.first === 1 ? [] : [`first-${question.first}`]),
        ...(question.order === null ? [] : [question.order]),
        ...question.conditions.flatMap(conditionName),
        ...(question.price_below === null ? [] : [`below-${question.price_below}`]),
        ...(question.played_on === null ? [] : [`on-${question.played_on}`]),
      ];
    case "profile":
    case "index":
      return [question.kind, question.shoe];
    case "like":
      return [
        "like",
        question.shoe,
        ...question.metrics ?? [],
        ...(question.price_below === null ? [] : [`below-${question.price_below}`]),
      ];
    case "makers":
      return [
        "makers",
        onWords(question.on),
        ...question.makers,
        ...question.conditions.flatMap(conditionName),
        ...(question.price_below === null ? [] : [`below-${question.price_below}`]),
      ];
    case "panel":
      return ["panel", ...question.attributes];
    case "drift":
    case "sizes":
      return [question.kind, question.metric];
    case "runs":
      return ["fit", `runs-${question.asked}`, ...question.shoes];
  }
}

/** A condition as it stands in a file's name. */
export function conditionName(condition: ShortlistCondition): string[] {
  switch (condition.kind) {
    case "best share":
      return ["best-third", condition.metric];
    case "at most":
    case "at least":
      return [condition.kind.replace(" ", "-"), condition.metric, String(condition.value)];
    case "width":
      return [condition.width];
    case "surface":
      return [condition.surface];
    case "feature":
      return [condition.feature];
    case "price":
      return ["below", String(condition.most)];
  }
}

function onWords(on: AskedOn | null): string {
  return on === null ? "index" : "metric" in on ? on.metric : on.attribute;
}

/** A metric or an impression, or neither. */
function askedOn(options: Options, kind: string): AskedOn | null {
  const [metrics, attributes] = ["metrics", "attributes"].map((option) => names(options, option));
  if (metrics.length + attributes.length > 1) {
    throw new CallError(
      `--kind ${kind} takes one metric or one impression, not ${metrics.length} and ${attributes.length}: --metrics M or --attributes A`,
    );
  }
  return metrics.length === 1
    ? { metric: metrics[0] }
    : attributes.length === 1
    ? { attribute: attributes[0] }
    : null;
}

function oneShoe(options: Options, kind: string): string {
  const shoes = names(options, "shoes");
  if (shoes.length === 1) return shoes[0];
  throw new CallError(`--kind ${kind} takes one shoe, not ${shoes.length}: --shoes shoe-a`);
}

function oneAttribute(options: Options, kind: string): string {
  const attributes = names(options, "attributes");
  if (attributes.length === 1) return attributes[0];
  throw new CallError(
    `--kind ${kind} takes one impression, not ${attributes.length}: --attributes A`,
  );
}

function places(text: string): number {
  const first = number(text, "--first");
  if (Number.isInteger(first) && first >= 1 && first <= 20) return first;
  throw new CallError(`--first takes a whole number of places from 1 to 20, not "${text}".`);
}

function end(text: string): "highest" | "lowest" {
  if (text === "highest" || text === "lowest") return text;
  throw new CallError(`--order is highest or lowest, not "${text}".`);
}
