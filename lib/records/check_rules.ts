import { type JsonFile, problemAt } from "./json_file.ts";
import { quoted } from "./problem.ts";
import { didYouMean } from "./read_trials.ts";
import type { Attribute, Feature, IndexRule, Metric, Problem, RuleProposal } from "./types.ts";

/** A rule with the file it stands in, and where in that file. */
export type PlacedRule = {
  readonly json: JsonFile;
  readonly path: readonly PropertyKey[];
  readonly rule: IndexRule;
};

/** A proposal with the file it stands in. */
export type PlacedProposal = { readonly json: JsonFile; readonly proposal: RuleProposal };

/** What rules may name; null where that could not be read, so that nothing is checked against it. */
export type RuleNames = {
  readonly versions: readonly string[] | null;
  readonly metrics: readonly Metric[] | null;
  readonly features: readonly Feature[];
  readonly attributes: readonly Attribute[] | null;
};

/** Checks rules and proposals against the metrics, features, attributes and each other. */
export function checkRules(
  rules: readonly PlacedRule[],
  proposals: readonly PlacedProposal[],
  names: RuleNames,
  onProblem: (problem: Problem) => void,
): void {
  for (const placed of rules) checkRule(placed, names, "error", onProblem);
  rules.forEach(({ json, rule }, i) => {
    const others = rules.slice(0, i);
    const sameVersion = others.find((other) => other.rule.version === rule.version);
    if (sameVersion) {
      onProblem(problemAt(json, ["version"], "", ["version"], {
        found: `version ${quoted(rule.version)} again`,
        expected: `each version once (the first is in ${sameVersion.json.file})`,
        fix: "Give the newer rule a version of its own.",
      }));
    }
    const sameDay = others.find((other) => other.rule.effective === rule.effective);
    if (sameDay) {
      onProblem(problemAt(json, ["effective"], "", ["effective"], {
        found: quoted(rule.effective),
        expected: `a day on which no other rule takes effect (${sameDay.json.file} does)`,
        fix: "Else nobody can say which is in force.",
      }));
    }
  });
  const { versions } = names;
  proposals.forEach(({ json, proposal }, i) => {
    checkRule({ json, path: ["rule"], rule: proposal.rule }, names, "warning", onProblem);
    if (versions !== null && !versions.includes(proposal.against)) {
      onProblem(problemAt(json, ["against"], "", ["against"], {
        found: quoted(proposal.against),
        expected: versions.length === 0
          ? "the version of a rule in rules/"
          : `a rule's version: ${versions.join(", ")}`,
      }));
    }
    const same = proposals.slice(0, i).find((other) => other.proposal.id === proposal.id);
    if (same) {
      onProblem(problemAt(json, ["id"], "", ["id"], {
        found: `${quoted(proposal.id)} again`,
        expected: `each id once (the first is in ${same.json.file})`,
      }));
    }
  });
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
    if (rule.terms.findIndex(({ metric }) => metric === id) !== i) {
      const trouble = { found: `${quoted(id)} again`, expected: "each metric once" };
      report(["terms", i, "metric"], trouble);
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
    } else if (scaling.kind === "range" && isTurned(metric, scaling)) {
      report(["terms", i, "scaling"], {
        found: `low ${scaling.low}, high ${scaling.high}`,
        expected: `a ${metric.better === "higher" ? "low below" : "low above"} the high, ` +
          `as ${metric.better} is better in ${id}`,
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
        severity: unknownFeature,
      });
    }
  });
}

function isTurned(metric: Metric, { low, high }: { readonly low: number; readonly high: number }) {
  return (metric.better === "higher" && low > high) || (metric.better === "lower" && low < high);
}
