import { kitWords } from "../words/kit_words.ts";
import { join } from "node:path";
import { answerPicture } from "../charts/answer_picture.ts";
import { chartPng } from "../charts/chart_png.ts";
import { portableSvg } from "../charts/portable_svg.ts";
import type { SvgElement } from "../charts/draw.ts";
import { CantAnswer } from "../records/cant_answer.ts";
import { folderLock } from "../records/folder_lock.ts";
import { ruleInForce } from "../records/selection.ts";
import { writeResult } from "../records/write_result.ts";
import { placeTogether, writeWhole } from "../records/write_whole.ts";
import { resultJson } from "../words/result_json.ts";
import type { Told } from "../words/comparison/told.ts";
import { toldAnswer } from "../words/comparison/tell_answer.ts";
import { dataHash } from "../studies/review/data_hash.ts";
import { provenance } from "../studies/review/provenance.ts";
import { answerName, readQuestion, readSize } from "./answer_call.ts";
import { answerQuestion, type DrawnAnswer } from "./answer_question.ts";
import { answerReport, footLine } from "./answer_report.ts";
import { loadForTask } from "./load_for_task.ts";
import { wrapped, writtenLines } from "./closing_summary.ts";
import { CallError } from "./task_calls.ts";
import { namedQuestion } from "./named_question.ts";
import { prepareOut, resultsFolder, runTask, shown } from "./task_order.ts";

/** `deno task answer`: a viewer's question as a picture, with the figures and the words beside it. */
if (import.meta.main) {
  await runTask(async (order) => {
    const asked = readQuestion(order.options);
    const size = readSize(order.options.size as string);
    const seed = Number(order.options.seed);
    const bench = await loadForTask(order);
    const question = namedQuestion(bench, asked);
    const drawn = answerQuestion(bench, question, seed);
    const answer = toldAnswer(drawn.answer);
    const today = bench.sessions.map(({ date }) => date).sort().at(-1) ?? "9999-12-31";
    const rule = ruleInForce(bench, today);
    const head = provenance(bench, { kind: "answer", seed, warnings: answer.warnings });
    const foot = footLine(answer, {
      hash: dataHash(bench),
      rule: rule === null ? "no index rule" : `rule ${rule.id} ${rule.version}`,
      kit: kitWords(head.made_with),
      ratings: answer.question === "comparison" ? answer.ratings : 0,
    });
    const picture = pictureOf(drawn, { answer, foot, invented: head.invented, size });
    const [png, svg] = [await chartPng(picture, size), await portableSvg(picture)];
    const report = answerReport(answer, { head, foot });

    // All four are made before the first is written: a wrong call leaves nothing behind.
    const out = await prepareOut(order);
    const name = answerName(question, size);
    const made = await resultsFolder(order);
    await writeResult(made, name, resultJson({ ...head, asked: question, size, foot, ...answer }));
    await writeWhole(join(made, `${name}.png`), png);
    await writeWhole(join(made, `${name}.svg`), svg);
    await writeWhole(join(made, `${name}.md`), report);
    await using _lock = await folderLock(out, ".write-lock");
    await placeTogether(made, out);
    const written = [".png", ".svg", ".json", ".md"].map((ending) =>
      shown(order, join(out, name + ending))
    );
    console.log([...wrapped(answer.sentence), ...writtenLines(written)].join("\n"));
    return 0;
  });
}

function pictureOf(
  { chart, things }: DrawnAnswer,
  { answer, foot, invented, size }: {
    readonly answer: Told;
    readonly foot: string;
    readonly invented: boolean;
    readonly size: { readonly width: number; readonly height: number };
  },
): SvgElement {
  try {
    return answerPicture(chart, {
      title: answer.sentence,
      alt: answer.alt,
      provenance: foot,
      invented,
      size,
      things,
    });
  } catch (error) {
    if (error instanceof CantAnswer) throw new CallError(`${error.message}.`);
    throw error;
  }
}
