import { type JsonFile, problemAt } from "./json_file.ts";
import { quoted } from "./problem.ts";
import { didYouMean } from "./read_trials.ts";
import { canonicalJson, canonicalSha256 } from "./canonical_json.ts";
import type {
  Attribute,
  BenchSettings,
  Decision,
  Feature,
  IndexRule,
  Metric,
  Problem,
  RuleProposal,
  Scaling,
} from "./types.ts";

/** A rule with the file it stands in, and where in that file. */
export type PlacedRule = {
  readonly json: JsonFile;
  readonly path: readonly PropertyKey[];
  readonly rule: IndexRule;
};

/** What rules may name; null where that could not be read, so that nothing is checked against it. */
export type RuleNames = {
  readonly rules: readonly IndexRule[] | null;
  readonly metrics: readonly Metric[] | null;
  readonly features: readonly Feature[];
  readonly attributes: readonly Attribute[] | null;
};

/** Checks rules against the metrics, features, attributes and each other. */
export function checkRules(
  rules: readonly PlacedRule[],
  names: RuleNames,
  onProblem: (problem: Problem) => void,
): void {
  for (const placed of rules) checkRule(placed, names, "error", onProblem);
  rules.forEach(({ json, rule }, i) => {
    const others = rules.slice(0, i).filter((other) => other.rule.id === rule.id);
    const sameVersion = others.find((other) => other.rule.version === rule.version);
    if (sameVersion) {
      onProblem(problemAt(json, ["version"], "", ["version"], {
        found: `version ${quoted(rule.version)} of ${quoted(rule.id)} again`,
        expected: `each version of an index once (the first is in ${sameVersion.json.file})`,
        fix: "Give the newer rule a version of its own; another index has an id of its own.",
      }));
    }
    const sameDay = others.find((other) => other.rule.effective === rule.effective);
    if (sameDay) {
      onProblem(problemAt(json, ["effective"], "", ["effective"], {
        found: quoted(rule.effective),
        expected: `a day on which no other rule of ${
          quoted(rule.id)
        } takes effect (${sameDay.json.file} does)`,
        fix: "Else nobody can say which is in force; another index has an id of its own.",
      }));
    }
    const turned = others.find((other) => other.rule.target_attribute !== rule.target_attribute);
    if (turned) {
      onProblem(
        problemAt(json, ["target_attribute"], "", ["target_attribute"], {
          found: `${quoted(rule.target_attribute)} under the id ${quoted(rule.id)}`,
          expected: `${
            quoted(turned.rule.target_attribute)
          }, as in ${turned.json.file}: versions of one index stand for one impression`,
          fix: "Give a rule for another impression an id of its own.",
        }),
      );
    }
  });
}

/** Checks a proposal against the bench and the rule that it stands against. */
export function checkProposal(
  { json, proposal }: {
    readonly json: JsonFile;
    readonly proposal: RuleProposal;
  },
  names: RuleNames,
  onProblem: (problem: Problem) => void,
): void {
  const { rule, against } = proposal;
  checkRule({ json, path: ["rule"], rule }, names, "warning", onProblem);
  if (names.rules === null) return;
  const report = (
    path: readonly PropertyKey[],
    trouble: Parameters<typeof problemAt>[4],
  ) => onProblem(problemAt(json, path, "", path, trouble));
  const own = names.rules.filter(({ id }) => id === rule.id);
  const found = own.find(({ version }) => version === against);
  if (own.length === 0) {
    const ids = [...new Set(names.rules.map(({ id }) => id))];
    report(["rule", "id"], {
      found: quoted(rule.id),
      expected: ids.length === 0 ? "the id of a rule in rules/" : `a rule's id: ${ids.join(", ")}`,
      fix:
        "A proposal stands against a rule of its own id; a new index goes into rules/ as it is, as there is nothing to compare it with.",
    });
  } else if (found === undefined) {
    report(["against"], {
      found: quoted(against),
      expected: `a version of ${quoted(rule.id)}: ${own.map(({ version }) => version).join(", ")}`,
    });
  } else if (
    found.target_attribute !== rule.target_attribute &&
    // Else the rule itself is wrong, which is said of it.
    (names.attributes ?? []).some(({ id }) => id === found.target_attribute)
  ) {
    report(["rule", "target_attribute"], {
      found: quoted(rule.target_attribute),
      expected: `${quoted(found.target_attribute)}, which version ${against} stands for`,
      fix: "Give a rule for another impression an id of its own.",
    });
  }
}

/** An adopted rule that was edited is another rule. */
export function checkAdopted(
  rules: readonly PlacedRule[],
  decisions: readonly Decision[],
  onProblem: (problem: Problem) => void,
): void {
  for (const { about, content_sha256, date, kind } of decisions) {
    if (kind !== "rule adopted" || content_sha256 === null) continue;
    const placed = rules.find(({ rule }) => `${rule.id}/${rule.version}` === about);
    if (
      placed === undefined ||
      canonicalSha256(placed.json.value) === content_sha256
    ) continue;
    onProblem(problemAt(placed.json, [], "", [], {
      found: `a rule changed since it was adopted on ${date} (decisions.csv)`,
      expected: "the rule that was adopted, to the last digit",
      fix: "Take the file back from a copy, and put the change into a version of its own.",
    }));
  }
}

/** Which index is meant must be said where there are several. */
export function checkMainIndex(
  json: JsonFile,
  { main_index }: BenchSettings,
  rules: readonly PlacedRule[],
  onProblem: (problem: Problem) => void,
): void {
  const ids = [...new Set(rules.map(({ rule }) => rule.id))];
  if (
    main_index === null ? ids.length < 2 : ids.includes(main_index) || ids.length === 0
  ) return;
  onProblem(problemAt(json, ["main_index"], "", ["main_index"], {
    found: main_index === null ? "no main_index" : quoted(main_index),
    expected: `the id of a rule that 'the index' means: ${ids.join(", ")}`,
    fix: main_index === null
      ? `Add "main_index": "${ids[0]}" to bench.json.`
      : didYouMean(main_index, ids, "Write one of these ids."),
  }));
}

function checkRule(
  { json, path, rule }: PlacedRule,
  { metrics, features, attributes }: RuleNames,
  unknownFeature: Problem["severity"],
  onProblem: (problem: Problem) => void,
): void {
  const report = (
    steps: readonly PropertyKey[],
    trouble: Parameters<typeof problemAt>[4],
  ) => onProblem(problemAt(json, [...path, ...steps], "", [...path, ...steps], trouble));

  if (attributes !== null && !attributes.some(({ id }) => id === rule.target_attribute)) {
    const ids = attributes.map(({ id }) => id);
    report(["target_attribute"], {
      found: quoted(rule.target_attribute),
      expected: "an attribute of bench.json",
      fix: didYouMean(rule.target_attribute, ids, "Add the attribute to bench.json."),
    });
  }
  rule.terms.forEach(({ metric: id, scaling }, i) => {
    const same = (term: IndexRule["terms"][number]) =>
      term.metric === id &&
      canonicalJson(term.scaling) === canonicalJson(scaling);
    if (rule.terms.findIndex(same) !== i) {
      report(["terms", i, "metric"], {
        found: `${quoted(id)} again, scaled alike`,
        expected: "each metric once a scaling",
        fix: "Put the two weights together.",
      });
      return;
    }
    if (metrics === null) return;
    const metric = metrics.find((one) => one.id === id);
    if (metric === undefined) {
      report(["terms", i, "metric"], {
        found: quoted(id),
        expected: "a metric of metrics.json",
        fix: didYouMean(id, metrics.map((one) => one.id), "Add the metric to metrics.json."),
      });
    } else if (isTurned(metric, scaling)) {
      report(["terms", i, "scaling"], {
        found: scaling.kind === "range"
          ? `low ${scaling.low}, high ${scaling.high}`
          : "steps that score the worse shoe more",
        expected: scaling.kind === "range"
          ? `a ${metric.better === "higher" ? "low below" : "low above"} the high, ` +
            `as ${metric.better} is better in ${id}`
          : `steps whose score rises as the shoe gets better, as ${metric.better} is better in ${id}`,
        fix: "As it stands, the better shoe gets fewer points.",
        severity: "warning",
      });
    }
  });
  const featureIds = [...new Set(features.map(({ feature_id }) => feature_id))];
  rule.bonuses.forEach(({ feature: id }, i) => {
    if (rule.bonuses.findIndex(({ feature }) => feature === id) !== i) {
      const trouble = { found: `${quoted(id)} again`, expected: "each feature once" };
      report(["bonuses", i, "feature"], trouble);
    } else if (!featureIds.includes(id)) {
      report(["bonuses", i, "feature"], {
        found: quoted(id),
        expected: "a feature of features.csv",
        fix: didYouMean(
          id,
          featureIds,
          "Add rows that say which shoes have it, or take the bonus out.",
        ),
        // Where no feature has been written down at all, the table is still to be filled.
        severity: features.length === 0 ? "warning" : unknownFeature,
      });
    }
  });
}

function isTurned({ better }: Metric, scaling: Scaling): boolean {
  if (
    better !== "higher" && better !== "lower" || scaling.kind === "standard"
  ) return false;
  const rises = scaling.kind === "range" ? scaling.low < scaling.high : stepsRise(scaling.at);
  return rises !== null && rises === (better === "lower");
}

/** Whether more of the metric scores more; null where that can't be said. */
function stepsRise(
  steps: readonly (readonly [number, number])[],
): boolean | null {
  const [first, last] = [steps[0], steps.at(-1)!];
  if (steps.length === 1 || first[1] === last[1]) return null;
  return (last[0] > first[0]) === (last[1] > first[1]);
}
