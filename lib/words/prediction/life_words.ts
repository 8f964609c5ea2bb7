import type { ClaimLife, ClaimLives } from "../../studies/prediction/types.ts";
import { sayReason } from "../reasons.ts";
import type { ReviewRow } from "../review/review_tables.ts";
import { counted, shoesText, signed } from "../phrases.ts";

/** Since when a claim stands, and what the shoes that came after say of it, in one line. */
export function lifeSentence(life: ClaimLife, quarter: string): string {
  return `${life.metric_title} for ${life.attribute_title}: ${sinceText(life, quarter)}; ${
    replicationText(life)
  }.`;
}

/** One line a claim: those that stand, oldest first, then those that don't any more. */
export function lifeSentences({ claims, quarter }: ClaimLives): string[] {
  return inOrder(claims).map((life) => lifeSentence(life, quarter));
}

/** How many claims stand from before, and what came of them on shoes since; null where none is older. */
export function livesSentence({ claims, quarter }: ClaimLives): string | null {
  const old = claims.filter(({ since, first }) => since !== null && first < quarter);
  if (old.length === 0) return null;
  const having = (word: ClaimLife["replication"]["word"]) =>
    old.filter(({ replication }) => replication.word === word).length;
  const parts = [
    [having("held"), "held on shoes that came after"],
    [having("not seen again"), "not seen again on them"],
    [having("can't tell"), "with too few since to tell"],
    [having("nothing since"), "with no shoe since"],
  ] as const;
  return `Of ${counted(old.length, "claim")} made at an earlier review and still standing, ${
    parts.filter(([count]) => count > 0).map(([count, text]) => `${count} ${text}`).join(", ")
  }.`;
}

/** At what level this review claims what is new, and why. */
export function levelSentence({ review, level }: Pick<ClaimLives, "review" | "level">): string {
  return review === 1
    ? "This is the first review with ratings: a claim's p over all pairs is below 0.05."
    : `This is review ${review} of this bench. Each review gives chance another go, so what is new is claimed at 0.05/${review} = ${
      level.toFixed(3)
    } over all pairs; what the last review claimed stays while it is below 0.05. Over eight reviews of a growing bench where nothing is true about one reader in ten sees a false claim.`;
}

/** The life of every claim. One row a claim. */
export function lifeRows({ claims }: Pick<ClaimLives, "claims">): ReviewRow[] {
  return inOrder(claims).map(({ replication, claimed, ...life }) => ({
    metric: life.metric_title,
    impression: life.attribute_title,
    "first claimed": `${life.first}${life.reviews_before === 0 ? " or before" : ""}`,
    "stands since": life.since ?? "no longer claimed",
    "shoes then": claimed.shoes,
    "rank correlation then": signed(claimed.rho),
    "shoes since": replication.shoes,
    "lines since": replication.lines,
    "rank correlation on shoes since": replication.spearman.estimate === null
      ? null
      : `${signed(replication.spearman.estimate)}${limitsText(replication, "")}`,
    "on shoes since": wordText(replication.word),
  }));
}

function inOrder(claims: readonly ClaimLife[]): ClaimLife[] {
  const key = ({ since, first }: ClaimLife) => (since === null ? "9" : "0") + first;
  return claims.toSorted((a, b) => key(a) < key(b) ? -1 : key(a) > key(b) ? 1 : 0);
}

function sinceText({ first, since, reviews_before }: ClaimLife, quarter: string): string {
  if (first === quarter) return reviews_before === 0 ? `claimed in ${quarter}` : "new this quarter";
  const before = reviews_before === 0 ? "at the latest " : "";
  if (since === null) return `first claimed in ${first}, no longer claimed`;
  return since === first
    ? `claimed since ${before}${first}`
    : `first claimed in ${first}, without a break since ${since}`;
}

function wordText(word: ClaimLife["replication"]["word"]): string {
  return word === "can't tell" ? "too few to tell" : word;
}

function replicationText({ claimed, replication }: ClaimLife): string {
  const { word, shoes, lines, lines_new, spearman, more } = replication;
  if (word === "nothing since") return "no shoe has come after it was first claimed";
  const among = `${counted(shoes, "shoe")} of ${counted(lines, "line")}, ${lines_new} of them new,`;
  const found = spearman.estimate === null
    ? `(${sayReason(spearman.estimate_reason)})`
    : `(rank correlation ${signed(spearman.estimate)}${limitsText(replication, "90% interval ")})`;
  switch (word) {
    case "held":
      return `held on ${among} since ${found}`;
    case "not seen again":
      return `not seen again on ${among} since ${found}, where ${claimed.shoes} shoes had shown ${
        signed(claimed.rho)
      }`;
    case "can't tell":
      return `${among} since are too few to tell ${found}${
        more === null ? "" : `; ${shoesText(more)} more would show one as strong as the first`
      }`;
  }
}

function limitsText({ spearman }: ClaimLife["replication"], name: string): string {
  return spearman.lower === null || spearman.upper === null
    ? ""
    : name === ""
    ? ` (${signed(spearman.lower)} to ${signed(spearman.upper)})`
    : `, ${name}${signed(spearman.lower)} to ${signed(spearman.upper)}`;
}
