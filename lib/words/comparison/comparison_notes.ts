import { sizeLabel } from "../size_label.ts";
import { benchCaution, sizeCaution, slipCaution } from "../../metrics/cautions.ts";
import type { ComparedOn } from "../../studies/comparison/compared_on.ts";
import type { ComparisonRemark } from "../../studies/comparison/comparison_remarks.ts";
import type { OtherSize } from "../../studies/shoes/other_sizes.ts";
import { inUnit, noiseInUnit } from "../unit_words.ts";
import { sayReason, sayWarning } from "../reasons.ts";
import { asSentence, counted, listed, midSentence } from "../phrases.ts";

/** What a comparison's reader must know besides the numbers, a sentence each. */
export function comparisonNotes(remarks: readonly ComparisonRemark[]): string[] {
  return remarks.map(noteOf);
}

/** Cautions that go with what was compared. */
export function answerCautions(compared: readonly Pick<ComparedOn, "group">[]): string[] {
  const groups = new Set(compared.map(({ group }) => group));
  return [
    ...(groups.has("traction") ? [slipCaution] : [benchCaution]),
    ...(groups.has("fit") ? [sizeCaution] : []),
  ];
}

/** What a pair of another size reads: `in us-men 11.5 321 g (2 trials)`. */
export function otherSizeWords(
  { size, value, readings }: Pick<OtherSize, "size" | "value" | "readings">,
  { unit, decimals }: { readonly unit: string; readonly decimals: number },
): string {
  return `in ${sizeLabel(size)} ${inUnit(value, { unit, decimals })} (${
    counted(readings, "trial")
  })`;
}

function noteOf(remark: ComparisonRemark): string {
  switch (remark.remark) {
    case "size-unknown":
    case "sizes-differ":
    case "other-sizes":
    case "widths-differ":
    case "editions-among":
    case "courts-differ":
      return shoeNote(remark);
    case "sessions-apart":
      return `Some of the shoes never shared a bench session${
        among(remark.titles)
      }; what differs from day to day is in their intervals. Bench days run from ${remark.from} to ${remark.to}.`;
    case "rigs-apart":
      return `Some of the shoes were benched on different rigs only${
        among(remark.titles)
      }; see the drift study for how these compare.`;
    case "method-changed":
      return `${remark.title}: ${
        counted(remark.shoes, "shoe was", "shoes were")
      } read before method version ${remark.method_version} came in on ${remark.introduced}; older and newer readings may not mean the same.`;
    case "retired":
      return `${remark.title} was retired on ${remark.retired}.`;
    case "session-noise-unknown":
      return asSentence(
        `${
          about(remark.titles)
        }the bench can't yet tell how much a shoe changes from session to session (no shoe was read in two), so these intervals hold the scatter of trials alone and are too narrow.`,
      );
    case "one-pair":
      return onePairNote(remark);
    case "no-smallest-difference":
      return asSentence(
        `${
          about(remark.titles)
        }no smallest difference that a player feels is set, so "alike" can't be said.`,
      );
    case "read-once":
      return `${remark.title}: ${listed(remark.shoes)} ${
        remark.shoes.length === 1 ? "was" : "were"
      } read once; the noise is that of the other shoes, and a slip would not show.`;
    case "asked-together":
      return togetherNote(remark);
    case "same-evidence":
      return `${remark.title} is computed from the trials of ${remark.source}: the same evidence twice.`;
    case "not-compared":
      return `${remark.title}: ${sayReason(remark.reason)}.`;
    case "left-out":
      return `Left out, since fewer than two of the shoes were benched on it: ${
        listed(remark.titles)
      }.`;
    case "excluded":
      return `${
        counted(remark.trials, "trial is", "trials are")
      } left out as the bench's records say: ${listed(remark.reasons, 3)}.`;
    default:
      return courtNote(remark);
  }
}

/** What the answer is said of, and up to what scatter of pairs it is true of the models. */
function onePairNote(
  { titles, holds }: Extract<ComparisonRemark, { readonly remark: "one-pair" }>,
): string {
  const said = sayWarning({ code: "said-of-one-pair", titles: titles ?? [] });
  return holds === null
    ? said
    : `${said} The models differ too on ${
      midSentence(holds.title)
    } if pairs of one model scatter by less than ${
      noiseInUnit(holds.below, holds)
    } (standard deviation).`;
}

/** What else was asked makes intervals wider: said, with what a narrower question would settle. */
function togetherNote(
  { comparisons, confidence, narrower }: Extract<
    ComparisonRemark,
    { readonly remark: "asked-together" }
  >,
): string {
  const alone = narrower.slice(0, 4).map(({ title, a, b, word }) =>
    `${a} and ${b} on ${midSentence(title)}: ${word}`
  );
  const more = narrower.length > 4 ? `; and ${narrower.length - 4} more` : "";
  return `${comparisons} comparisons were asked together, so each interval is wide enough for all to hold together (${
    Math.round(100 * confidence)
  }%). ${
    narrower.length === 0
      ? "Asked alone, each would get the same word."
      : `Asked alone: ${alone.join("; ")}${more}.`
  }`;
}

type ShoeCode =
  | "size-unknown"
  | "sizes-differ"
  | "other-sizes"
  | "widths-differ"
  | "editions-among"
  | "courts-differ";

function shoeNote(remark: Extract<ComparisonRemark, { readonly remark: ShoeCode }>): string {
  switch (remark.remark) {
    case "size-unknown":
      return `The size benched is not recorded for ${listed(remark.shoes)}.`;
    case "sizes-differ":
      return `The shoes were benched in different sizes (${
        each(
          remark.sizes.map(({ name, entry }) => ({ name, entry: entry && sizeLabel(entry) })),
          "not recorded",
        )
      }): mass, inside measures and widths grow with the size, and nothing here is corrected for it.`;
    case "other-sizes":
      return `Beside the published size, in no figure with it: ${
        listed(remark.pairs.map(({ name, ...pair }) => `${name} ${otherSizeWords(pair, remark)}`))
      } on ${midSentence(remark.title)}.`;
    case "widths-differ":
      return `Labelled widths differ: ${each(remark.widths, "not labelled")}.`;
    case "editions-among":
      return `${remark.editions} editions of the ${remark.model} are among the shoes; each is a shoe of its own here.`;
    case "courts-differ":
      return `Sold for different courts: ${each(remark.courts, "not named")}.`;
  }
}

type CourtCode =
  | "panel-model"
  | "not-blinded"
  | "courts-of-ratings"
  | "no-smallest-difference-on-court";

function courtNote(remark: Extract<ComparisonRemark, { readonly remark: CourtCode }>): string {
  switch (remark.remark) {
    case "panel-model":
      return `On court all ratings of the panel count, each tester's leniency taken out; ${
        remark.fewest === remark.most
          ? counted(remark.most, "tester")
          : `${remark.fewest} to ${remark.most} testers`
      } wore both shoes of a pair.`;
    case "not-blinded":
      return "Some ratings were given without blinding, or the record doesn't say.";
    case "courts-of-ratings":
      return `Ratings come from different courts: ${listed(remark.courts)}.`;
    case "no-smallest-difference-on-court":
      return `No smallest difference that matters is set for impressions, so "alike" can't be said of them.`;
  }
}

function each(
  entries: readonly { readonly name: string; readonly entry: string | null }[],
  silent: string,
): string {
  return entries.map(({ name, entry }) => `${name} ${entry ?? silent}`).join(", ");
}

/** In brackets, which of what was compared; nothing where it is all of it. */
function among(titles: readonly string[] | null): string {
  return titles === null ? "" : ` (${listed(titles, 4)})`;
}

function about(titles: readonly string[] | null): string {
  return titles === null ? "" : `${listed(titles, 4)}: `;
}
