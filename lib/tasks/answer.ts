import { kitWords } from "../words/kit_words.ts";
import { join } from "node:path";
import { type AnswerPictureOptions, answerPictures } from "../charts/answer_picture.ts";
import { chartPng } from "../charts/chart_png.ts";
import { portableSvg } from "../charts/portable_svg.ts";
import type { SvgElement } from "../charts/draw.ts";
import { CantAnswer } from "../records/cant_answer.ts";
import { folderLock } from "../records/folder_lock.ts";
import { ruleInForce } from "../records/selection.ts";
import { writeResult } from "../records/write_result.ts";
import { placeTogether, writeWhole } from "../records/write_whole.ts";
import { resultJson } from "../words/result_json.ts";
import { answerHeadline } from "../words/comparison/headline.ts";
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
    const hash = dataHash(bench);
    const counts = footLine(answer, answer.question === "comparison" ? answer.ratings : 0);
    const foot = `Data ${hash} · ${
      rule === null ? "no index rule" : `rule ${rule.id} ${rule.version}`
    } · ${counts} · Bench to Court ${kitWords(head.made_with)}`;
    const headline = answerHeadline(drawn.answer);
    const pictures = picturesOf(drawn, {
      title: headline,
      alt: answer.alt,
      provenance: counts,
      hash,
      invented: head.invented,
      size,
    });
    const name = answerName(question, size);
    const files: { readonly file: string; readonly content: string | Uint8Array }[] = [];
    for (const [index, picture] of pictures.entries()) {
      const own = index === 0 ? name : `${name}-${index + 1}`;
      files.push({ file: `${own}.png`, content: await chartPng(picture, size) });
      files.push({ file: `${own}.svg`, content: await portableSvg(picture) });
    }
    files.push({ file: `${name}.md`, content: answerReport(answer, { head, foot }) });

    // All are made before the first is written: a wrong call leaves nothing behind.
    const out = await prepareOut(order);
    const made = await resultsFolder(order);
    const result = { ...head, asked: question, size, foot, headline, ...answer };
    await writeResult(made, name, resultJson(result));
    for (const { file, content } of files) await writeWhole(join(made, file), content);
    await using _lock = await folderLock(out, ".write-lock");
    await placeTogether(made, out);
    const written = [`${name}.json`, ...files.map(({ file }) => file)]
      .toSorted().map((file) => shown(order, join(out, file)));
    console.log([...wrapped(answer.sentence), ...writtenLines(written)].join("\n"));
    return 0;
  });
}

function picturesOf(
  { chart, things, pictures = 1 }: DrawnAnswer,
  options: Omit<AnswerPictureOptions, "things">,
): readonly SvgElement[] {
  try {
    return answerPictures(chart, { ...options, things, pictures });
  } catch (error) {
    if (error instanceof CantAnswer) throw new CallError(`${error.message}.`);
    throw error;
  }
}
