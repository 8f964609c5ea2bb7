import type { Bench } from "../../records/types.ts";
import { listed } from "../phrases.ts";
import { markdownList } from "../summary_words.ts";
import { type BenchStage, benchStage } from "../../studies/coverage/bench_stage.ts";

/** The tasks that say what a young bench can answer. */
export type StagedTask = "answer" | "review" | "retest" | "recalibrate" | "proposal" | "publish";

/**
 * What can a task answer from a bench that is not complete yet, what not, and what is the cheapest way on?
 *
 * @returns nothing on a bench whose metrics were read more than once, on several shoes, and rated; else
 * at most two sentences for each thing that the task lacks
 */
export function stageSentences(stage: BenchStage, task: StagedTask): string[] {
  const { read, metrics, single, attributes, ratings, undirected, one_day } = stage;
  const said: string[] = [];
  if (read === 1) {
    said.push(
      "One shoe has been read: its figures stand, but there is nothing to compare them with. Read a second " +
        "shoe on the same metrics.",
    );
  }
  if (single.length > 0 && read > 1) {
    const all = single.length === metrics.length ? "Every metric" : list(single);
    const was = single.length === metrics.length || single.length === 1 ? "was" : "were";
    said.push(
      `${all} ${was} read once a shoe and visit, so how far a reading can be trusted is not known: an order ` +
        `can be shown, but no difference and no place told from chance. Three readings each of five shoes give ` +
        `you the noise of a test: deno task retest -- --sheet plans it.`,
    );
  } else if (
    one_day.length === metrics.length && metrics.length > 0 && read > 1 && task === "review"
  ) {
    said.push(
      "No shoe was benched on two days, so what changes from day to day is not known and the limits are too " +
        "narrow. Bench five shoes once more on another day.",
    );
  }
  if (ratings === 0 && ["review", "recalibrate", "proposal"].includes(task)) {
    said.push(
      "Nobody has rated a shoe yet: nothing can be said of which test tells how a shoe plays, or of the " +
        `weights of an index. ${
          attributes === 0 ? 'Say in "attributes" of bench.json what they are asked. ' : ""
        }Two friends rating the same eight shoes are a start: deno task retest -- --cards t1,t2.`,
    );
  }
  if (undirected.length > 0 && ["answer", "publish"].includes(task)) {
    const one = undirected.length === 1;
    said.push(
      `Nobody has said whether more or less of ${
        list(undirected)
      } is better, so no best is named on ` +
        `${one ? "it" : "them"}. Write "better" in metrics.json.`,
    );
  }
  return said;
}

/**
 * The same for a bench, to stand among the warnings of a result.
 *
 * @param metrics ids that the result is about; all of the bench's unless given
 */
export function stageNotes(bench: Bench, task: StagedTask, metrics?: readonly string[]): string[] {
  const stage = benchStage(bench);
  if (metrics === undefined) return stageSentences(stage, task);
  const of = (ids: readonly string[]) => ids.filter((id) => metrics.includes(id));
  return stageSentences({ ...stage, undirected: of(stage.undirected) }, task);
}

/**
 * What a young bench can't say yet, to stand before what it can: a heading and a list in Markdown.
 *
 * @returns empty for a bench that lacks nothing the task asks for
 */
export function stageMarkdown(bench: Bench, task: StagedTask): string {
  const notes = stageNotes(bench, task);
  return notes.length === 0 ? "" : `## What this bench can't say yet\n\n${markdownList(notes)}\n\n`;
}

function list(names: readonly string[]): string {
  return listed(names, 4);
}
