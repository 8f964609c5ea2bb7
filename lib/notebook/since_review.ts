import * as option from "../options.ts";
import {
  benchUntil,
  lastQuarterWithData,
  previousQuarter,
  quarterEnd,
} from "../records/quarters.ts";
import type { Bench } from "../records/types.ts";
import {
  decisionsBetween,
  type FoundReview,
  indexSteps,
  readReview,
} from "../studies/changes/mod.ts";
import { inBackground } from "./in_background.ts";

/**
 * Which review is this quarter's held against?
 *
 * The file named by `since`, else the quarter before as today's files give it, worked out on another
 * processor while the notebook goes on. A quarter without data is passed over for the last one with some.
 *
 * @param since path of an earlier review's JSON; empty for the quarter before
 * @throws {RangeError} if the file is no earlier review of this bench; the message says what was found
 */
export async function sinceReview(
  everything: Bench,
  { since, quarter, seed }: {
    readonly since: string;
    readonly quarter: string;
    readonly seed: number;
  },
): Promise<FoundReview> {
  option.check("sinceReview", arguments[1], {
    since: option.needed(option.text),
    quarter: option.needed(option.text),
    seed: option.needed(option.seed),
  });
  const until = quarterEnd(quarter);
  const decidedSince = (earlier: string) =>
    decisionsBetween(everything, { after: quarterEnd(earlier), until });
  if (since !== "") {
    const read = readReview(await Deno.readTextFile(since), {
      bench: everything,
      quarter,
    });
    if (read.trouble !== null) {
      const { trouble } = read;
      throw new RangeError(
        `Found ${trouble.found}, expected ${trouble.expected}. ${trouble.fix}`,
      );
    }
    const { state, corrected } = read;
    const steps = indexSteps(everything, {
      quarter: state.quarter,
      until,
      ...(corrected === null ? {} : { corrected }),
    });
    const decisions = decidedSince(state.quarter);
    return { state, steps, earlier: "read", decisions, looked: [] };
  }
  const before = lastQuarterWithData(
    benchUntil(everything, quarterEnd(previousQuarter(quarter))),
  );
  if (before === null) return null;
  const review = await inBackground("earlierReview", everything, { quarter: before, until, seed });
  return { ...review, earlier: "worked out", decisions: decidedSince(before) };
}
