import { boundInUnit } from "../words/unit_words.ts";
import type { ViewerAnswer } from "../studies/questions/viewer_question.ts";
import type { BestShoes } from "../studies/questions/best_shoes.ts";
import type { IndexVersions } from "../studies/questions/index_versions.ts";
import type { LabelFit } from "../studies/questions/label_fit.ts";
import type { LikeShoes } from "../studies/questions/like_shoes.ts";
import type { MakerStanding } from "../studies/questions/maker_standing.ts";
import type { PanelDivision } from "../studies/questions/panel_division.ts";
import type { ShoeProfile } from "../studies/questions/shoe_profile.ts";
import type { SizeChange } from "../studies/questions/size_change.ts";
import type { TestChange } from "../studies/questions/test_change.ts";
import type { MetricLink } from "../studies/questions/metric_link.ts";
import { measured } from "../words/comparison/answer_words.ts";
import { signedMm } from "../words/questions/label_words.ts";
import { dividedWords } from "../words/questions/panel_words.ts";
import { standsWords } from "../words/questions/profile_words.ts";
import { changeWords, stepWords } from "../words/questions/size_words.ts";
import { placesOf } from "../words/questions/version_words.ts";
import { sayReason } from "../words/reasons.ts";
import { sizeLabel } from "../words/size_label.ts";
import { interval, table, text } from "./report_table.ts";
import { pFigure, pText, signed } from "../words/phrases.ts";

/** The figures of an answer about the catalogue as a whole, or about one shoe among all. */
export function moreFigures(answer: ViewerAnswer): string[] {
  switch (answer.question) {
    case "link":
      return linkFigures(answer);
    case "best":
      return bestFigures(answer);
    case "profile":
      return profileFigures(answer);
    case "like":
      return likeFigures(answer);
    case "makers":
      return makerFigures(answer);
    case "panel":
      return divisionFigures(answer);
    case "runs":
      return labelFigures(answer);
    case "index":
      return versionFigures(answer);
    case "drift":
      return testFigures(answer);
    case "sizes":
      return sizeFigures(answer);
  }
}

/** A link's figures: every shoe that has both. */
function linkFigures({ pair, metric, attribute }: MetricLink): string[] {
  const { spearman: rho } = pair;
  return [
    ...(rho.estimate === null ? [] : [
      `Rank correlation ${signed(rho.estimate)}${
        rho.lower === null ? "" : ` (${signed(rho.lower)} to ${signed(rho.upper!)})`
      } over ${rho.n} shoes: ${text(rho.method)}. Claim: ${pair.claim}.`,
    ]),
    table(
      ["Shoe", metric.title, attribute.title, "Lowest tester", "Highest tester"],
      pair.points.map((point) => [
        text(point.name),
        point.bound === undefined
          ? measured(point.metric_value, metric)
          : boundInUnit(point.bound, { unit: metric.unit!, decimals: metric.decimals }),
        measured(point.panel_value, attribute),
        measured(point.panel_low, attribute),
        measured(point.panel_high, attribute),
      ]),
    ),
  ];
}

/** The first places and all others that were looked at. */
function bestFigures({ shoes, on, method }: BestShoes): string[] {
  return [
    `Method: ${text(method)}.`,
    table(
      ["Place by value", "Shoe", "Value", "Interval", "Shown ahead of it", "Word", "Price"],
      shoes.map((shoe) => [
        String(shoe.place),
        text(shoe.name),
        measured(shoe.value, on, shoe),
        interval(shoe.lower, shoe.upper, on),
        String(shoe.ahead),
        shoe.word,
        shoe.price === null ? "" : text(`${shoe.price} ${shoe.currency ?? ""}`.trim()),
      ]),
    ),
  ];
}

/** A profile: every strip. */
function profileFigures({ strips, method }: ShoeProfile): string[] {
  return [
    `Method: ${text(method)}.`,
    table(
      ["On", "Value", "Interval", "Readings", "Shown higher", "Shown lower", "Word"],
      strips.map((strip) => [
        text(strip.on.title),
        strip.value === null
          ? text(sayReason(strip.value_reason!))
          : measured(strip.value, strip.on, strip),
        interval(strip.lower, strip.upper, strip.on),
        String(strip.readings),
        String(strip.higher),
        String(strip.lower_ones),
        standsWords(strip),
      ]),
    ),
  ];
}

/** The nearest shoes; how far off one could truly be is said of those that can't be told apart. */
function likeFigures({ shoes, method }: LikeShoes): string[] {
  const isBounded = shoes.some(({ distance_at_most }) => distance_at_most !== null);
  return [
    `Method: ${text(method)}.`,
    table(
      [
        "Shoe",
        "Distance in noise",
        "Metrics",
        "Word",
        "Differs on",
        "p of all together",
        ...(isBounded ? ["True distance at most"] : []),
        "Price",
      ],
      shoes.map((shoe) => [
        text(shoe.name),
        shoe.distance.toFixed(2),
        String(shoe.metrics),
        shoe.word,
        shoe.word === "told apart" && shoe.differs_on.length === 0
          ? "all tests together"
          : text(shoe.differs_on.join(", ")),
        pText(shoe.joint_p_adjusted),
        ...(isBounded ? [shoe.distance_at_most?.toFixed(2) ?? ""] : []),
        shoe.price === null ? "" : text(`${shoe.price} ${shoe.currency ?? ""}`.trim()),
      ]),
    ),
  ];
}

/** Makers, and every two of them. */
function makerFigures({ makers, pairs, on, method }: MakerStanding): string[] {
  return [
    `Method: ${text(method)}.`,
    table(
      ["Maker", "Mean of lines", "Interval", "Lines", "Shoes"],
      makers.map(({ maker, value, lines, shoes }) => [
        text(maker),
        measured(value.estimate!, on, value),
        interval(value.lower, value.upper, on),
        String(lines),
        String(shoes),
      ]),
    ),
    table(
      ["Difference of", "Difference", "Interval", "Word"],
      pairs.map(({ a, b, difference, word }) => [
        text(`${a} minus ${b}`),
        difference.estimate === null
          ? text(sayReason(difference.estimate_reason!))
          : measured(difference.estimate, on, difference),
        interval(difference.lower, difference.upper, on),
        word,
      ]),
    ),
  ];
}

/** What divides the panel, the widest first, and who is lenient. */
function divisionFigures({ divided, attributes, method }: PanelDivision): string[] {
  return [
    `Method: ${text(method)}`,
    table(
      [
        "Shoe",
        "On",
        "Testers",
        "Lowest, leniency out",
        "Mean",
        "Highest, leniency out",
        "p over all",
        "Word",
      ],
      divided.slice(0, 20).map((shoe) => [
        text(shoe.name),
        text(shoe.title),
        String(shoe.testers),
        shoe.low.toFixed(1),
        shoe.value.toFixed(1),
        shoe.high.toFixed(1),
        text(pFigure(shoe.p_familywise)),
        dividedWords(shoe),
      ]),
    ),
    table(
      ["Tester", "On", "Ratings", "Above the panel", "Interval"],
      attributes.flatMap(({ title, use }) =>
        use.map(({ tester, ratings, leniency: { estimate, lower, upper } }) => [
          text(tester),
          text(title),
          String(ratings),
          estimate === null ? "" : signed(estimate),
          lower === null || upper === null ? "" : `${signed(lower)} to ${signed(upper)}`,
        ])
      ),
    ),
  ];
}

/** Every shoe against its label. */
function labelFigures({ shoes, method }: LabelFit): string[] {
  return [
    `Method: ${text(method)}.`,
    table(
      ["Shoe", "Label", "Over the foot on the label", "Against the usual", "Interval, mm", "Word"],
      shoes.map((shoe) => [
        text(shoe.name),
        sizeLabel(`${shoe.size_system} ${shoe.size}`),
        signedMm(shoe.excess_mm),
        signedMm(shoe.against_usual_mm),
        shoe.lower === null || shoe.upper === null
          ? ""
          : `${signed(shoe.lower, 1)} to ${signed(shoe.upper, 1)}`,
        shoe.word,
      ]),
    ),
  ];
}

/** One shoe under every version of the index. */
function versionFigures({ versions, method }: IndexVersions): string[] {
  return [
    `Method: ${text(method)}.`,
    table(
      ["Version", "In force", "Score then", "Place then", "Score now", "Places now"],
      versions.map((row) => [
        text(row.version),
        `${row.effective} to ${row.until}`,
        row.then?.score == null ? "none" : row.then.score.toFixed(2),
        row.then?.rank == null ? "none" : String(row.then.rank),
        row.score === null ? text(sayReason(row.score_reason!)) : row.score.toFixed(2),
        placesOf(row),
      ]),
    ),
  ];
}

/** A test's change a year, rig by rig. */
function testFigures({ rigs, on }: TestChange): string[] {
  return [table(
    ["Rig", "Sessions", "From", "To", "Change a year", "Interval", "p over all", "Word"],
    rigs.map((rig) => [
      text(rig.rig ?? "not named"),
      String(rig.sessions),
      rig.from ?? "",
      rig.to ?? "",
      rig.slope.estimate === null
        ? text(sayReason(rig.slope.estimate_reason!))
        : measured(rig.slope.estimate, on, rig.slope),
      interval(rig.slope.lower, rig.slope.upper, on),
      rig.p_familywise === null ? "" : text(pFigure(rig.p_familywise)),
      rig.verdict,
    ]),
  )];
}

/** Pairs in another size. */
function sizeFigures({ pairs, on, method }: SizeChange): string[] {
  return [
    `Method: ${text(method)}.`,
    table(
      ["Shoe", "Sizes", "Published", "Other", "Change", "Word"],
      pairs.map((pair) => [
        text(pair.name),
        text(stepWords(pair)),
        measured(pair.published_value, on),
        measured(pair.value, on),
        text(changeWords(pair, on)),
        pair.word,
      ]),
    ),
  ];
}
