import { isGiven } from "../../records/not_given.ts";
import type { PredictionPair } from "../../studies/prediction/types.ts";
import { type ClaimDoubt, doubts } from "../../studies/prediction/prediction_claim.ts";
import { sayReason } from "../reasons.ts";
import { counted, listed, pText, shoesText, signed } from "../phrases.ts";

/** What one pair comes to, in a sentence that a viewer understands. */
export function pairSentence(pair: PredictionPair): string {
  const { metric_title: metric, attribute_title: attribute, spearman, claim } = pair;
  if (spearman.estimate === null) {
    return `Whether ${metric} goes with ${attribute} can't be told: ${
      sayReason(spearman.estimate_reason)
    }.`;
  }
  const found = `over ${over(pair)} the rank correlation${withinText(pair)} is ${
    rhoWithInterval(pair)
  }`;
  const same = pair.derived_from_title === null
    ? ""
    : ` It comes from the same trials as ${pair.derived_from_title} and is no further evidence.`;
  switch (claim) {
    case "predicts": {
      const less = spearman.estimate > 0 ? "the more" : "the less";
      const ceiling = pair.ceiling === null
        ? ""
        : `, where noise allows at most ${pair.ceiling.toFixed(2)}`;
      const claimed = pair.goes_with === null
        ? `${metric} predicts ${attribute}`
        : `${metric} goes with ${attribute}, but says nothing of it that ${pair.goes_with.metric_title} doesn't (given that, ${
          signed(pair.goes_with.partial)
        } is left, ${pText(pair.goes_with.p)}), so it is not counted as a predictor`;
      return `${claimed}${
        unseen(pair) ? ", not yet seen blind" : ""
      } (the higher the reading, ${less} of it): ${found}${ceiling}; it stands out of all ${pair.family} pairs looked at (${
        pText(pair.p_familywise)
      }) and no single shoe turns it${outOfSampleText(pair)}.${
        [restsText(pair), unknowingText(pair)].join("")
      }${same}`;
    }
    case "hint": {
      const open = doubts({
        rho: spearman.estimate,
        lower: spearman.lower,
        upper: spearman.upper,
        p_familywise: pair.p_familywise,
        level: pair.level,
        q: pair.q,
        lowest: pair.influence.lowest,
        highest: pair.influence.highest,
      }).map((doubt) => doubtText(doubt, pair));
      return `There is a hint that ${metric} goes with ${attribute}: ${found} (${
        pText(pair.p)
      } on its own; of hints like this one in ten is chance), but ${open.join(", and ")}.${
        betweenText(pair)
      }${same}`;
    }
    case "no sign of it":
      return `There is no sign that ${metric} goes with ${attribute}: ${found}, all of it within ±0.3.${
        betweenText(pair)
      }${same}`;
    case "can't tell": {
      const finds = pair.detectable === null
        ? ""
        : `; shoes like these would show a correlation of ${
          pair.detectable.toFixed(2)
        } four times in five`;
      return `These shoes can't tell whether ${metric} goes with ${attribute}: ${found}${finds}.${
        betweenText(pair)
      }${settleText(pair)}${same}`;
    }
  }
}

/** Over how many cases of each kind a correlation stands. */
export function over({ n, kin }: Pick<PredictionPair, "n" | "kin">): string {
  return `${counted(n, "shoe")}, ${counted(kin.lines, "line")} and ${counted(kin.makers, "maker")}`;
}

function withinText({ kin }: PredictionPair): string {
  return kin.courts > 1 ? " within courts" : "";
}

function rhoWithInterval({ spearman }: Pick<PredictionPair, "spearman">): string {
  const { estimate, lower, upper, confidence } = spearman;
  const limits = lower === null || upper === null
    ? "no interval"
    : `${Math.round(confidence * 100)}% interval ${signed(lower)} to ${signed(upper)}`;
  return `${signed(estimate!)} (${limits})`;
}

function outOfSampleText({ out_of_sample: r2 }: PredictionPair): string {
  if (r2 === null || r2.estimate === null) return "";
  if (r2.estimate > 0 && r2.lower !== null && r2.lower > 0) return "";
  const much = r2.estimate > 0 ? "can't be shown to beat" : "do no better than";
  return `; but all metrics together ${much} the plain mean on lines not seen (R² ${
    signed(r2.estimate)
  }${
    r2.lower === null || r2.upper === null ? "" : `, ${signed(r2.lower)} to ${signed(r2.upper)}`
  })`;
}

function restsText({ rests_on, points }: PredictionPair): string {
  if (rests_on === null) return "";
  const name = (id: string) => points.find(({ shoe_id }) => shoe_id === id)?.name ?? id;
  const group = (names: readonly string[], one: string) =>
    names.length <= 2 ? names : [`each of ${names.length} ${one}s`];
  const without = [
    ...group(rests_on.shoes.map(name), "shoe"),
    ...group(rests_on.lines.map((line) => `the line ${line}`), "line"),
    ...group(
      rests_on.makers.map((maker) =>
        isGiven(maker) ? `the maker ${maker}` : "the shoes without a maker on record"
      ),
      "maker",
    ),
  ];
  const several = rests_on.shoes.length + rests_on.lines.length + rests_on.makers.length > 1;
  return without.length === 0
    ? " It would stand without any shoe, line or maker."
    : ` It rests on ${listed(without)}: lacking ${
      several ? "any one of these" : "it"
    } it would not be claimed.`;
}

/** Is the claim not borne out by ratings that could not know the reading? */
export function unseen({ unknowing }: PredictionPair): boolean {
  return unknowing !== null && !unknowing.borne_out;
}

function unknowingText(pair: PredictionPair): string {
  if (pair.unknowing === null) return "";
  const { ratings, of, spearman, borne_out } = pair.unknowing;
  const alone = spearman.estimate === null
    ? `can't be told from them (${sayReason(spearman.estimate_reason)})`
    : `is ${rhoWithInterval({ spearman })} over ${counted(spearman.n, "shoe")}`;
  if (ratings === 0) {
    return ` None of the ${of} ratings was given blind or before the shoe was benched, so a bench figure may have moved any of them. Rating before benching, or with the shoe taped over, would settle it.`;
  }
  const few =
    ` On the ${ratings} of ${of} ratings that no bench figure can have moved the correlation ${alone}`;
  return borne_out
    ? `${few}: it holds there too.`
    : `${few}. Rating before benching, or with the shoe taped over, would settle it.`;
}

function betweenText({ only_between }: PredictionPair): string {
  if (only_between === null) return "";
  const { level, groups, as_shoes } = only_between;
  return ` Shoe by shoe it looks strong (${
    signed(as_shoes)
  }), but it lies between ${groups} ${level} only: ${groups} ${level} are ${groups} cases.`;
}

function settleText({ settle, kin }: PredictionPair): string {
  if (settle.low === null || settle.high === null) return "";
  const editions = kin.inflation > 1.1 && kin.lines > 1
    ? " Further editions of lines at hand would add little."
    : "";
  return ` Depending on where in that interval it lies, ${shoesText(settle.low)} to ${
    shoesText(settle.high)
  } shoes (${shoesText(settle.lines_low!)} to ${
    shoesText(settle.lines_high!)
  } lines) would settle it.${editions}`;
}

function doubtText(doubt: ClaimDoubt, pair: PredictionPair): string {
  switch (doubt) {
    case "chance among many":
      return `among ${pair.family} pairs looked at one so strong may come by chance (${
        pText(pair.p_familywise)
      } over all of them)`;
    case "chance among reviews":
      return `it is new at a bench looked at before, where chance has had several goes: over all ${pair.family} pairs ${
        pText(pair.p_familywise)
      }, and it would have to be below ${pair.level.toFixed(3)}`;
    case "interval holds zero":
      return "its interval holds zero";
    case "no interval":
      return "there are too few shoes for an interval";
    case "one shoe":
      return "a single shoe turns its sign";
  }
}
