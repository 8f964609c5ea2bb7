import { createHash } from "node:crypto";
import type { PictureGround } from "../charts/picture_ground.ts";
import type { ShortlistCondition } from "../studies/comparison/shortlist_conditions.ts";
import {
  atMostSix,
  conditionsOf,
  exactly,
  names,
  number,
  optional,
  type Options,
} from "./question_options.ts";
import {
  conditionName,
  moreKinds,
  type MoreQuestion,
  moreWords,
  readMore,
  readRuns,
} from "./question_readers.ts";
import { CallError } from "./task_calls.ts";

/** The kinds of question a viewer asks. */
const questionKinds = [
  "comparison",
  "catalogue",
  "pair",
  "editions",
  "shortlist",
  "fit",
  "wear",
  ...moreKinds,
] as const;

/** What is asked, as typed. */
export type Question =
  | MoreQuestion
  | {
    readonly kind: "comparison";
    readonly shoes: readonly string[];
    /** Null for all. */
    readonly metrics: readonly string[] | null;
    readonly attributes: readonly string[];
  }
  | { readonly kind: "catalogue"; readonly metric: string; readonly shoes: readonly string[] }
  | {
    readonly kind: "pair";
    readonly metrics: readonly [string, string];
    readonly shoes: readonly string[];
  }
  | { readonly kind: "editions"; readonly shoe: string; readonly metric: string }
  | { readonly kind: "wear"; readonly metric: string; readonly shoes: readonly string[] }
  | { readonly kind: "shortlist"; readonly conditions: readonly ShortlistCondition[] }
  | {
    readonly kind: "fit";
    readonly foot_length_mm: number;
    readonly foot_width_mm: number | null;
    readonly least_width_room_mm: number | null;
    readonly shoes: readonly string[];
    /** Ids of inside length and inside width; null for `inside-length` and `inside-width`. */
    readonly metrics: readonly [string, string] | null;
  };

/** A picture's size in pixels. */
type PictureSize = { readonly width: number; readonly height: number };

/** Options that belong to some kinds only. */
const belongs: Readonly<Record<string, readonly typeof questionKinds[number][]>> = {
  attributes: ["comparison", "link", "best", "makers", "panel"],
  makers: ["makers"],
  runs: ["fit"],
  shoes: [
    "comparison",
    "catalogue",
    "pair",
    "editions",
    "fit",
    "wear",
    "profile",
    "like",
    "index",
  ],
  metrics: [
    "comparison",
    "catalogue",
    "pair",
    "editions",
    "fit",
    "wear",
    "link",
    "best",
    "like",
    "makers",
    "drift",
    "sizes",
  ],
  "best-third": ["shortlist", "best", "makers"],
  "at-most": ["shortlist", "best", "makers"],
  "at-least": ["shortlist", "best", "makers"],
  width: ["shortlist", "best", "makers"],
  surface: ["shortlist", "best", "makers"],
  features: ["shortlist", "best", "makers"],
  first: ["best"],
  order: ["best"],
  "price-below": ["best", "makers", "shortlist", "like"],
  "played-on": ["best"],
  "foot-length": ["fit"],
  "foot-width": ["fit"],
  "least-width-room": ["fit"],
};

/**
 * What is asked?
 *
 * @throws {CallError} when something is missing, is no number, or belongs to another kind of question
 */
export function readQuestion(options: Options): Question {
  const kind = options.kind as typeof questionKinds[number];
  if (!questionKinds.includes(kind)) {
    throw new CallError(`--kind is ${questionKinds.join(", ")}, not "${options.kind}".`);
  }
  for (const [option, kinds] of Object.entries(belongs)) {
    if (options[option] !== undefined && !kinds.includes(kind)) {
      throw new CallError(`--${option} belongs to --kind ${kinds.join(" or ")}, not to ${kind}.`);
    }
  }
  const shoes = names(options, "shoes");
  const metrics = names(options, "metrics");
  switch (kind) {
    case "comparison":
      if (shoes.length < 2) {
        throw new CallError(
          `A comparison takes two to six shoes, ${
            shoes.length === 0 ? "and none was named" : `and only ${shoes[0]} was named`
          }: --shoes shoe-a,shoe-b. To see one shoe among all, add --kind catalogue --metrics M.`,
        );
      }
      return {
        kind,
        shoes,
        metrics: options.metrics === undefined ? null : metrics,
        attributes: names(options, "attributes"),
      };
    case "catalogue":
      return { kind, metric: exactly(metrics, 1, kind)[0], shoes: atMostSix(shoes) };
    case "wear":
      return { kind, metric: exactly(metrics, 1, kind)[0], shoes };
    case "pair": {
      const [across, up] = exactly(metrics, 2, kind);
      return { kind, metrics: [across, up], shoes: atMostSix(shoes) };
    }
    case "editions":
      if (shoes.length !== 1) {
        throw new CallError(
          "--kind editions takes one shoe, any edition of the model: --shoes shoe-a",
        );
      }
      return { kind, shoe: shoes[0], metric: exactly(metrics, 1, kind)[0] };
    case "shortlist":
      return { kind, conditions: someConditions(options) };
    case "fit": {
      if (options.runs !== undefined) return readRuns(options);
      if (options["foot-length"] === undefined) {
        throw new CallError("--kind fit takes the foot's length in mm: --foot-length 272");
      }
      return {
        kind,
        foot_length_mm: number(options["foot-length"] as string, "--foot-length"),
        foot_width_mm: optional(options, "foot-width"),
        least_width_room_mm: optional(options, "least-width-room"),
        shoes,
        metrics: options.metrics === undefined
          ? null
          : exactly(metrics, 2, kind) as unknown as [string, string],
      };
    }
    default:
      return readMore(kind, options);
  }
}

/**
 * How large is the picture to be?
 *
 * @throws {CallError} if it is not two whole numbers with an x between, or can't be drawn or read
 */
export function readSize(text: string): PictureSize {
  const found = /^(\d{1,5})x(\d{1,5})$/i.exec(text.trim());
  const [width, height] = found === null ? [0, 0] : [Number(found[1]), Number(found[2])];
  const fits = Math.min(width, height) >= 480 && Math.max(width, height) <= 4096 &&
    Math.max(width, height) <= 3 * Math.min(width, height);
  if (fits) return { width, height };
  throw new CallError(
    `--size takes width x height in pixels, from 480 to 4096 and at most 3 to 1, such as 1920x1080, 1080x1080 or 1080x1920, not "${text}".`,
  );
}

/** How a picture is to look, whatever it answers. */
export type PictureStyle = {
  readonly ground: PictureGround;
  /** Frames that it is built up in; 1 for the whole alone. */
  readonly frames: number;
  /** The author's own headline; null for the kit's. */
  readonly headline: string | null;
};

/**
 * How is the picture to look?
 *
 * @throws {CallError} on a ground or a number of frames that there is none of, or an empty headline
 */
export function readStyle(options: Options): PictureStyle {
  const grounds: readonly PictureGround[] = ["light", "dark", "transparent"];
  const ground = grounds.find((own) => own === options.ground);
  if (ground === undefined) {
    throw new CallError(`--ground is ${grounds.join(", ")}, not "${options.ground}".`);
  }
  const frames = options.steps === undefined ? 1 : Number(options.steps);
  if (![1, 3, 4].includes(frames)) {
    throw new CallError(`--steps takes 3 or 4, not "${options.steps}".`);
  }
  if (options.headline === undefined) return { ground, frames, headline: null };
  const headline = String(options.headline).replace(/\s+/g, " ").trim();
  if (headline === "" || headline.length > 160) {
    throw new CallError("--headline takes a sentence of up to 160 characters.");
  }
  return { ground, frames, headline };
}

/**
 * What are an answer's files called, without the ending?
 *
 * From what was asked and nothing else; where that would be too long, or not safe as a name, its end is
 * replaced by a few letters that stand for the whole question.
 */
export function answerName(
  question: Question,
  { width, height }: PictureSize,
  ground: PictureGround = "light",
): string {
  const size = width === 1920 && height === 1080 ? [] : [`${width}x${height}`];
  const parts = [...wordsOf(question), ...size, ...(ground === "light" ? [] : [ground])];
  const whole = `answer-${parts.join("-")}`;
  const safe = whole.replace(/[^A-Za-z0-9.-]+/g, "-");
  if (safe === whole && safe.length <= 100) return safe;
  const digest = createHash("sha256").update(
    JSON.stringify([question, width, height, ...(ground === "light" ? [] : [ground])]),
  ).digest(
    "hex",
  );
  return `${safe.slice(0, 80).replace(/[-.]+$/, "")}-${digest.slice(0, 8)}`;
}

function wordsOf(question: Question): string[] {
  switch (question.kind) {
    case "comparison":
      return [
        question.shoes.join("-vs-"),
        ...(question.metrics === null ? [] : question.metrics),
        ...question.attributes,
      ];
    case "catalogue":
      return ["catalogue", question.metric, ...question.shoes];
    case "wear":
      return ["wear", question.metric, ...question.shoes];
    case "pair":
      return ["pair", ...question.metrics, ...question.shoes];
    case "editions":
      return ["editions", question.shoe, question.metric];
    case "shortlist":
      return ["shortlist", ...question.conditions.flatMap(conditionName)];
    case "fit":
      return [
        "fit",
        String(question.foot_length_mm),
        ...(question.foot_width_mm === null ? [] : [`by-${question.foot_width_mm}`]),
        ...(question.least_width_room_mm === null ? [] : [`room-${question.least_width_room_mm}`]),
        ...(question.metrics ?? []),
        ...question.shoes,
      ];
    default:
      return moreWords(question);
  }
}

function someConditions(options: Options): ShortlistCondition[] {
  const found = conditionsOf(options);
  if (found.length > 0) return found;
  throw new CallError(
    "--kind shortlist takes at least one of --best-third, --at-most, --at-least, --width, --surface, --features, --price-below. For example: --best-third tilt-slip-dry --at-most mass=370 --width wide",
  );
}
