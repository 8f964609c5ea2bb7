import type { MakerStanding } from "../../studies/questions/maker_standing.ts";
import { measured } from "../comparison/answer_words.ts";
import { answerCautions } from "../comparison/comparison_notes.ts";
import type { Told } from "../comparison/told.ts";
import { counted, listed, midSentence } from "../phrases.ts";
import { boundedNotes } from "./bounded_words.ts";
import { choiceWords } from "./choice_words.ts";

/** How makers differ, in words. */
export function makerWords(result: MakerStanding): Told {
  const sentence = makerSentence(result);
  const { makers, on, line_sd, courts, pairs, confidence } = result;
  const single = makers.filter(({ lines }) => lines === 1);
  return {
    sentence,
    alt: `${sentence} ${
      makers.map(({ maker, value, lines }) =>
        `${maker} ${measured(value.estimate!, on, value)}, ${counted(lines, "line")}`
      ).join("; ")
    }.`,
    notes: [
      "The unit is the line: editions of one resemble each other, so they count as one.",
      ...(line_sd === null ? [] : [
        `Lines of one maker scatter by ${
          measured(line_sd, on, line_sd)
        } (standard deviation): a maker's next shoe may lie anywhere in that.`,
      ]),
      ...(pairs.length > 1 && pairs.some(({ difference }) => difference.lower !== null)
        ? [
          `Intervals of all ${pairs.length} differences hold together at ${
            Math.round(100 * confidence)
          }%.`,
        ]
        : []),
      ...(single.length === 0 || single.length === makers.length ? [] : [
        `${listed(single.map(({ maker }) => maker))} ${
          single.length === 1 ? "has" : "have"
        } one line, and the scatter of the other makers' lines.`,
      ]),
      ...boundedNotes(result.bounded, "they are in no maker's mean"),
      ...(result.open === 0 ? [] : [
        `Of ${
          counted(result.open, "other shoe")
        } it can't be told whether what is asked is met; left out.`,
      ]),
      ...(result.price_below === null ? [] : ["Prices are those on record, which may have moved."]),
      ...(courts > 1
        ? [
          "Shoes for different courts are mixed here; makers may differ in the courts they make for.",
        ]
        : []),
    ],
    cautions: answerCautions([on]),
  };
}

function makerSentence({ makers, pairs, on, line_sd, ...choice }: MakerStanding): string {
  const limits = choiceWords(choice);
  const title = `${midSentence(on.title)}${
    limits.length === 0 ? "" : ` among shoes ${limits.join(", ")}`
  }`;
  if (line_sd === null || pairs[0].difference.estimate === null) {
    return `Whether makers differ on ${title} can't be told: each of ${
      counted(makers.length, "maker")
    } has one line.`;
  }
  const differ = pairs.filter(({ word }) => word === "differ");
  if (pairs.length === 1) {
    const [{ a, b, difference, word }] = pairs;
    const [first, second] = makers;
    // The figure is told without its sign, so its limits turn with it.
    const way = difference.estimate! < 0 ? -1 : 1;
    const limits = [way * difference.lower!, way * difference.upper!].toSorted((a, b) => a - b);
    const figures = `${measured(way * difference.estimate!, on, difference)} (${
      limits.map((limit) => measured(limit, on, difference)).join(" to ")
    }), ${counted(first.lines, "line")} against ${second.lines}`;
    return word === "differ"
      ? `Lines of ${a} read ${
        on.better === "none" || on.better === "target" ? "higher" : "better"
      } than those of ${b} on ${title}: by ${figures}.`
      : `Can't tell ${a} from ${b} on ${title}: their lines differ by ${figures}.`;
  }
  return differ.length === 0
    ? `No two of ${makers.length} makers can be told apart on ${title}.`
    : `On ${title} ${listed(differ.map(({ a, b }) => `${a} is told from ${b}`), 3)}; ${
      counted(pairs.length - differ.length, "other pair")
    } of makers can't be told apart.`;
}
