import { sizeCaution } from "../../metrics/cautions.ts";
import type { LabelFit } from "../../studies/questions/label_fit.ts";
import { aboutOf, saidOf, type Told } from "../comparison/told.ts";
import { counted, listed, withSign } from "../phrases.ts";

/** Which shoes run short or long for their label, in words. */
export function labelFitWords(result: LabelFit): Told {
  const { shoes, usual_mm, half_step_mm, without_size } = result;
  const sentence = saidOf(labelSentence(result), result);
  return {
    sentence,
    alt: `${sentence} ${
      shoes.slice(0, 6).map((shoe) => `${shoe.name} ${signedMm(shoe.against_usual_mm)}`).join("; ")
    }.`,
    notes: [
      `Inside length minus the foot that the label means, against the usual shoe here (${
        signedMm(usual_mm)
      }, the median): a gauge reads less than a foot finds, so shoes are held against each other. Nearer than half a size step, ${half_step_mm} mm, is true to the label; intervals of all ${
        counted(shoes.length, "shoe")
      } hold together.`,
      "It is about the size that was benched; another size was not measured.",
      ...(without_size === 0
        ? []
        : [`${counted(without_size, "shoe has", "shoes have")} no size on record.`]),
    ],
    cautions: [sizeCaution],
    ...aboutOf(result),
  };
}

/** A length with its sign. */
export function signedMm(mm: number): string {
  return `${withSign(mm, 1)} mm`;
}

function labelSentence({ shoes, asked, half_step_mm, may_run_so }: LabelFit): string {
  const word = asked === "short" ? "runs short" : "runs long";
  const found = shoes.filter((shoe) => shoe.word === word);
  const limit = `by more than ${half_step_mm} mm against the usual shoe`;
  const open = may_run_so === 0 ? "" : `; for ${may_run_so} it can't be told`;
  const [first] = shoes;
  if (found.length === 0) {
    return `None of ${counted(shoes.length, "shoe")} surely ${word} for its label (${limit}); the ${
      asked === "short" ? "shortest" : "longest"
    } reads ${first.name}, ${signedMm(first.against_usual_mm)}${open}.`;
  }
  return `${
    found.length <= 3
      ? listed(found.map(({ name }) => name))
      : `${found[0].name} and ${found.length - 1} more of ${counted(shoes.length, "shoe")}`
  } ${found.length === 1 ? word : word.replace("runs", "run")} for ${
    found.length === 1 ? "its label" : "their label"
  } (${limit})${open}.`;
}
