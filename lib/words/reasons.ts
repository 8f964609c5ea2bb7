import * as option from "../options.ts";
import type { Reason } from "../statistics/reason.ts";
import { asSentence, listed, midSentence } from "./phrases.ts";
import { boundInUnit, inUnit, noiseInUnit } from "./unit_words.ts";

/** What a page calls the things that statistics counts. */
export type Nouns = {
  /** What is measured: a shoe on most pages. */
  readonly subject?: string;
  readonly reading?: string;
  readonly rater?: string;
};

type Words = Required<Nouns>;

/**
 * Why can't something be computed, in a clause for a reader?
 *
 * A subject or row is a shoe, unless told otherwise; a reason about ratings says so itself, in its
 * `kind`. Null is given back.
 *
 * @param reason a code with its numbers
 * @param nouns what this page calls subjects, readings and raters
 * @returns one clause without a capital or full stop, such as `no shoe was read twice`
 * @throws {RangeError} if nothing is known to say for the code
 *
 * @example
 * ```ts
 * import assert from "node:assert/strict";
 * import { words } from "bench-to-court";
 * assert.equal(words.sayReason({ code: "no-repeats", subjects: 5 }), "no shoe was read twice");
 * ```
 */
export function sayReason<Given extends Reason | null>(
  reason: Given,
  nouns: Nouns = {},
): Given extends null ? null : string {
  option.check("words.sayReason", arguments[1], {
    subject: option.text,
    reading: option.text,
    rater: option.text,
  });
  return clause(reason, nouns) as Given extends null ? null : string;
}

function clause(reason: Reason | null, nouns: Nouns): string | null {
  if (reason === null) return reason;
  const known = Object.hasOwn(said, reason.code) ? said[reason.code] : undefined;
  if (known === undefined) {
    throw new RangeError(`No words are known for the reason ${JSON.stringify(reason)}`);
  }
  const kind = typeof reason.kind === "string" ? reason.kind : undefined;
  return known(reason, {
    subject: nouns.subject ?? "shoe",
    reading: kind ?? nouns.reading ?? "reading",
    rater: nouns.rater ?? (kind === "rating" ? "tester" : "rater"),
  });
}

/** What should a reader bear in mind? A warning as a sentence of its own. */
export function sayWarning(warning: Reason): string {
  return `${asSentence(sayReason(warning))}.`;
}

/** The codes that `sayReason` has words for. */
export function knownReasons(): readonly string[] {
  return Object.keys(said);
}

const said: Readonly<Record<string, (reason: Reason, words: Words) => string>> = {
  "too-few": tooFew,
  "no-repeats": (_, { subject, reading }) =>
    reading === "rating" ? `nobody rated a ${subject} twice` : `no ${subject} was read twice`,
  "constant": constant,
  "hidden-by-resolution": (_, { reading }) =>
    `repeated ${reading}s are all equal, so the scatter is hidden by their resolution`,
  "not-positive": ({ which }, { subject, reading }) =>
    which === "reading"
      ? `a ${reading} is 0 or less and has no logarithm`
      : which === "mean"
      ? `the mean of a ${subject} is 0 or less, so a share of it has no meaning`
      : "a reliability is not above 0: what was measured is all noise",
  "no-noise": noNoise,
  "no-freedom": (_, { rater }) => `${rater}s and noise cancel, so the limits have no freedom left`,
  "no-fit": () => "the fit failed",
  "not-separable": ({ term }) => `the design does not tell ${term} from what else varies`,
  "not-in-model": ({ term }) => `${term} is not in the model`,
  "not-told-apart": () => "the design does not tell it from what else varies",
  "too-few-for-sources": ({ readings, sources }, { reading }) =>
    `${readings} ${reading}s are too few to tell ${sources} sources of scatter apart`,
  "same-levels": ({ other }, { reading }) =>
    `its levels are the same groups of ${reading}s as those of "${other}"`,
  "within-fixed": ({ fixed }) => `its levels do not differ within those of "${fixed}"`,
  "one-level": () => "it has one level, which cannot be told from the mean",
  "read-once": (_, { reading }) =>
    `every level has one ${reading}, which cannot be told from the residual`,
  "unknown": ({ which }) =>
    which === "reliability" ? "a reliability is unknown" : `there is no raw ${which}`,
  "perfect-correlation": () => "a correlation is perfect",
  "dependent": ({ column }) =>
    column === undefined
      ? "the columns cannot be told apart"
      : column === 0
      ? "the intercept depends on the columns"
      : `column ${column} depends on the others`,
  "separated": () => "the columns separate the ratings: the odds grow without end",
  "not-computable": (_, { reading }) => `the statistic cannot be computed from these ${reading}s`,
  "beyond-bounds": (_, { reading }) => `every ${reading} lies beyond a bound`,
  "too-coarse": ({ percent, bound, side, unit, shoes, of_shoes }, { reading, subject }) =>
    `the test is too coarse: ${percent}% of ${reading}s${
      shoes === 0 ? "" : `, all those of ${shoes} of ${of_shoes} ${subject}s,`
    } lie ${side} ${bound}${unit === "1" ? "" : ` ${unit}`}, so make it ${
      side === "below" ? "harsher or longer" : "milder or shorter"
    }, or read it finer, until most ${subject}s show a number`,
  "known-by-bound": ({ side, at, readings, unit, decimals }, { reading }) =>
    `${
      boundInUnit(side === "below" ? { below: Number(at) } : { above: Number(at) }, {
        unit: String(unit),
        decimals: Number(decimals),
      })
    }, all that ${readings === 1 ? `one ${reading} shows` : `${readings} ${reading}s show`}`,
  "beyond-scale": ({ shoe, metric }) =>
    `${shoe} ran off the end of the scale of ${
      midSentence(String(metric))
    }, so that a bound is all that is known of it`,
  "best-beyond-bound": ({ metric, shoes }, { subject }) =>
    `the first places on ${midSentence(String(metric))} run off the end of the scale: ${
      listed(shoes as string[], 6)
    } ${
      (shoes as string[]).length === 1 ? "is" : "are"
    } known by a bound only, and no ${subject} can be named before ${
      (shoes as string[]).length === 1 ? "it" : "them"
    }`,
  "tied-at-bound": ({ metric, shoes, of }, { subject }) =>
    `${shoes} of ${of} ${subject}s ran off the end of the scale of ${
      midSentence(String(metric))
    }: correlations take them as tied there, and models do without them`,
  "coarse-steps": ({ step, unit, shared, shoes, of_spread, of_noise }, { subject, reading }) => {
    const inSteps = (size: number) => noiseInUnit(size, { unit: String(unit) });
    const widths = [
      ...(of_spread === undefined
        ? []
        : [`${Number(of_spread).toFixed(1)} times the SD between ${subject}s`]),
      ...(of_noise === undefined ? [] : [`${Number(of_noise).toFixed(1)} times that of repeats`]),
    ];
    return `${reading}s are taken in steps of ${inSteps(Number(step))}${
      widths.length === 0 ? "" : ` (${listed(widths)})`
    }, and ${shared} of ${shoes} ${subject}s share their value with another${
      of_spread === undefined
        ? ": read it finer"
        : `: read it to ${inSteps(Number(step) / Number(of_spread) / 4)} or finer`
    }`;
  },
  "bound-apart": ({ higher, lower, least, unit, decimals }) =>
    `${lower} ran off the end of the scale, and ${higher} reads higher by ${
      inUnit(Number(least), { unit: String(unit), decimals: Number(decimals) })
    } at least; how much higher can't be told`,
  "bound-in-reach": ({ a, b }) =>
    `the test did not read far enough to set ${a} and ${b} in order, as a bound is all that is known of at least one`,
  "bounds-left-out": ({ readings, of }, { reading }) =>
    `${readings} of ${of} ${reading}s are known by a bound only: their visits are in no figure of noise, and values of their shoes are fitted (maximum likelihood) or a bound`,
  "no-worn-pair": () => "no pair was benched both new and after play",
  "one-worn-pair": () => "one pair was benched both new and after play, which is no rule",
  "one-holds-scatter": ({ percent }, { subject, reading }) =>
    `one ${subject} holds ${percent}% of the scatter of ${reading}s, so limits would be its own`,
  "no-limits": () => "the data give no limits",
  "no-trials": () => "there is no trial that counts",
  "no-revisit": (_, { subject }) => `no ${subject} was benched in two sessions`,
  "no-difference": (_, { subject }) => `${subject}s do not differ beyond noise`,
  "arbitrary-zero": () => "the scale's zero is arbitrary, so a share of a reading means nothing",
  "said-of-one-pair": ({ titles }, { subject }) =>
    `one pair of each ${subject} was benched${
      (titles as string[]).length === 0
        ? ""
        : ` on ${listed((titles as string[]).map(midSentence), 4)}`
    }, so this is said of these pairs; a second pair of some would tell how far pairs of one model differ`,
  "no-second-pair": ({ metric }, { subject }) =>
    `no ${subject} was benched in two pairs on ${
      midSentence(String(metric))
    }, so how far pairs of one model differ is not known; a second pair of some would tell`,
  "one-pair": (_, { subject }) => `no ${subject} was benched in two pairs`,
  "one-source": ({ by }) => `there are no two ${by}s to compare`,
  "no-shoe-by-both": ({ by }, { subject }) =>
    by === "rig" ? `no ${subject} was benched on both` : `no ${subject} was benched by both`,
  "weeks-apart": ({ both, found, days }, { subject }) =>
    `${both} ${subject}${both === 1 ? " was" : "s were"} benched by both, ${
      found === 0 ? "none" : "only once"
    } within ${days} days`,
  "one-shoe-met": ({ name }, { subject }) =>
    `${
      name === undefined ? `one ${subject}` : name
    } alone met both, which says nothing of other ${subject}s; bench another on both`,
  "mostly-one-shoe": ({ readings, of }, { subject }) =>
    `${readings} of ${of} differences are of one ${subject}, so how ${subject}s differ in it can't be told; bench others on both`,
  "one-occasion": () =>
    "they met on one occasion, and the luck of those two days can't be told from what they read otherwise; bench the same shoes on both again",
  "order-with-shoe": (_, { subject }) =>
    `every ${subject} that was read more than once stood at the same place in its sessions`,
  "few-occasions": ({ needed, found }) =>
    `both met on ${found} ${found === 1 ? "occasion" : "occasions"}; ${needed} are needed`,
  "interval-spans-margin": () =>
    "the interval of their mean difference reaches past what matters to a player",
  "one-operator": () => "there is one operator",
  "operators-unlinked": (_, { subject }) =>
    `fewer than two ${subject}s were benched by two operators`,
  "sessions-unlinked": (_, { subject }) =>
    `no two reference ${subject}s were benched together in two sessions`,
  "few-operators": ({ operators }) =>
    `${operators} operators say little about how operators differ`,
  "days-mixed-with-shoes": (_, { subject }) =>
    `every ${subject} was benched in one session, so the share of ${subject}s holds what differs from day to day`,
  "no-reference": (_, { subject }) => `the bench names no reference ${subject}`,
  "rigs-unlinked": (_, { subject }) => `no ${subject} that came back links rigs or days`,
  "no-drift-found": () => "no drift of rigs or days is found",
  "visits-differ": (_, { subject }) => `visits of one ${subject} differ too much by themselves`,
  "too-many-trials": ({ most, icc }) =>
    `more than ${most} a visit would be needed for ${
      icc === undefined ? "the smallest difference that matters" : `an ICC of ${short(icc)}`
    }`,
  "verdict-by-limit": ({ lower, upper, least }) =>
    `the ICC of the published mean lies between ${fixed(lower)} and ${
      fixed(upper)
    }; its lower limit is ${least === 0 ? "below 0.50" : `at least ${fixed(least)}`}`,
  "verdict-too-wide": ({ lower, upper }) =>
    `the ICC of the published mean lies between ${fixed(lower)} and ${
      fixed(upper)
    }: from useless to excellent`,
  "few-visits-on-rig": ({ needed, found }, { subject }) =>
    `${found} ${
      found === 1 ? "visit" : "visits"
    } of the ${subject} on this rig, and a line needs ${needed}`,
  "few-sessions-on-rig": ({ needed, found }) =>
    `${found} ${found === 1 ? "session" : "sessions"} on this rig, and a claim needs ${needed}`,
  "no-room-figure": ({ sessions }) =>
    sessions === 1
      ? "sessions.csv has no temperature and no humidity for its one session"
      : `sessions.csv has no temperature and no humidity for any of ${sessions} sessions`,
  "few-sessions-with-room": ({ needed, found, sessions }, { subject }) =>
    `${found} of ${sessions} ${
      sessions === 1 ? "session has" : "sessions have"
    } a figure of the room and a ${subject} that came back, and ${needed} with both rigs' levels to spare are needed`,
  "one-reference": (_, { subject }) => `there is one reference ${subject}`,
  "few-shared-sessions": ({ found }, { subject }) =>
    `${found} ${
      found === 1 ? "session has" : "sessions have"
    } two reference ${subject}s, which is too few`,
  "no-smallest-difference": () => "the metric names no smallest difference that matters",
  "not-on-bench": ({ what, id }) => `this bench has no ${what} "${id}"`,
  "several-fit": ({ what, id }) => `"${id}" fits more than one ${what}`,
  "none-on-bench": ({ what }) => `this bench has no ${what} yet`,
  "asked-twice": ({ what, id }) => `the ${what} ${id} was asked for twice`,
  "asked-count": ({ what, least, given }) =>
    `${least} ${what}s or more are asked for, not ${given}`,
  "not-measured": notMeasured,
  "no-better": ({ metric }) => `more ${metric} is neither good nor bad`,
  "not-a-length": ({ metric, unit }) => `${metric} is in ${unit}, which is no length`,
  "no-room": ({ width, height }) => `a picture of ${width} by ${height} has no room for this chart`,
  "logo-unfit": ({ file }) => `the logo ${file} can't be shown`,
  "not-comparable": () => "what was asked can't be compared on this bench",
  "no-column-varies": (_, { subject }) => `no column tells one ${subject} from another`,
  "gain-too-near": () =>
    "the gain may lie so near to what is asked for that no number would show on which side",
  "not-rated": ({ attribute }) => `no rating of ${attribute}`,
  "terms-missing": ({ metrics }) => `no value for ${(metrics as readonly string[]).join(", ")}`,
  "another-index": ({ attribute, other }) =>
    `a rule for ${attribute} stands against none for ${other}`,
  "no-rule": () => "no index rule is in force",
  "not-in-index": ({ metric }) => `${midSentence(String(metric))} is no part of the index in force`,
  "none-meets": ({ of }) => `none of ${of} shoes surely meets what is asked`,
  "not-by-court": () => "only ratings are kept court by court",
  "no-rating-on-court": ({ court }) => `no rating was given on a court called "${court}"`,
  "one-line-each": () => "every maker has one line, so how lines of a maker scatter is unknown",
  "maker-without-value": ({ maker, on }) => `${maker} can't be set against another maker on ${on}`,
  "no-size-with-length": () => "no shoe has both a size on record and a reading of its length",
  "no-second-size": ({ metric }) => `no model has readings of ${metric} in two sizes`,
  "no-prices": () => "no shoe has a price",
  "several-currencies": ({ currencies }) =>
    `prices are in ${(currencies as readonly string[]).join(", ")}`,
  "nothing-open": () => "nothing is open",
  "no-trial": ({ shoe, metric }) => `${shoe} has no trial on ${midSentence(String(metric))}`,
  "shoe-not-rated": ({ shoe, attribute }) =>
    `nobody rated ${shoe} on ${midSentence(String(attribute))}`,
  "not-fit-to-publish": ({ metric }) => `${metric} is not fit to publish`,
  "no-spare-ratings": () => "there are too few ratings to see how far testers scatter",
  "panel-not-linked": () => "no chain of testers and shoes links the two",
  "noise-unknown": () => "the noise of the metric is unknown, since no shoe was read twice",
  "metric-noise-unknown": ({ metric }) => `the noise of ${midSentence(String(metric))} is unknown`,
  "noise-of-terms-unknown": ({ metrics }) =>
    `the noise of ${(metrics as readonly string[]).join(", ")} is unknown`,
  "reference-shoe": () => "a reference shoe is an instrument of the bench",
  "no-score": () => "it has no score",
  "condition-open": ({ conditions }) =>
    conditions === 1 ? "one condition is not known" : `${conditions} conditions are not known`,
  "not-labelled": ({ what }) => `${what} not labelled`,
  "not-checked": ({ feature }) => `${feature} not checked`,
  "not-benched": ({ metric }) =>
    metric === undefined ? "not benched" : `${midSentence(String(metric))} not benched`,
  "never-read": () => "never read",
  "benched-before-metrics": ({ part }) =>
    `${part === "some" ? "partly " : ""}last benched before the metric existed`,
  "rule-for-other-courts": ({ courts, court }) =>
    `the index is for ${(courts as readonly string[]).join(" and ")} shoes; this one is for ${
      court ?? "a court that shoes.csv doesn't say"
    }`,
  "score-withheld": ({ metrics }) =>
    `no value for ${(metrics as readonly string[]).join(", ")}, and the rule withholds such scores`,
  "no-term-has-a-value": () => "no term of the rule has a value",
  "no-spread-to-scale-by": () => "the catalogue has no spread to scale it by",
  "no-foot-width": () => "the foot's width was not given",
  "no-inside-width": () => "inside width not benched",
  "not-asked-for": ({ what }) => `no ${what} were asked for`,
  "too-few-with-both": ({ found, needed, metric, attribute }) =>
    found === 0
      ? `no shoe has both ${metric} and ${attribute}`
      : `only ${found} ${found === 1 ? "shoe has" : "shoes have"} both; ${
        needed === 3 ? "three" : needed
      } are needed`,
  "constant-pair": ({ which, shoes, metric, attribute }) =>
    which === "both"
      ? `all ${shoes} shoes read the same on ${metric} and rate the same on ${attribute}`
      : which === "x"
      ? `all ${shoes} shoes read the same on ${metric}`
      : `all ${shoes} shoes rate the same on ${attribute}`,
  "no-ceiling": ({ metric, panel }) =>
    [["metric", metric], ["panel", panel]].filter(([, state]) => state !== "known").map((
      [side, state],
    ) => `the reliability of the ${side} ${state === "unknown" ? "is unknown" : "was not given"}`)
      .join("; "),
  "unknown-correlation": () => "there is no rank correlation",
  "none-to-spare": ({ shoes }) => `${shoes} shoes leave none to spare`,
  "mass-itself": () => "this is mass itself",
  "no-mass": () => "mass is not among the metrics",
  "no-interval": () => "there is no interval to plan from",
  "too-wide-to-plan": ({ low, high }) =>
    `anything from ${low} to ${high} shoes, depending on what the correlation is`,
  "resamples-lost": (reason) => `${lost(reason)} and are left out`,
  "too-few-resamples": (reason) => `${lost(reason)}: too few are left for an interval`,
  "resamples-alike": () => "every resample gave the estimate itself: no interval can be read off",
  "degenerate-without": ({ rows }) =>
    `leaving out ${rows === 1 ? "one row" : `any of ${rows} rows`} is degenerate`,
  "limit-cut": () => "a limit lies beyond the outermost resample and is cut there",
  "not-corrected": () =>
    "the acceleration is too large for the correction; the limits are plain percentiles",
  "too-few-to-resample": ({ needed, found }) =>
    `no bootstrap interval from ${found} rows; ${needed} are needed`,
  "too-few-for-fisher": ({ needed, found }) =>
    `no Fisher interval from ${found} rows; ${needed} are needed`,
  "few-draws": ({ draws }) =>
    `${draws} draws are few for a simultaneous interval; take 1000 or more`,
  "above-one": () => "above 1: a reliability is estimated too low",
  "at-zero": () => "the estimate lies at the boundary, 0",
  "negative-between": () => "the variance between operators came out negative and is 0",
  "no-lower-bound": (_, { rater }) =>
    `the lower limit has no bound: ${rater}s differ less than chance alone would have it`,
  "no-upper-bound": () => "the upper limit has no bound",
  "not-converged": () => "the fit did not settle; its figures are rough",
  "term-left-out": ({ term, because }) => `"${term}" was left out of the model: ${because}`,
  "left-out": leftOut,
  "not-redrawn": (_, { subject }) =>
    `${subject}s can't be redrawn where readings are missing: the limits are those of the method named`,
  "below-zero": (_, { subject }) =>
    `below 0: ${subject}s differ less than noise alone would have it, so a share of their differences has no meaning`,
  "raters-without-order": ({ raters, of }, { rater, subject }) =>
    `${raters} of ${of} ${rater}s gave all ${subject}s the same rating, which keeps W below 1`,
  "tester-alike": (_, { subject }) => `the tester rated all ${subject}s the same`,
  "unequally-often": (_, { subject }) => `${subject}s were not read equally often`,
  "not-by-every-rater": (_, { subject, rater }) =>
    `some ${subject}s were not seen by every ${rater}`,
  "averaged": ({ k, of }, words) =>
    `k is ${fixed(k)}, the harmonic mean of ${nounOf(String(of), words)}s a ${words.subject}`,
  "one-rater": (_, { rater }) => `there is only one ${rater}: no leniency can be told`,
  "raters-alike": (_, { rater }) =>
    `${rater}s do not differ: the SD of leniency is at its boundary, 0`,
  "no-range": () => "the catalogue has no range on this metric",
  "not-modelled": () => "no model was asked for",
  "no-metric-serves": (_, { subject }) => `no metric has enough ${subject}s`,
  "rated-alike": ({ shoes }, { subject }) => `all ${shoes} ${subject}s rate the same`,
  "read-alike": ({ shoes, which }, { subject }) =>
    `all ${shoes} ${which} ${subject}s read the same`,
  "computed-from": ({ metric }) => `computed from the trials of ${metric}`,
  "on-no-rated-shoe": (_, { subject }) => `no rated ${subject} has it`,
  "missing-on": ({ shoes, of }, { subject }) => `missing for ${shoes} of ${of} rated ${subject}s`,
  "read-once-a-visit": (_, { subject }) => `no ${subject} was read twice in one visit`,
  "too-few-for-slope": () => "too few repeated trials to tell a slope from scatter",
  "no-rating-yet": (_, { subject }) => `nobody has rated a ${subject} yet`,
  "no-rating": () => "nobody rated it",
  "one-tester": () => "one tester cannot show how testers agree",
  "rated-by-one": (_, { subject }) => `no ${subject} was rated by two testers`,
  "rated-once": (_, { subject }) => `no ${subject} was rated twice`,
  "testers-unlinked": (_, { subject }) =>
    `testers can't be told from ${subject}s or noise: they rated too few ${subject}s in common`,
  "taste-unseen": (_, { subject }) =>
    `too few testers rated a ${subject} twice to tell their taste from chance`,
  "range-unseen": (_, { subject }) =>
    `too few ${subject}s in common with others, or all rated alike`,
  "testers-not-together": () =>
    "the testers do not follow each other, so use of the range can't be compared",
  "testers-alike": () => "all testers are alike in it",
  "few-of-each-style": () => "too few testers of each style",
  "no-order": () => "styles have no order",
  "too-few-rated-both": ({ found }) =>
    found === 0 ? "no tester rated both" : "only one tester rated both",
  "knew-the-shoe": ({ ratings, of }, { subject }) =>
    `${ratings} of ${of} ratings (${
      Math.round(100 * Number(ratings) / Number(of))
    }%) were given by testers who knew the ${subject}`,
  "blindness-unknown": ({ ratings, of }) =>
    ratings === of
      ? "no rating says whether it was blind"
      : `${ratings} of ${of} ratings do not say whether they were blind`,
  "few-testers": ({ testers }) =>
    `${testers} ${
      testers === 1 ? "tester speaks" : "testers speak"
    } for themselves: how other players would rate is a guess`,
  "nobody-rated": (_, { subject }) => `nobody has rated a ${subject} yet`,
  "only-weight": () => "it is the only weight, and the sum stays",
  "none-scored": (_, { subject }) => `no ${subject} can be scored`,
  "none-scored-twice": (_, { subject }) => `no ${subject} has a score in both tables`,
  "scores-alike": () => "the new scores are all alike",
  "no-order-twice": (_, { subject }) => `no two ${subject}s are in order in both tables`,
  "all-have-it": (_, { subject }) => `every scored ${subject} has it`,
  "same-trials": ({ metric, source }) =>
    `${metric} comes from the same trials as ${source}: it is shown, but counts as no further evidence`,
  "has-target": ({ metric }) =>
    `${metric} has a target range; a rank correlation only sees more and less of it, not nearer`,
  "makers-apart": ({ rated, shoes }, { subject }) =>
    `each of the ${rated} rated ${subject}s of ${shoes} has a maker of its own in shoes.csv, so what ${subject}s of a maker or editions of a line have in common can't be taken out. If they do have makers in common, claims here come too easily: fill in maker and line`,
  "one-maker": (_, { subject }) =>
    `all rated ${subject}s are of one maker: what holds here holds for this maker's ${subject}s, and whether it holds between makers can't be seen`,
  "lines-apart": (_, { subject }) =>
    `every rated ${subject} is a line of its own, so likeness of editions is not taken out. Where a model was renamed between editions, the column line in shoes.csv says so`,
  "may-have-known": ({ ratings, of, testers }, { subject }) => {
    const names = testers as readonly string[];
    return `${ratings} of ${of} ratings could have been moved by the ${subject}'s bench figures: neither blind nor from before it was benched${
      names.length === 0
        ? ""
        : `. ${listed(names)} ${names.length === 1 ? "runs" : "run"} the bench too`
    }`;
  },
  "nothing-claimed": () => "no metric is claimed or hinted at",
  "too-many-to-share": ({ metrics, most }) =>
    `${metrics} metrics are too many to share out; ask for at most ${most}`,
  "testers-apart": ({ attribute }, { subject }) =>
    `some testers share no ${subject} with the others on ${attribute}, so their leniency can't be told from their ${subject}s`,
  "no-metric-split": (_, { subject }) => `no metric could be split into ${subject}s and noise`,
  "no-metric-varies": (_, { subject }) =>
    `no metric has three different values on the rated ${subject}s`,
  "no-attribute-split": (_, { subject }) =>
    `no impression has enough ratings to tell scatter from ${subject}s`,
  "not-simulated": () => "nothing was simulated",
  "few-simulations": ({ benches }) =>
    `${benches} simulated benches show gross faults only: rates carry wide intervals`,
  "short-with-few-operators": () =>
    "with so few operators the intervals of ICC and of MDC across sessions can be too short",
  "no-reliability-given": () =>
    "metrics are simulated without noise of their own, because no reliability was given",
  "lost-in-rounding": () => "the spread of a column is lost in rounding",
};

function lost({ lost, of, because }: Reason): string {
  const why: Readonly<Record<string, string>> = {
    "constant": "had no variance",
    "degenerate": "were degenerate",
    "no-fit": "gave no fit",
    "not-positive": "had no reliability above 0",
  };
  return `${lost} of ${of} resamples ${why[String(because)]}`;
}

function leftOut({ of, because, left, all }: Reason, words: Words): string {
  const one = left === 1;
  const why: Readonly<Record<string, string>> = {
    "unread": one ? "has no reading" : "have no reading",
    "missing": of === "pairs"
      ? one ? "lacks a value" : "lack a value"
      : one
      ? "is missing"
      : "are missing",
    "one-value": one ? "has fewer than two values" : "have fewer than two values",
    "one-way": one ? "was not read both ways" : "were not read both ways",
    "not-rated-by-all": one ? "was not rated by all" : "were not rated by all",
  };
  const noun = nounOf(String(of), words);
  return `${left} of ${all} ${noun}${all === 1 ? "" : "s"} ${why[String(because)]}`;
}

function notMeasured({ shoes, metrics }: Reason, { subject }: Words): string {
  const [who, what] = [shoes, metrics].map((ids) => Array.isArray(ids) ? ids : []);
  const on = `trial on ${what.join(" and ")}`;
  return who.length === 0 ? `no ${subject} has a ${on}` : `${who.join(", ")} has no ${on}`;
}

function fixed(value: Reason[string]): string {
  return Number(value).toFixed(2);
}

function short(value: Reason[string]): string {
  return fixed(value).replace(/^0/, "");
}

function tooFew({ of, needed, found }: Reason, words: Words): string {
  const one = found === 1;
  const count = found === 0 ? "no" : `only ${found}`;
  const need = `${needed} ${needed === 1 ? "is" : "are"} needed`;
  const { subject } = words;
  if (of === "pairs") {
    return `${count} ${subject}${one ? " has" : "s have"} both values; ${need}`;
  }
  if (of === "complete rows") {
    return `${count} ${subject}${one ? " has" : "s have"} every value; ${need}`;
  }
  if (of === "subjects" && one) return `one ${subject} cannot show how ${subject}s differ`;
  if (of === "others") return `no other ${subject} has a value`;
  const noun = nounOf(String(of), words);
  return `there ${one ? "is" : "are"} ${count} ${noun}${one ? "" : "s"}; ${need}`;
}

function nounOf(of: string, { subject, reading, rater }: Words): string {
  const named: Readonly<Record<string, string>> = {
    rows: subject,
    subjects: subject,
    readings: reading,
    raters: rater,
  };
  return named[of] ?? of.replace(/s$/, "");
}

function constant({ which, column }: Reason, { subject, reading, rater }: Words): string {
  switch (which) {
    case "both":
      return "both columns have one value only";
    case "x":
      return "the first column has one value only";
    case "y":
      return "the second column has one value only";
    case "column":
      return `column ${column} has one value only`;
    case "outcome":
      return "what is to be foretold has one value only";
    case "means":
      return `the means of all ${subject}s are equal, so their reliability has no value`;
    case "differences":
      return "all differences are equal, so they show no scatter";
    case "covariate":
      return `the covariate is the same for all ${reading}s`;
    case "covariate within groups":
      return "the covariate does not vary within any group";
    case "ratings of every rater":
      return `every ${rater} gave all ${subject}s the same rating`;
    default:
      return `all ${which === "readings" ? `${reading}s` : which} are equal`;
  }
}

function noNoise({ of }: Reason, { subject, reading, rater }: Words): string {
  switch (of) {
    case "raters":
      return `${rater}s agree perfectly but for a constant, so no noise was seen to compare with`;
    case "bench":
      return "the bench shows no noise, so groups cannot be counted";
    case "fit":
      return `${reading}s follow the fit exactly, which leaves no scatter to compare with`;
    case "groups":
      return `${reading}s of each group are equal, so F has no value`;
    case "repeats":
      return `${reading}s that share every level repeat exactly, so no noise was seen to compare with`;
    default:
      return `${reading}s of a ${subject} agree perfectly, so no noise was seen to compare with`;
  }
}
