import { quoted } from "./problem.ts";
import type { Metric, Pair, Problem, Session, Trial } from "./types.ts";

/** Rows of `pairs.csv` with the line of each. */
type PlacedPairs = { readonly rows: readonly Pair[]; readonly lines: readonly number[] };

/**
 * Does what is said about pairs hold together: each once, of a known shoe, with a size where sizes differ?
 *
 * @param known whether a shoe is in shoes.csv, or has problems of its own there
 */
export function checkPairs(
  { rows, lines }: PlacedPairs,
  known: (shoe: string) => boolean,
  onProblem: (problem: Problem) => void,
): void {
  const lineOf = new Map<string, number>();
  const problem = (i: number, column: string, found: string, expected: string, fix: string) =>
    onProblem({
      file: "pairs.csv",
      line: lines[i],
      column,
      found,
      expected,
      fix,
      severity: "error",
    });
  rows.forEach(({ shoe_id, pair, size }, i) => {
    if (!known(shoe_id)) {
      const fix = "Correct it, or add the shoe to shoes.csv.";
      problem(i, "shoe_id", quoted(shoe_id), "a shoe of shoes.csv", fix);
    }
    const key = JSON.stringify([shoe_id, pair]);
    const earlier = lineOf.get(key);
    if (earlier !== undefined) {
      const expected = `one row a pair (the first is on line ${earlier})`;
      problem(i, "pair", `pair ${pair} of ${shoe_id} again`, expected, "Take one of the two away.");
      return;
    }
    lineOf.set(key, lines[i]);
    const others = rows.filter((other) => other.shoe_id === shoe_id && other.size !== null);
    if (size === null && new Set(others.map((other) => other.size)).size > 1) {
      const expected = `a size, as the pairs of ${shoe_id} differ in it`;
      problem(i, "size", "nothing", expected, "Write the size printed in the pair.");
    }
  });
}

/**
 * Which readings say that a pair grew younger, or tell of wear in a note instead of in `hours_played`?
 *
 * Hours of one pair never go down over its sessions. A note such as "after 20 h" is for people: no study
 * reads it, so that the reading would count as one of a new pair.
 */
export function checkHours(
  trials: readonly Trial[],
  sessions: readonly Session[],
  onProblem: (problem: Problem) => void,
): void {
  const dates = new Map(sessions.map(({ session_id, date }) => [session_id, date]));
  const place = { file: "trials.csv", column: "hours_played" } as const;
  const worn = new Set(
    trials.filter(({ hours_played }) => (hours_played ?? 0) > 0).map(pairKey),
  );
  const byPair = Map.groupBy(trials.filter((trial) => worn.has(pairKey(trial))), pairKey);
  for (const own of byPair.values()) {
    const ordered = own.toSorted((a, b) => {
      const [x, y] = [dates.get(a.session_id)!, dates.get(b.session_id)!];
      return x < y ? -1 : x > y ? 1 : a.line - b.line;
    });
    let most = ordered[0];
    for (const trial of ordered) {
      const [hours, before] = [trial.hours_played ?? 0, most.hours_played ?? 0];
      if (hours < before && dates.get(trial.session_id)! > dates.get(most.session_id)!) {
        onProblem({
          ...place,
          line: trial.line,
          found: trial.hours_played === null ? "nothing" : `${hours} h`,
          expected: `${before} h or more, as line ${most.line} has it for this pair earlier on`,
          fix: "Write the hours, or give a new pair a number of its own in pair.",
          severity: "error",
        });
        break;
      }
      if (hours >= before) most = trial;
    }
  }
  const told = trials.find(({ note, hours_played }) =>
    hours_played === null && note !== null && TELLS_HOURS.test(note)
  );
  if (told !== undefined) {
    onProblem({
      ...place,
      line: told.line,
      found: `nothing beside the note ${quoted(told.note!)}`,
      expected: "the hours here, where studies read them",
      fix: "Without them a worn pair counts as new.",
      severity: "warning",
    });
  }
}

const TELLS_HOURS =
  /\b(?:after|nach|worn|played)\b[^0-9]{0,20}\d+(?:[.,]\d+)?\s*h(?:ours?|rs?)?\b/i;

function pairKey({ shoe_id, pair }: Trial): string {
  return JSON.stringify([shoe_id, pair]);
}

/** Which reference shoes were never benched on a rig that others were benched on? A drift there stays unseen. */
export function checkReferences(
  references: readonly string[],
  metrics: readonly Metric[],
  sessions: readonly Session[],
  trials: readonly Trial[],
  onProblem: (problem: Problem) => void,
): void {
  if (references.length === 0) return;
  const rigOf = new Map(sessions.map(({ session_id, rig }) => [session_id, rig]));
  const rigs = new Set<string>();
  const linked = new Set<string>();
  for (const { session_id, shoe_id, value } of trials) {
    const rig = rigOf.get(session_id) ?? null;
    if (rig === null || value === null) continue;
    rigs.add(rig);
    if (references.includes(shoe_id)) linked.add(rig);
  }
  if (metrics.length === 0 || rigs.size < 2) return;
  for (const rig of rigs) {
    if (linked.has(rig)) continue;
    onProblem({
      file: "sessions.csv",
      line: null,
      column: "rig",
      found: `no reading of a reference shoe on ${quoted(rig)}`,
      expected: "a reference shoe benched on every rig",
      fix: "Bench one there: until then nobody can tell what the rig adds.",
      severity: "warning",
    });
  }
}

/** Which sessions lack a figure of the room that a metric read there is known to depend on? */
export function checkWeather(
  metrics: readonly Metric[],
  sessions: readonly Session[],
  trials: readonly Trial[],
  onProblem: (problem: Problem) => void,
): void {
  for (const column of ["temperature_c", "humidity_pct"] as const) {
    const depending = metrics.filter(({ depends_on }) => depends_on?.includes(column));
    if (depending.length === 0) continue;
    const ids = new Set(depending.map(({ id }) => id));
    const read = new Set(
      trials.filter(({ metric_id }) => ids.has(metric_id)).map(({ session_id }) => session_id),
    );
    const lacking = sessions.filter((one) => read.has(one.session_id) && one[column] === null);
    if (lacking.length === 0) continue;
    onProblem({
      file: "sessions.csv",
      line: null,
      column,
      found: `nothing in ${lacking.length} of ${read.size} sessions, such as ${
        lacking[0].session_id
      }`,
      expected: `a figure, as ${depending.map(({ id }) => id).join(", ")} depends on it`,
      fix: "Write it down each session: without it nobody can tell the room from the shoe.",
      severity: "warning",
    });
  }
}
