import { benchCaution } from "../../metrics/cautions.ts";
import type { IndexVersions, VersionScore } from "../../studies/questions/index_versions.ts";
import { aboutOf, saidOf, type Told } from "../comparison/told.ts";

/** A shoe under every version of the index, in words. */
export function versionWords(result: IndexVersions): Told {
  const sentence = saidOf(versionSentence(result), result);
  return {
    sentence,
    alt: `${sentence} Places it could have under each version, on today's data.`,
    notes: [
      `${
        result.versions.length === 1
          ? ""
          : "Scores of two versions are not on one scale; places are. "
      }Places hold together over all shoes.`,
      ...result.versions.flatMap(({ version, then, until }) =>
        then === null ? [`Under version ${version} it had no score yet.`] : [
          `Version ${version}, as it stood on ${then.date}${
            then.date === until ? ", its last day" : ""
          }: ${then.score!.toFixed(2)}${then.rank === null ? "" : `, place ${then.rank}`}.`,
        ]
      ),
    ],
    cautions: [benchCaution],
    ...aboutOf(result),
  };
}

/** The places a shoe could have. */
export function placesOf({ rank, rank_lower, rank_upper, placed }: VersionScore): string {
  if (rank === null) return "no place";
  return rank_lower === null || rank_upper === null
    ? `place ${rank} of ${placed}, how sure can't be told`
    : rank_lower === rank_upper
    ? `place ${rank} of ${placed}`
    : `place ${rank_lower} to ${rank_upper} of ${placed}`;
}

function versionSentence({ name, versions }: IndexVersions): string {
  const said = versions.map((row) => {
    const then = row.then === null || row.then.score === null || row.in_force
      ? ""
      : `gave it ${row.then.score.toFixed(2)} on ${row.then.date} and `;
    const now = row.score === null
      ? "has no score for it on today's data"
      : `${row.in_force ? "gives" : "would give"} ${row.score.toFixed(2)} on today's data (${
        placesOf(row)
      })`;
    return `version ${row.version}${row.in_force ? ", in force," : ""} ${then}${now}`;
  });
  return `${name}: ${said.join("; ")}.`;
}
