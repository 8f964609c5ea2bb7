import type { CourtPrediction } from "../../studies/prediction/types.ts";
import { counted } from "../phrases.ts";

/**
 * How many pairs of a metric and an impression hold up, and over how many cases, in one sentence? Which they are stands in the summary
 * and in the picture.
 */
export function predictionFinding({ pairs, kin }: Pick<CourtPrediction, "pairs" | "kin">): string {
  const own = pairs.filter((pair) => pair.derived_from === null);
  if (own.length === 0) return "There is no metric, or no impression, to set against the other.";
  const open = own.filter(({ claim }) => claim === "can't tell").length;
  const held = own.some(({ claim, goes_with }) => claim === "predicts" && goes_with === null);
  const shoes = counted(kin.shoes, "shoe");
  const over = held
    ? ` over ${shoes}, ${counted(kin.lines, "line")} and ${counted(kin.makers, "maker")}`
    : "";
  return `${claimCounts(own, over)}${
    open === 0 ? "" : `, and for ${open} these ${held ? "shoes" : shoes} can't tell`
  }.`;
}

/** How many pairs are claimed as what, those left open apart; a claim that none has is not spoken of. */
export function claimCounts(own: CourtPrediction["pairs"], over = ""): string {
  const claims = own.map(({ claim, goes_with }) =>
    claim === "predicts" && goes_with !== null ? "goes with a stronger one" : claim
  );
  const count = (claim: string) => claims.filter((given) => given === claim).length;
  const parts = [
    `${count("predicts") || "none"} ${
      count("predicts") > 1 ? "hold" : "holds"
    } up as a prediction${over}`,
    ...(["goes with a stronger one", "hint", "no sign of it"] as const).flatMap((claim) => {
      const found = count(claim);
      if (found === 0) return [];
      const [one, more] = {
        "goes with a stronger one": ["goes with a stronger one", "go with a stronger one"],
        "hint": ["is a hint (of hints one in ten is chance)", "are hints (one in ten is chance)"],
        "no sign of it": ["shows no sign of it", "show no sign of it"],
      }[claim];
      return [`${found} ${found === 1 ? one : more}`];
    }),
  ].join(", ");
  return `Of ${counted(own.length, "pair")} of a metric and an impression, ${parts}`;
}
