import { parseArgs } from "node:util";
import { mappingHelp } from "../records/import_mapping_help.ts";
import { DEFAULT_SEED } from "../statistics/default_seeds.ts";

/** One option of a task. */
type TaskOption = {
  readonly about: string;
  readonly value?: string;
  readonly default?: string;
  /** Taken like by every task, but without a bearing on this one, so not listed. */
  readonly idle?: true;
};

/** What a task is for, how it is called, and which folders it touches. */
export type TaskSpec = {
  readonly name: string;
  readonly about: string;
  readonly example: string;
  readonly writes: string;
  readonly options: Readonly<Record<string, TaskOption>>;
  /** Options that name something to read, besides the kit. */
  readonly reads: readonly string[];
  /** The option that names the folder to write. */
  readonly into: string;
  /** Whether it starts the notebook kernel. */
  readonly kernel: boolean;
  /** Whether it starts other tasks of the kit. */
  readonly runs?: boolean;
  /** What exit code 1 says, where it says more than that the data have errors. */
  readonly exit1?: string;
  /** What its input files may hold, for the end of its help. */
  readonly reference?: string;
  /** Whether it writes where Jupyter looks for kernels, and starts a front end. */
  readonly registers?: boolean;
};

const DATA: TaskOption = { about: "bench folder to read", value: "DIR", default: "data-demo" };
const OUT: TaskOption = { about: "folder for the results", value: "DIR", default: "out" };
const SEED: TaskOption = {
  about: "start of every random stream",
  value: "N",
  default: String(DEFAULT_SEED),
};
const COMMON = { data: DATA, out: OUT, seed: SEED };
const IDLE_SEED: TaskOption = { ...SEED, idle: true };

/** Every task that reads or writes a bench, in the order of a season's work. */
export const taskSpecs: readonly TaskSpec[] = [
  {
    name: "start",
    about: "makes a new, empty bench folder with every table's header and a data dictionary",
    example: "deno task start -- --into my-bench",
    writes: "the folder named by --into; nothing in it is ever overwritten",
    options: {
      into: { about: "folder to make", value: "DIR" },
      data: { ...DATA, idle: true },
      out: { ...OUT, idle: true },
      seed: IDLE_SEED,
    },
    reads: ["into"],
    into: "into",
    kernel: false,
  },
  {
    name: "import",
    about: "turns a wide spreadsheet into a bench folder and lists every cell it did not take",
    example: "deno task import -- --from season.xlsx --mapping season.json --out my-bench",
    writes: "the bench tables in --out, import-report.md and import-report.json",
    options: {
      from: { about: "spreadsheet to read (.xlsx or .csv)", value: "FILE" },
      mapping: { about: "what the columns mean; explained below", value: "FILE" },
      suggest: {
        about:
          "write a first mapping, suggested-mapping.json in --out, with the guesses marked, and " +
          "suggested-mapping.html to look it through; import nothing",
      },
      yes: {
        about: "go on where several rows become one shoe and only their readings tell them apart",
      },
      data: { ...DATA, idle: true },
      out: OUT,
      seed: IDLE_SEED,
    },
    reads: ["from", "mapping", "out"],
    into: "out",
    kernel: false,
    exit1:
      "cells could not be read or differ from what stands (the others are in), or the mapping " +
      "has errors (then nothing was written); cells left out by the mapping are no error",
    reference: mappingHelp,
  },
  {
    name: "inspect",
    about: "checks a bench folder and changes nothing in it",
    example: "deno task inspect -- --data my-bench",
    writes: "inspect.json",
    options: { ...COMMON, seed: IDLE_SEED },
    reads: ["data"],
    into: "out",
    kernel: false,
  },
  {
    name: "review",
    about: "the quarterly methodology review",
    example: "deno task review -- --data my-bench --quarter 2026Q3",
    writes: "review-QUARTER.html, .ipynb (executed), .json and figures/",
    options: {
      quarter: { about: "quarter to review; the last with data unless named", value: "2026Q3" },
      since: {
        about: "an earlier review's JSON to hold it against; the quarter before unless named",
        value: "FILE",
      },
      ...COMMON,
    },
    reads: ["data", "since"],
    into: "out",
    kernel: true,
  },
  {
    name: "answer",
    about: "a viewer's question as a plotted comparison",
    example: "deno task answer -- --shoes shoe-a,shoe-b --metrics tilt-slip-dry",
    writes: "answer-….png, .svg, .json and .md",
    options: {
      shoes: {
        about: "two to six shoe ids, comma between; shoes to mark in the other kinds",
        value: "A,B",
      },
      metrics: {
        about: "metric ids, comma between; all unless named, one or two in the other kinds",
        value: "M,N",
      },
      attributes: {
        about: "impressions to compare too, comma between; one in some kinds",
        value: "A,B",
      },
      size: { about: "picture size in pixels", value: "WxH", default: "1920x1080" },
      ground: {
        about: "light, dark, or transparent: a plate to lay over footage",
        value: "GROUND",
        default: "light",
      },
      steps: {
        about: "also the same picture built up in 3 or 4 numbered frames, the headline last",
        value: "N",
      },
      headline: { about: "your own words above the picture, marked as yours", value: "TEXT" },
      kind: {
        about: "comparison; catalogue (all shoes on one metric); pair (two metrics against each " +
          "other); editions (of one shoe's model); shortlist; fit; wear (worn pairs against new); " +
          "link (does a metric mean anything on court); best (first places; the index unless named); " +
          "profile (one shoe); like (shoes nearest to one); makers; panel (what divides testers); " +
          "index (a shoe under every version); drift (has a test changed); sizes (what another size changes)",
        value: "KIND",
        default: "comparison",
      },
      "best-third": {
        about: "shortlist, best, makers: in the best third on these metrics",
        value: "M,N",
      },
      "at-most": {
        about: "shortlist, best, makers: at most so much, in the metric's unit",
        value: "M=370",
      },
      "at-least": {
        about: "shortlist, best, makers: at least so much, in the metric's unit",
        value: "M=28",
      },
      width: { about: "shortlist, best, makers: labelled width", value: "WIDTH" },
      surface: { about: "shortlist, best, makers: court it is sold for", value: "SURFACE" },
      features: {
        about: "shortlist, best, makers: construction features it must have",
        value: "F,G",
      },
      makers: { about: "makers: two or more, comma between; all unless named", value: "A,B" },
      runs: { about: "fit: which shoes run short, or long, for their label", value: "short|long" },
      first: { about: "best: how many places", value: "N" },
      order: { about: "best: highest or lowest, where neither is better", value: "END" },
      "price-below": {
        about: "shortlist, best, makers, like: costs at most so much",
        value: "PRICE",
      },
      "played-on": { about: "best: only ratings given on this court", value: "COURT" },
      "foot-length": { about: "fit: the longer foot's length in mm", value: "MM" },
      "foot-width": { about: "fit: the foot's width in mm", value: "MM" },
      "least-width-room": {
        about: "fit: inside width minus foot width below which a shoe is too narrow, in mm; " +
          "below 0 is usual, so write --least-width-room=-8",
        value: "MM",
      },
      ...COMMON,
    },
    reads: ["data"],
    into: "out",
    kernel: false,
  },
  {
    name: "publish",
    about: "the catalogue as its readers get it: every shoe, what the tests allow to be said of it",
    example: "deno task publish -- --data my-bench --out table",
    writes: "catalogue.html (one file, to put on the web), catalogue.csv, .xlsx and .json",
    options: {
      until: { about: "as it stood on this day; today's data unless named", value: "2026-06-30" },
      rule: { about: "version of the index rule; the one in force unless named", value: "VERSION" },
      ...COMMON,
    },
    reads: ["data"],
    into: "out",
    kernel: false,
  },
  {
    name: "proposal",
    about: "a verdict on a proposed scoring rule, by the criteria written in it",
    example: "deno task proposal -- --proposal weigh-what-players-feel",
    writes: "proposal-ID.html, .ipynb (executed) and .json",
    options: { proposal: { about: "its id, or a path to its file", value: "ID" }, ...COMMON },
    reads: ["data", "proposal"],
    into: "out",
    kernel: true,
  },
  {
    name: "register",
    about:
      "fixes a proposal before its verdict, and gives the code that binds once it is published",
    example: "deno task register -- --data my-bench --proposal more-grip",
    writes: "proposals/NAME.registered.json in the bench folder",
    options: {
      proposal: { about: "its id", value: "ID" },
      data: DATA,
      out: { ...OUT, idle: true },
      seed: IDLE_SEED,
    },
    reads: ["data"],
    into: "data",
    kernel: false,
  },
  {
    name: "decide",
    about:
      "writes a decision down, with its reason, verdict and code; an adopted rule goes into rules/",
    example: 'deno task decide -- --data my-bench --proposal more-grip --because "grip decides"',
    writes: "a row of decisions.csv in the bench folder, and the adopted rule's file",
    options: {
      proposal: { about: "a proposal decided on, by its id", value: "ID" },
      as: {
        about: "adopt or keep; unless named, adopt where the verdict says so, else keep",
        value: "WORD",
      },
      metric: { about: "a metric that is no longer published", value: "ID" },
      correction: {
        about: "a metric that is brought to the level of the reference shoes from now on",
        value: "ID",
      },
      because: { about: "why, in a sentence that others may read", value: "TEXT" },
      data: DATA,
      out: { ...OUT, idle: true },
      seed: SEED,
    },
    reads: ["data"],
    into: "data",
    kernel: false,
  },
  {
    name: "recalibrate",
    about: "new weights for the rule in force, and whether they are worth a change",
    example: "deno task recalibrate -- --data my-bench",
    writes: "recalibration-….html, .ipynb (executed), .json and a draft in proposals/",
    options: COMMON,
    reads: ["data"],
    into: "out",
    kernel: true,
  },
  {
    name: "retest",
    about: "which shoe and metric to bench next",
    example: "deno task retest -- --slots 20",
    writes: "retest.csv and retest.json; with --sheet bench-sheet.html (A4, to print) and " +
      "bench-sheet.csv; with --cards rating-cards.html and rating-cards.csv",
    options: {
      slots: {
        about:
          "how many visits (one shoe, one metric) there is time for; 20 unless --minutes is given",
        value: "N",
      },
      minutes: { about: "bench minutes there are, instead of --slots", value: "N" },
      "minutes-each": {
        about: "minutes of a visit, 10 unless named; one number, or by metric: M=5,N=15",
        value: "N",
      },
      shoes: { about: "only these shoes, comma between", value: "A,B" },
      metrics: {
        about: "only these metrics, comma between; with --shoes each of these on each of those",
        value: "M,N",
      },
      sheet: {
        about: "write a bench sheet, references first and last; deno task enter takes it back",
      },
      last: { about: "print each shoe's last value on the sheet, in grey" },
      cards: { about: "write a rating card for each of these testers", value: "t1,t2" },
      ...COMMON,
    },
    reads: ["data"],
    into: "out",
    kernel: false,
  },
  {
    name: "enter",
    about: "takes a filled bench sheet, or filled rating cards, into the bench",
    example:
      "deno task enter -- --sheet out/bench-sheet.csv --data my-bench --date 2026-07-14 --operator mb",
    writes:
      "with --yes rows of sessions.csv and trials.csv, or of impressions.csv, in --data; without " +
      "it nothing: it shows what would be added and what looks odd",
    options: {
      sheet: { about: "the filled sheet or cards (.csv or .xlsx)", value: "FILE" },
      data: { about: "bench folder that it goes into; no other is written", value: "DIR" },
      date: { about: "day of the session, where the sheet doesn't say it", value: "2026-07-14" },
      operator: { about: "who worked the bench, where the sheet doesn't say it", value: "NAME" },
      rig: { about: "which rig, where there are several", value: "NAME" },
      temperature: { about: "room in °C", value: "N" },
      humidity: { about: "relative humidity in %", value: "N" },
      yes: { about: "add it" },
      out: { ...OUT, idle: true },
      seed: IDLE_SEED,
    },
    reads: ["sheet", "data"],
    into: "data",
    kernel: false,
    exit1: "the sheet or the bench has errors; then nothing was written",
  },
  {
    name: "watch",
    about:
      "makes the review again whenever a table of the bench is saved, and shows errors in the open page",
    example: "deno task watch -- --data my-bench",
    writes: "watch.html, to leave open, and what the review writes",
    options: {
      once: { about: "make it once, and end" },
      ...COMMON,
    },
    reads: ["data"],
    into: "out",
    kernel: false,
    runs: true,
  },
  {
    name: "lab",
    about: "registers the kit's notebook kernel and opens the notebooks where Jupyter is installed",
    example: "deno task lab -- --data my-bench",
    writes: "kernels/bench-to-court/kernel.json in Jupyter's own data folder; cells that you run " +
      "write to --out and nowhere else",
    options: {
      data: { ...DATA, about: "bench folder that cells may read besides the kit" },
      out: { ...OUT, about: "the only folder that cells may write" },
      "register-only": { about: "register the kernel, open nothing" },
    },
    reads: ["data"],
    into: "out",
    kernel: false,
    registers: true,
  },
];

/** A call that was understood. */
export type TaskCall = {
  readonly spec: TaskSpec;
  readonly options: Readonly<Record<string, string | boolean>>;
};

/** Why a call was not understood: words for the person who typed it. */
export class CallError extends Error {}

/**
 * What did the person ask for?
 *
 * @param name the task
 * @param words what stood behind it; a leading `--` is what `deno task NAME -- …` leaves behind
 * @throws {CallError} on an unknown task or option, naming those there are
 */
export function readCall(name: string, words: readonly string[]): TaskCall {
  const spec = taskSpecs.find((task) => task.name === name);
  if (spec === undefined) {
    throw new CallError(
      `There is no task "${name}"; there are ${taskSpecs.map((task) => task.name).join(", ")}.`,
    );
  }
  const args = words[0] === "--" ? words.slice(1) : [...words];
  const parsed = parse(spec, args);
  const defaults = Object.entries(spec.options)
    .filter(([, option]) => option.default !== undefined)
    .map(([option, { default: value }]) => [option, value!]);
  const options: Record<string, string | boolean> = { ...Object.fromEntries(defaults), ...parsed };
  const seed = Number(options.seed ?? 0);
  if (!Number.isSafeInteger(seed) || seed < 0) {
    throw new CallError(`--seed takes a whole number from 0, not "${options.seed}".`);
  }
  return { spec, options };
}

function parse(spec: TaskSpec, args: string[]): Record<string, string | boolean> {
  const options = Object.fromEntries(
    Object.entries(spec.options).map(([name, option]) => [
      name,
      { type: option.value === undefined ? "boolean" as const : "string" as const },
    ]),
  );
  const known = listedOptions(spec).map(([name]) => `--${name}`).join(", ");
  try {
    const { values } = parseArgs({
      args,
      options: { ...options, help: { type: "boolean", short: "h" } },
      strict: true,
      allowPositionals: false,
    });
    return { ...values } as Record<string, string | boolean>;
  } catch (error) {
    const [first] = (error as Error).message.split(/\.\s/);
    const unclear = /^Option '(--[a-z-]+)' argument is ambiguous/.exec(first)?.[1];
    const reason = unclear === undefined
      ? first
      : `${unclear} takes a value; one that begins with a dash is written ${unclear}=-8`;
    throw new CallError(
      `${reason}. "${spec.name}" takes ${known}. For example: ${spec.example}`,
    );
  }
}

/**
 * How is a task called?
 *
 * @returns the help text: purpose, options with defaults, what it writes, an example
 */
export function helpText(spec: TaskSpec): string {
  const left = (name: string, option: TaskOption) =>
    `  --${name}${option.value === undefined ? "" : ` ${option.value}`}`;
  const options = listedOptions(spec);
  const width = Math.max(...options.map(([name, option]) => left(name, option).length)) + 2;
  const rows = options.map(([name, option]) =>
    left(name, option).padEnd(width) + option.about +
    (option.default === undefined ? "" : ` (unless named: ${option.default})`)
  );
  return [
    `deno task ${spec.name}: ${spec.about}.`,
    "",
    ...rows,
    `${"  --help".padEnd(width)}this text`,
    "",
    `Writes ${spec.writes}.`,
    `Example: ${spec.example}`,
    `Exit code 0: done; 1: ${spec.exit1 ?? "the data has errors"}; 2: the call is wrong.`,
    ...(spec.reference === undefined ? [] : ["", spec.reference]),
  ].join("\n");
}

function listedOptions({ options }: TaskSpec): [string, TaskOption][] {
  return Object.entries(options).filter(([, { idle }]) => !idle);
}
