import { nearestName } from "../similar_names.ts";

/** Keys that a rule or a proposal may have, by where they stand. */
const KEYS: readonly (readonly [place: RegExp, keys: readonly string[]])[] = [
  [/(^|\.)scaling$/, ["kind", "low", "high", "at"]],
  [/(^|\.)terms\[\]$/, ["metric", "weight", "scaling"]],
  [/(^|\.)bonuses\[\]$/, ["feature", "points"]],
  [/(^|\.)where$/, ["surface"]],
  [/^criteria$/, ["min_gain", "max_rank_moves", "min_coverage", "confidence"]],
];
const RULE = [
  "id",
  "version",
  "title",
  "effective",
  "target_attribute",
  "terms",
  "bonuses",
  "multiplier",
  "offset",
  "missing",
  "where",
  "note",
];
const PROPOSAL = [
  "id",
  "title",
  "asked_on",
  "asked_by",
  "against",
  "rule",
  "criteria",
  "fitted_until",
  "note",
];

/** What people write for things that a rule says otherwise. */
const OTHERWISE: Readonly<Record<string, string>> = {
  cap: "A range is a cap: its high scores 1, and nothing beyond it scores more.",
  ceiling: "A range is a cap: its high scores 1, and nothing beyond it scores more.",
  max: "A range is a cap: its high scores 1, and nothing beyond it scores more.",
  floor: "A range is a floor: its low scores 0, and nothing beyond it scores less.",
  min: "A range is a floor: its low scores 0, and nothing beyond it scores less.",
  surface: 'A rule for some courts says so once, beside its terms: "where": {"surface": ["clay"]}.',
  court: 'A rule for some courts says so once, beside its terms: "where": {"surface": ["clay"]}.',
  threshold: 'A threshold is a scaling: {"kind": "steps", "at": [[38, 1]]}.',
  tiers: 'Tiers are a scaling: {"kind": "steps", "at": [[30, 0.3], [34, 0.7], [38, 1]]}.',
  points: 'Points of a term are its "weight"; a bonus has points.',
  divide_by: 'A ratio is a metric of its own, with "derive" in metrics.json.',
  ratio: 'A ratio is a metric of its own, with "derive" in metrics.json.',
};

/** What to do about a key of a rule or a proposal that nothing reads: the nearest one, or another way to say it. */
export function unknownRuleKey(
  path: readonly PropertyKey[],
  key: string,
): string {
  const place = path.reduce<string>(
    (text, step) =>
      typeof step === "number"
        ? `${text}[]`
        : text === ""
        ? String(step)
        : `${text}.${String(step)}`,
    "",
  );
  const [, keys] = KEYS.find(([pattern]) => pattern.test(place)) ??
    [null, place === "rule" ? RULE : [...RULE, ...PROPOSAL]];
  const near = nearestName(key, keys);
  const other = OTHERWISE[key.toLowerCase()];
  return [
    ...(near === null ? [] : [`Did you mean ${near}?`]),
    ...(other === undefined ? [] : [other]),
    ...(near === null && other === undefined ? [`Here there may be ${keys.join(", ")}.`] : []),
  ].join(" ");
}
