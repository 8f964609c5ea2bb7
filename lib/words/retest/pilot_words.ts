import type { PilotPlan } from "../../studies/retest/pilot_plan.ts";
import { counted, listed, midSentence } from "../phrases.ts";

/**
 * What a pilot is for, and what it takes; null where none is needed.
 *
 * @param shown the visits of it that there is time for
 */
export function pilotSentence(pilot: PilotPlan, shown: PilotPlan["visits"]): string | null {
  if (shown.length === 0) return null;
  const titles = [...new Set(shown.map(({ title }) => midSentence(title)))];
  const shoes = new Set(shown.map(({ shoe_id }) => shoe_id)).size;
  const minutes = Math.round(shown.reduce((sum, one) => sum + one.minutes, 0));
  const rest = pilot.metrics.length - titles.length;
  return `A pilot comes first: the noise of ${listed(titles)} is unknown, and ${
    counted(shown[0].trials, "reading")
  } each of ${counted(shoes, "shoe")} tell it, in about ${minutes} minutes${
    rest === 0
      ? ""
      : rest === 1
      ? "; 1 more metric waits for its own"
      : `; ${rest} more metrics wait for theirs`
  }.`;
}
