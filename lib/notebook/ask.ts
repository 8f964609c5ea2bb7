import { drawNothing, type SvgElement } from "../charts/draw.ts";
import { CantAnswer } from "../records/cant_answer.ts";
import { sayCantAnswer } from "../words/cant_answer_words.ts";
import { inertText } from "../words/summary_words.ts";
import { type ChartSize, type Showable, showChart, showMarkdown } from "./in_cell.ts";

/** An answer, or in plain words what the bench lacks for one. */
export type Asked<T> = {
  /** Null where the bench can't answer. */
  readonly answer: T | null;
  /** Why not, for a reader. */
  readonly reason: string | null;
  /** Whether another name, or one more row of the bench, would help. */
  readonly unnamed?: boolean;
};

/** Lacks that another name in the first cell, or one more table, would make up for. */
const NAMED = ["not-on-bench", "not-measured", "asked-count", "asked-twice"];

/**
 * What does a question come to on a bench that may lack what it asks for?
 *
 * A question about a shoe or a metric that a bench has not got throws a `CantAnswer` which says so. In a
 * notebook that would stop every cell below; asked this way, the cell says it in words and the next
 * question gets its turn. Any other error is a fault and is thrown on.
 *
 * @param question such as `() => metricPair(bench, …)`
 */
export async function ask<T>(question: () => T | Promise<T>): Promise<Asked<T>> {
  try {
    return { answer: await question(), reason: null };
  } catch (error) {
    if (!(error instanceof CantAnswer)) throw error;
    const unnamed = NAMED.includes(error.reason.code);
    return { answer: null, reason: sayCantAnswer(error), ...(unnamed ? { unnamed } : {}) };
  }
}

/**
 * What follows from an answer? Without one, nothing is asked, and the reason stays.
 *
 * @param next what to ask of the answer, such as `(found) => writeResult(out, "found", found)`
 */
export async function askNext<T, U>(
  { answer, ...lack }: Asked<T>,
  next: (answer: T) => U | Promise<U>,
): Promise<Asked<U>> {
  return answer === null ? { answer: null, ...lack } : await ask(() => next(answer));
}

/**
 * Shows an answer in a cell, or says why there is none.
 *
 * @param asked as `ask` gives it
 * @param show what to make of an answer, such as `(pair) => showTable(pairRows(pair))`; Markdown if it is a text
 */
export function showAnswer<T>(
  { answer, reason, unnamed }: Asked<T>,
  show: (answer: T) => Showable | string,
): Showable {
  return answer === null
    ? showMarkdown(
      `**Can't answer this.** ${inertText(full(reason ?? ""))}${
        unnamed === true
          ? " Name in the first cell what this bench has, or add it to the bench."
          : ""
      }`,
    )
    : showable(show(answer));
}

/**
 * Shows more of an answer whose first cell is above, such as its table: without an answer only that there is
 * no more, since the reason was said.
 *
 * @param show as for `showAnswer`
 */
export function showMore<T>(
  { answer }: Asked<T>,
  show: (answer: T) => Showable | string,
): Showable {
  return answer === null ? showMarkdown("_No more without an answer._") : showable(show(answer));
}

function showable(shown: Showable | string): Showable {
  return typeof shown === "string" ? showMarkdown(shown) : shown;
}

/**
 * Shows an answer's chart in a cell; without an answer a card that says that there is nothing to draw.
 *
 * @param draw the chart of an answer in a given size, such as `(pair, size) => metricPairChart(pair, size)`
 */
export function showAnswerChart<T>(
  { answer }: Asked<T>,
  draw: (answer: T, size: ChartSize) => SvgElement,
): Showable {
  return showChart((size) =>
    answer === null
      ? drawNothing("Nothing to draw: the question above has no answer on this bench.", size)
      : draw(answer, size)
  );
}

function full(reason: string): string {
  return /[.!?]$/.test(reason) ? reason : `${reason}.`;
}
