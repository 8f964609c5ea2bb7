import type { TestChange } from "../../studies/questions/test_change.ts";
import { answerCautions } from "../comparison/comparison_notes.ts";
import type { Told } from "../comparison/told.ts";
import { rigSentence } from "../drift/drift_sentences.ts";
import { inUnit, valueInUnit } from "../unit_words.ts";
import { counted, listed, midSentence } from "../phrases.ts";

/** Whether a test reads today as it did, in words. */
export function testWords(result: TestChange): Told {
  const { on, rigs, references, tested } = result;
  const sentence = testSentence(result);
  return {
    sentence,
    alt: `${sentence} Change a year on each rig, with its interval.`,
    notes: [
      ...rigs.map(rigSentence),
      `Read on ${
        listed(references.map(({ name }) => name))
      }, benched again and again; claims hold together over ${
        counted(tested, "slope")
      } of all tests.`,
    ],
    cautions: answerCautions([on]),
  };
}

function testSentence({ on, rigs }: TestChange): string {
  const title = midSentence(on.title);
  const claimed = rigs.filter((rig) => rig.claimed);
  const still = rigs.filter(({ verdict }) => verdict === "no drift");
  if (claimed.length > 0) {
    return claimed.map((rig) => rigSentence(rig)).join(" ");
  }
  if (rigs.length > 0 && still.length === rigs.length) {
    return `No: ${title} changes by less than the ${
      inUnit(on.smallest_difference!, { unit: on.unit!, decimals: on.decimals })
    } a year that a player can feel, on ${
      rigs.length === 1 ? "the rig" : rigs.length === 2 ? "both rigs" : `all ${rigs.length} rigs`
    }.`;
  }
  const known = rigs.filter(({ slope }) => slope.estimate !== null && slope.lower !== null);
  if (known.length === 0) {
    return `Can't tell whether ${title} has changed: no rig has enough sessions.`;
  }
  return `No change of ${title} is shown, and none ruled out: ${
    known.map((rig) =>
      `${valueInUnit(rig.slope.lower!, rig, rig.slope)} to ${
        valueInUnit(rig.slope.upper!, rig, rig.slope)
      } a year${rig.rig === null ? "" : ` on ${rig.rig}`}`
    ).join(", ")
  }.`;
}
