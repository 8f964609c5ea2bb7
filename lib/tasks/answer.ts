import { stageNotes } from "../words/coverage/stage_words.ts";
import { join } from "node:path";
import { type AnswerPictureOptions, answerPictures } from "../charts/answer_picture.ts";
import { frameSteps } from "../charts/build_up.ts";
import { chartSvg } from "../charts/chart_svg.ts";
import type { SvgElement } from "../charts/draw.ts";
import { logoImage } from "../charts/logo_image.ts";
import { pngPainter } from "../charts/png_painter.ts";
import { portableSvg } from "../charts/portable_svg.ts";
import { seriesColours } from "../charts/theme.ts";
import { filledSeries } from "../colour_sight.ts";
import { CantAnswer } from "../records/cant_answer.ts";
import { folderLock } from "../records/folder_lock.ts";
import { readLogo } from "../records/read_logo.ts";
import { ruleInForce } from "../records/selection.ts";
import type { Bench } from "../records/types.ts";
import { viewerWords } from "../records/viewer_words.ts";
import { writeResult } from "../records/write_result.ts";
import { placeTogether, writeWhole } from "../records/write_whole.ts";
import { dataHash } from "../studies/review/data_hash.ts";
import { provenance } from "../studies/review/provenance.ts";
import { answerHeadline } from "../words/comparison/headline.ts";
import { toldAnswer } from "../words/comparison/tell_answer.ts";
import { kitWords } from "../words/kit_words.ts";
import { resultJson } from "../words/result_json.ts";
import {
  answerName,
  type PictureStyle,
  type Question,
  readQuestion,
  readSize,
  readStyle,
} from "./answer_call.ts";
import { answerQuestion } from "./answer_question.ts";
import type { DrawnAnswer } from "./drawn_answer.ts";
import { answerReport, footLine } from "./answer_report.ts";
import { wrapped, writtenLines } from "./closing_summary.ts";
import { loadForTask } from "./load_for_task.ts";
import { namedQuestion } from "./named_question.ts";
import { CallError } from "./task_calls.ts";
import { prepareOut, resultsFolder, runTask, shown } from "./task_order.ts";
import { sayWarning } from "../words/reasons.ts";

/** `deno task answer`: a viewer's question as a picture, with the figures and the words beside it. */
if (import.meta.main) {
  await runTask(async (order) => {
    const asked = readQuestion(order.options);
    const size = readSize(order.options.size as string);
    const style = readStyle(order.options);
    const painter = pngPainter();
    const seed = Number(order.options.seed);
    const loaded = await loadForTask(order);
    const bench = viewerWords(loaded);
    const question = namedEither([loaded, bench], asked);
    const drawn = answerQuestion(bench, question, seed);
    const answer = toldAnswer(drawn.answer);
    const today = bench.sessions.map(({ date }) => date).sort().at(-1) ?? "9999-12-31";
    const rule = ruleInForce(bench, today);
    const head = provenance(bench, {
      kind: "answer",
      seed,
      warnings: [
        ...stageNotes(bench, "answer", comparedMetrics(drawn.answer)),
        ...answer.warnings.map(sayWarning),
      ],
    });
    const hash = dataHash(bench);
    const counts = footLine(answer, "ratings" in answer ? answer.ratings : 0);
    const foot = `Data ${hash} · ${
      rule === null ? "no index rule" : `rule ${rule.id} ${rule.version}`
    } · ${counts} · Bench to Court ${kitWords(head.made_with)}`;
    const headline = {
      headline: style.headline ?? answerHeadline(drawn.answer),
      headline_by: style.headline === null ? "kit" as const : "author" as const,
    };
    const name = answerName(question, size, style.ground);
    const files: { readonly file: string; readonly content: string | Uint8Array }[] = [];
    const painted: { readonly file: string; readonly content: Promise<Uint8Array> }[] = [];
    for (
      const { ending, picture } of await pictures(drawn, {
        bench,
        style,
        options: {
          title: headline.headline,
          alt: answer.alt,
          provenance: counts,
          hash,
          invented: head.invented,
          size,
        },
      })
    ) {
      painted.push({
        file: `${name}${ending}.png`,
        content: painter.paint(chartSvg(picture), size),
      });
      files.push({ file: `${name}${ending}.svg`, content: await portableSvg(picture) });
    }
    files.push({ file: `${name}.md`, content: answerReport(answer, { head, foot, ...headline }) });
    for (const { file, content } of painted) files.push({ file, content: await content });
    painter.end();

    // All are made before the first is written: a wrong call leaves nothing behind.
    const out = await prepareOut(order);
    const made = await resultsFolder(order);
    const result = {
      ...head,
      asked: question,
      size,
      foot,
      ...headline,
      ...answer,
      warnings: head.warnings,
    };
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

/** Metrics on which an answer could name a best. */
function comparedMetrics(answer: DrawnAnswer["answer"]): string[] {
  switch (answer.question) {
    case "comparison":
      return answer.compared_on.flatMap(({ metric }) => metric ?? []);
    case "catalogue":
    case "editions":
    case "makers":
      return answer.on.metric === null ? [] : [answer.on.metric];
    default:
      return [];
  }
}

/** By the bench's own titles, or else by what viewers call things. */
function namedEither([own, viewers]: readonly [Bench, Bench], asked: Question): Question {
  try {
    return namedQuestion(own, asked);
  } catch (error) {
    if (!(error instanceof CallError) || own === viewers) throw error;
    return namedQuestion(viewers, asked);
  }
}

/** Every picture of an answer with the ending of its name: the whole ones, and the frames of the first. */
async function pictures(
  drawn: DrawnAnswer,
  { bench, style: { ground, frames }, options }: {
    readonly bench: Bench;
    readonly style: PictureStyle;
    readonly options: Omit<
      AnswerPictureOptions,
      "things" | "breaks" | "ground" | "series" | "sender"
    >;
  },
): Promise<readonly { readonly ending: string; readonly picture: SvgElement }[]> {
  try {
    const look = bench.settings.look ?? null;
    const logo = await readLogo(bench);
    const all: AnswerPictureOptions & { readonly pictures: number } = {
      ...options,
      things: drawn.things,
      breaks: drawn.breaks,
      pictures: drawn.pictures ?? 1,
      ground,
      ...(look === null ? {} : {
        sender: { name: look.name, logo: logo === null ? null : await logoImage(logo) },
      }),
      // A sender's colours are checked on the light ground.
      ...(look === null || look.colours.length === 0 || ground !== "light"
        ? {}
        : { series: filledSeries(look.colours, seriesColours) }),
    };
    const whole = answerPictures(drawn.chart, all)
      .map((picture, index) => ({ ending: index === 0 ? "" : `-${index + 1}`, picture }));
    const steps = frames === 1 ? [] : frameSteps(frames).map((upTo, index) => ({
      ending: `-step-${index + 1}`,
      picture: answerPictures(drawn.chart, { ...all, pictures: 1, upTo })[0],
    }));
    return [...whole, ...steps];
  } catch (error) {
    if (error instanceof CantAnswer) throw new CallError(`${error.message}.`.replace("..", "."));
    throw error;
  }
}
