import { benchCaution } from "../../metrics/cautions.ts";
import type { DividedOn, PanelDivision } from "../../studies/questions/panel_division.ts";
import type { Told } from "../comparison/told.ts";
import { splitWords } from "../panel/panel_words.ts";
import { counted, listed, midSentence } from "../phrases.ts";

/** What divides the testers, in words. */
export function panelDivisionWords(result: PanelDivision): Told {
  const sentence = divisionSentence(result);
  const { divided, splits, attributes, testers, ratings } = result;
  const lean = attributes.flatMap(({ title, use }) =>
    use.flatMap(({ tester, leniency: { estimate, lower, upper } }) =>
      estimate !== null && lower !== null && upper !== null && (lower > 0 || upper < 0)
        ? `${tester} rates ${midSentence(title)} ${Math.abs(estimate).toFixed(1)} points ${
          estimate > 0 ? "higher" : "lower"
        } than the panel`
        : []
    )
  );
  return {
    sentence,
    alt: `${sentence} Least like chance: ${
      divided.slice(0, 4).map((shoe) =>
        `${shoe.name} on ${midSentence(shoe.title)} from ${shoe.low.toFixed(1)} to ${
          shoe.high.toFixed(1)
        }`
      ).join("; ")
    }.`,
    notes: [
      `${counted(testers, "tester")}, ${
        counted(ratings, "rating")
      }; each tester's leniency is taken out before shoes are looked at.`,
      ...splits.map((split) => `On ${midSentence(split.title)} ${splitWords(split)}.`),
      ...(lean.length === 0 ? [] : [`Leniency: ${listed(lean, 6)}.`]),
      "A trait that goes with a taste among so few testers says little of players at large.",
    ],
    cautions: [benchCaution],
  };
}

/** A shoe that is more than chance apart, or isn't. */
export function dividedWords({ found }: Pick<DividedOn, "found">): string {
  return found ? "divides the panel" : "may be chance";
}

function divisionSentence({ divided, splits, looked_at, attributes }: PanelDivision): string {
  const found = divided.filter((shoe) => shoe.found);
  const where = attributes.length === 1
    ? `on ${midSentence(attributes[0].title)}`
    : `on ${attributes.length} impressions`;
  const shoes = divided.length === 0
    ? `Which shoes divide the panel can't be told ${where}: none has three testers`
    : found.length === 0
    ? `No shoe is shown to divide the panel ${where}`
    : `${listed(found.map(({ name, title }) => `${name} (${midSentence(title)})`), 3)} ${
      found.length === 1 ? "divides" : "divide"
    } the panel more than chance does`;
  const over = splits.map((split) => {
    const trait = split.traits.find((one) => one.found);
    const likes = trait === undefined || trait.effect.estimate === null
      ? ""
      : `: testers with more ${trait.title} like more of it ${
        trait.effect.estimate > 0 ? "better" : "less"
      }`;
    return `${midSentence(split.metric_title)} for ${midSentence(split.title)}${likes}`;
  });
  return over.length === 0
    ? `${shoes}, nor over any test are testers shown to part (${
      counted(looked_at.metrics, "pair")
    } of test and impression looked at).`
    : `${shoes}, but testers part over ${listed(over, 2)}.`.replace(
      found.length > 0 ? ", but" : "\0",
      "; and",
    );
}
