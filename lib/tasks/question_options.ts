import type { ShortlistCondition } from "../studies/comparison/shortlist_conditions.ts";
import { namesIn } from "../words/names_in.ts";
import { CallError } from "./task_calls.ts";

/** Options as typed. */
export type Options = Readonly<Record<string, string | boolean>>;

/** Every condition that a shoe is to meet. */
export function conditionsOf(options: Options): ShortlistCondition[] {
  const limits = (option: "at-most" | "at-least", kind: "at most" | "at least") =>
    metricNumbers(options[option], `--${option}`)
      .map(([metric, value]): ShortlistCondition => ({ kind, metric, value }));
  const found: ShortlistCondition[] = [
    ...names(options, "best-third").map((metric): ShortlistCondition => ({
      kind: "best share",
      metric,
      share: 1 / 3,
    })),
    ...limits("at-most", "at most"),
    ...limits("at-least", "at least"),
    ...(options.width === undefined
      ? []
      : [{ kind: "width" as const, width: options.width as string }]),
    ...(options.surface === undefined
      ? []
      : [{ kind: "surface" as const, surface: options.surface as string }]),
    ...names(options, "features").map((feature): ShortlistCondition => ({
      kind: "feature",
      feature,
    })),
    // Elsewhere a price is an option of the question's own.
    ...(options.kind === "shortlist" && options["price-below"] !== undefined
      ? [{ kind: "price" as const, most: price(options) }]
      : []),
  ];
  return found;
}

/**
 * A list such as `mass=370,heel-rebound=28`.
 *
 * @throws {CallError} if an entry is no name and number with = between
 */
export function metricNumbers(
  text: string | boolean | undefined,
  option: string,
): [string, number][] {
  if (typeof text !== "string") return [];
  return namesIn(text).map((entry) => {
    const at = entry.lastIndexOf("=");
    if (at < 1) {
      throw new CallError(`${option} takes a metric and a number with = between, not "${entry}".`);
    }
    return [entry.slice(0, at).trim(), number(entry.slice(at + 1), option)];
  });
}

/** @throws {CallError} if it is no price */
export function price(options: Options): number {
  const given = number(options["price-below"] as string, "--price-below");
  if (given > 0) return given;
  throw new CallError(`--price-below takes a price above 0, not "${options["price-below"]}".`);
}

/** @throws {CallError} if it is no number */
export function number(text: string, option: string): number {
  const value = text.trim() === "" ? NaN : Number(text);
  if (Number.isFinite(value)) return value;
  throw new CallError(`${option} takes a number, not "${text}".`);
}

/** A number, or null where the option was left out. */
export function optional(options: Options, option: string): number | null {
  return options[option] === undefined ? null : number(options[option] as string, `--${option}`);
}

/** A list with commas between; empty where the option was left out. */
export function names(options: Options, option: string): string[] {
  return typeof options[option] === "string" ? namesIn(options[option]) : [];
}

/** @throws {CallError} if there are more or fewer metrics */
export function exactly(metrics: readonly string[], many: number, kind: string): string[] {
  if (metrics.length === many) return [...metrics];
  const example = many === 1 ? "M" : "M,N";
  throw new CallError(
    `--kind ${kind} takes ${
      many === 1 ? "one metric" : "two metrics"
    }, not ${metrics.length}: --metrics ${example}`,
  );
}

/** @throws {CallError} if more shoes are to be marked than there are symbols */
export function atMostSix(shoes: readonly string[]): readonly string[] {
  if (shoes.length <= 6) return shoes;
  throw new CallError(`At most six shoes can be marked, not ${shoes.length}.`);
}
