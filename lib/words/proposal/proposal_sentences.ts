import type { GainBasis } from "../../studies/index/proposal_gain.ts";
import type {
  JudgedCriterion,
  RuleVerdict,
  Settles,
} from "../../studies/proposal/rule_proposal.ts";
import { settleWords } from "../index/settle_words.ts";
import type { Estimate } from "../../statistics/estimate.ts";
import { sayReason } from "../reasons.ts";
import { counted, listed, midSentence, withSign } from "../phrases.ts";
import { decimalsOf } from "../digits.ts";

/** A criterion as a table has it. */
export type CriterionWords = {
  readonly title: string;
  readonly wanted: string;
  readonly found: string;
};

/** What was asked, and what was found? */
export function criterionWords(
  { name, wanted, found, lower, upper, shoes, of, found_reason }: JudgedCriterion,
  confidence: number,
): CriterionWords {
  if (name === "min_gain") {
    return {
      title: "Gain in rank correlation with the court",
      wanted: `at least ${wanted}, at ${percent(confidence)} confidence`,
      found: found === null
        ? sayReason(found_reason!)
        : `${gainWords({ estimate: found, lower, upper }, wanted)} on ${counted(shoes, "shoe")}`,
    };
  }
  const share = found === null
    ? sayReason(found_reason!)
    : `${percent(found)} (${shoes} of ${of} shoes)`;
  return name === "max_rank_moves"
    ? {
      title: "Share of the catalogue that moves more than three places",
      wanted: `at most ${percent(wanted)}`,
      found: share,
    }
    : {
      title: "Share of the catalogue that can be scored",
      wanted: `at least ${percent(wanted)}`,
      found: share,
    };
}

/** What would settle a criterion that can't be judged? */
export function settlesWords(settles: Settles): string {
  if (settles.kind === "bench-the-listed") return "Bench the shoes that the page lists.";
  const { waiting, settle } = settles;
  const list = waiting === 0
    ? ""
    : ` ${
      waiting === 1 ? "1 rated shoe waits" : `${waiting} rated shoes wait`
    } for nothing but the bench: re-bench them first.`;
  return `${settleWords(settle, "a rating and both scores")}${list}`;
}

/** What does the proposed order of shoes gain over the one in force, and what was asked for? */
export function gainSentence(
  { gain, criteria, attribute_title }: Pick<RuleVerdict, "gain" | "criteria" | "attribute_title">,
): string {
  const about = attribute_title.toLowerCase();
  const wanted = criteria.find(({ name }) => name === "min_gain")?.wanted;
  if (gain.estimate === null) {
    return `How much closer to ${about} on court its order of shoes comes can't be told: ${
      sayReason(gain.estimate_reason!)
    }.`;
  }
  return `It gains ${gainWords(gain, wanted)} in rank correlation with ${about} on court, on ${
    counted(gain.n, "shoe")
  }${wanted === undefined ? "" : `; at least ${wanted} was asked for`}.`;
}

/** Why is the verdict what it is, in one sentence or two? */
export function verdictReason(
  { verdict, criteria, confidence }: Pick<RuleVerdict, "verdict" | "criteria" | "confidence">,
): string {
  const having = (outcome: JudgedCriterion["outcome"]) =>
    criteria.filter((criterion) => criterion.outcome === outcome).map((criterion) => {
      const { title, found, wanted } = criterionWords(criterion, confidence);
      return `${midSentence(title)}: ${found}, wanted ${wanted}`;
    }).join("; ");
  if (verdict === "adopt") return "All criteria that were set beforehand are met.";
  return verdict === "keep"
    ? `Not met: ${having("fails")}.`
    : `Open: ${having("can't be judged")}.`;
}

/** What would settle what is open? One sentence a criterion. */
export function openWords({ criteria }: Pick<RuleVerdict, "criteria">): string[] {
  return criteria.flatMap(({ settles }) => settles === null ? [] : [settlesWords(settles)]);
}

/** The verdict in one line. */
export function verdictSentence(result: RuleVerdict): string {
  return [
    `${result.proposal.title}: ${result.verdict}. ${verdictReason(result)}`,
    ...openWords(result),
  ].join(" ");
}

/** How did the scores come to know nothing of the ratings they are judged on? */
export function gainBasisWords(basis: GainBasis): string {
  switch (basis.kind) {
    case "as-they-stand":
      return `Both rules are used as they stand. Of ${basis.rated} rated shoes, ${
        basis.after === 0 ? "none was" : basis.after === 1 ? "1 was" : `${basis.after} were`
      } first rated after the proposal was made.`;
    case "fitted-here":
      return `The weights were fitted to ratings up to ${basis.until}; the gain is that for shoes of lines not seen, and gives them no credit for the ratings they know.`;
    case "fitted-elsewhere":
      return `The weights were fitted to ratings up to ${basis.until}, and not to the terms of the rule in force, so only shoes first rated after that day count: ${basis.after} so far.`;
  }
}

/** Is the proposal bound, since when, and what was rated since? */
export function registrationWords(
  { registered, since_registered, verdict }: Pick<
    RuleVerdict,
    "registered" | "since_registered" | "verdict"
  >,
): string[] {
  if (registered === null) {
    return [
      "This proposal isn't registered, so nobody can know that its criteria were set before the data. Run deno task register and publish the code: what binds is that others have it.",
    ];
  }
  const { code, on, same_proposal, whole, ratings_then, ratings_since } = registered;
  const seen =
    `Registered on ${on} under the code ${code}, over the whole proposal, the day, the tables and the entry before. The code binds whoever published it then: anyone who has it can see whether anything was changed since.`;
  const changed = same_proposal ? [] : [
    "The proposal says another thing by now than it did when it was registered: the code doesn't stand for it. Register it anew, as another proposal.",
  ];
  const edited = whole ? [] : [
    "The registration itself was changed: its code no longer follows from it.",
  ];
  const gain = since_registered?.gain;
  const later = ratings_since === 0
    ? `Nothing was rated since; all ${ratings_then} ratings were there when it was registered.`
    : gain === undefined || gain.estimate === null
    ? `${ratings_since} ratings are of later days. Apart, on shoes first rated since, it can't be judged: ${
      sayReason(gain?.estimate_reason ?? { code: "no-fit" })
    }.`
    : `${ratings_since} ratings are of later days. On all data: ${verdict}; apart, on the ${gain.n} shoes first rated since: ${
      since_registered!.verdict
    }, gain ${withSign(gain.estimate)} (${withSign(gain.lower!)} to ${withSign(gain.upper!)}).`;
  return [seen, ...changed, ...edited, later];
}

/** Which proposals were tried besides? */
export function triedWords({ tried }: Pick<RuleVerdict, "tried">): string[] {
  if (tried.length === 0) return [];
  const list = tried.map(({ title, on, code, on_file, decided }) =>
    `${title} (${on}, code ${code}${on_file ? "" : ", its file is gone"}${
      decided === null ? ", nothing decided" : `, ${decided}`
    })`
  );
  return [
    `${
      tried.length === 1 ? "One other proposal was" : `${tried.length} other proposals were`
    } registered so far: ${
      list.join("; ")
    }. The more were tried, the likelier that one looks good by chance.`,
  ];
}

/** What else must stand beside the verdict? */
export function standingNotes(
  { in_force, superseded_by, proposal, gain_basis, lines, makers, gain }: RuleVerdict,
): string[] {
  return [
    ...(in_force === null ? [] : [
      `This rule is in force already, as version ${in_force.version} since ${in_force.effective}: there is nothing to decide.`,
    ]),
    ...(superseded_by === null ? [] : [
      `It stands against version ${proposal.against}; version ${superseded_by} is in force by now. Write it anew against that one.`,
    ]),
    ...(gain.estimate === null
      ? []
      : [`The gain stands on ${gain.n} shoes of ${lines} lines and ${makers} makers.`]),
    ...(gain_basis.kind === "as-they-stand" && gain_basis.after === 0 && gain_basis.rated > 0
      ? [
        "Every rating was there when the proposal was made. If its author looked at them, the gain is too hopeful; shoes rated from now on will tell.",
      ]
      : []),
  ];
}

/** What does a bonus buy, beside everything that is benched? */
export function bonusSentence({ bonuses }: Pick<RuleVerdict, "bonuses">): string {
  if (bonuses.length === 0) return "The proposed rule has no bonus.";
  const outruns = bonuses.filter(({ outruns_bench }) => outruns_bench);
  const what = "more points than all that is benched puts between most pairs of shoes";
  return outruns.length === 0
    ? `${
      bonuses.length === 1 ? "Its one bonus is not" : `None of its ${bonuses.length} bonuses is`
    } worth ${what}.`
    : `${listed(outruns.map(({ feature }) => feature))} ${
      outruns.length === 1 ? "is" : "are"
    } worth ${what}.`;
}

/** Where do shoes stand at one end of a range, and get the same points however far apart they test? */
export function rangeSentence({ pile_ups }: Pick<RuleVerdict, "pile_ups">): string {
  const own = pile_ups.filter(({ table }) => table === "proposed");
  if (own.length === 0) return "No term of the proposed rule has a range.";
  const piled = own.filter((term) => term.piled);
  return piled.length === 0
    ? "No range of the proposed rule holds more than 15 in 100 shoes at one of its ends, where they get the same points however far apart they test."
    : `${
      listed(piled.map(({ title }) => midSentence(title)))
    }: more than 15 in 100 shoes stand at one end of ${
      piled.length === 1 ? "its range" : "their ranges"
    }, and get the same points however far apart they test.`;
}

/** What if a weight was never known so well? The step, of a fifth, that moves most shoes. */
export function weightSentence({ sensitivity }: Pick<RuleVerdict, "sensitivity">): string {
  const steps = sensitivity.flatMap(({ title, lower, higher }) =>
    [{ ...lower, title, way: "lower" }, { ...higher, title, way: "higher" }].filter((
      { share_moved },
    ) => share_moved !== null)
  );
  if (steps.length === 0) {
    const reason = sensitivity.find(({ lower }) => lower.reason !== null)?.lower.reason;
    return `What another weight would do can't be told${
      reason ? `: ${sayReason(reason)}` : ", since the rule has one term"
    }.`;
  }
  const most = steps.reduce((worst, step) => step.share_moved! > worst.share_moved! ? step : worst);
  return most.share_moved === 0
    ? "With each weight a fifth lower or higher no shoe moves more than three places."
    : `With each weight in turn a fifth lower or higher, at most ${
      Math.round(100 * most.share_moved!)
    }% of the shoes move more than three places (${midSentence(most.title)} ${most.way}).`;
}

/**
 * A gain with its limits, to the digits that they leave it; one more where rounding would put a limit on the
 * other side of what was asked for.
 */
function gainWords(
  { estimate, lower, upper }: Pick<Estimate, "estimate" | "lower" | "upper">,
  wanted: number | undefined,
): string {
  const known = [estimate!, lower, upper].filter((value) => value !== null);
  const usual = decimalsOf({ lower, upper }, 2);
  const turned = wanted !== undefined &&
    known.some((value) =>
      Math.sign(Number(value.toFixed(usual)) - wanted) !== Math.sign(value - wanted)
    );
  const shown = known.map((value) => withSign(value, turned ? 3 : usual));
  return shown.length === 1 ? shown[0] : `${shown[0]} (${shown[1]} to ${shown[2]})`;
}

function percent(share: number): string {
  return `${Number((100 * share).toFixed(1))}%`;
}
