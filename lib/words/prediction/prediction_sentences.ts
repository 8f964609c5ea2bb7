import type {
  AttributePrediction,
  CourtPrediction,
  PredictionPair,
} from "../../studies/prediction/types.ts";
import { claimCounts } from "./prediction_finding.ts";
import { over } from "./pair_sentence.ts";
import type { OrdinalCheck } from "../../studies/prediction/types.ts";
import type { ModelFit } from "../../studies/prediction/types.ts";
import { sayReason } from "../reasons.ts";
import { asSentence, counted, listed, midSentence, percent, signed } from "../phrases.ts";

/** What the bench says of one impression. */
export function attributeSentence(
  { attribute, title }: Pick<AttributePrediction, "attribute" | "title">,
  { pairs: all }: Pick<CourtPrediction, "pairs">,
): string {
  const pairs = all.filter((pair) => pair.attribute === attribute && pair.derived_from === null);
  const of = (claim: PredictionPair["claim"]) =>
    pairs.filter((pair) => pair.claim === claim && pair.spearman.estimate !== null)
      .toSorted((a, b) => Math.abs(b.spearman.estimate!) - Math.abs(a.spearman.estimate!));
  const named = (pair: PredictionPair) =>
    `${lowerFirst(pair.metric_title)} (${signed(pair.spearman.estimate!)}${
      pair.unknowing === null || pair.unknowing.borne_out ? "" : ", not yet seen blind"
    })`;
  const claimed = of("predicts");
  const direct = claimed.filter(({ goes_with }) => goes_with === null);
  const [hints, none, open] = [of("hint"), of("no sign of it"), of("can't tell")];
  const first = direct.length === 0
    ? `Nothing on the bench is shown to predict ${lowerFirst(title)}`
    : `${title} is predicted by ${listed(direct.map(named))}`;
  const indirect = claimed.filter(({ goes_with }) => goes_with !== null).map((pair) =>
    `${lowerFirst(pair.metric_title)} goes with ${lowerFirst(pair.goes_with!.metric_title)}`
  );
  const beside = indirect.length === 0
    ? ""
    : `; ${listed(indirect)} and ${indirect.length === 1 ? "is" : "are"} not counted`;
  const hint = hints.length === 0 ? "" : `; a hint from ${listed(hints.map(named))}`;
  const rest = [
    ...(none.length === 0 ? [] : [
      `${counted(none.length, "metric")} ${none.length === 1 ? "shows" : "show"} no sign of it`,
    ]),
    ...(open.length === 0 ? [] : [`for ${counted(open.length, "metric")} these shoes can't tell`]),
  ];
  const away = pairs.filter((pair) => pair.spearman.estimate === null).length;
  const claims = direct.length === 0 ? "" : ` ${standingText(direct[0])}.`;
  return `${first}${beside}${hint}.${claims}${
    rest.length === 0 ? "" : ` ${asSentence(rest.join(", and "))}.`
  }${away === 0 ? "" : ` ${asSentence(counted(away, "metric"))} can't be set against it.`}`;
}

function standingText(pair: PredictionPair): string {
  return `That stands over ${over(pair)}`;
}

/** Within a sentence; a comma stays one, since brackets follow. */
function lowerFirst(title: string): string {
  return /^\p{Lu}\p{Ll}/u.test(title) ? title[0].toLowerCase() + title.slice(1) : title;
}

/** What several metrics together come to. */
export function modelSentence(
  { title, model }: Pick<AttributePrediction, "title" | "model">,
): string {
  if (model === null) return `Metrics were not put together for ${title}.`;
  if (model.reason !== null) {
    return `Metrics can't be put together for ${title}: ${sayReason(model.reason)}.`;
  }
  const { ridge, nnls } = model;
  const { estimate, lower } = ridge.r2;
  const out = model.left_out.length === 0
    ? ""
    : ` Left out: ${
      listed(model.left_out.map((metric) => `${metric.title} (${sayReason(metric.reason)})`))
    }.`;
  const metrics = counted(model.metrics.length, "metric");
  const beside = `ridge, ${model.n} shoes; with weights that only reward the better direction ${
    nnls.r2.estimate === null ? "unknown" : signed(nnls.r2.estimate)
  }, ${r2Limits(nnls)}`;
  if (estimate === null || lower === null || lower <= 0) {
    const much = estimate !== null && estimate > 0
      ? `can't be shown to beat the plain mean on ${title} of shoes that the fit has not seen`
      : `do no better than the plain mean on ${title} of shoes that the fit has not seen`;
    return `Put together, ${metrics} ${much} (out-of-sample R² ${
      estimate === null ? "unknown" : signed(estimate)
    }, ${r2Limits(ridge)}, ${beside}).${out}`;
  }
  const [ahead] = model.shares.metrics;
  const share = ahead === undefined || ahead.lower === null || ahead.upper === null
    ? ""
    : ` ${
      model.shares.r2 !== null && ahead.share > model.shares.r2 / 2 ? "Most" : "The largest part"
    } of what is explained goes to ${ahead.title} (${percent(ahead.share)}, interval ${
      percent(ahead.lower)
    } to ${percent(ahead.upper)}).`;
  return `Together ${metrics} foretell ${
    percent(estimate)
  } of the differences in ${title} between shoes that the fit has not seen (R² ${
    signed(estimate)
  }, ${r2Limits(ridge)}, ${beside}), with a typical error of ${
    ridge.error!.toFixed(1)
  } rating points.${share}${out}`;
}

function r2Limits({ r2 }: ModelFit): string {
  return r2.lower === null || r2.upper === null
    ? "no interval"
    : `${Math.round(r2.confidence * 100)}% interval ${signed(r2.lower)} to ${signed(r2.upper)}`;
}

/** Do ratings taken as an order say the same? */
export function ordinalSentence({ agrees, reason, ratings, metrics }: OrdinalCheck): string {
  if (agrees === null) return `There is no ordinal check: ${sayReason(reason)}.`;
  const taken = `Taken as an order only, tester by tester, the ${ratings} ratings point`;
  return agrees
    ? `${taken} the same way.`
    : `${taken} the other way on ${
      metrics.filter(({ same_sign }) => !same_sign).map(({ title }) => title).join(", ")
    }: treat that with suspicion.`;
}

/** What the whole grid comes to. */
export function predictionSentence({ pairs }: Pick<CourtPrediction, "pairs">): string {
  const own = pairs.filter((pair) => pair.derived_from === null);
  if (own.length === 0) return "There is no metric, or no impression, to set against the other.";
  const predicts = own.filter(({ claim, goes_with }) => claim === "predicts" && goes_with === null);
  // Where some shoes lack a value a claim stands over fewer.
  const which = [...Map.groupBy(predicts, over)].map(([shoes, same]) =>
    ` Over ${shoes} ${
      listed(
        same.map((pair) =>
          `${midSentence(pair.metric_title)} predicts ${midSentence(pair.attribute_title)}${
            pair.unknowing === null || pair.unknowing.borne_out ? "" : " (not yet seen blind)"
          }`
        ),
      )
    }.`
  ).join("");
  const open = own.filter(({ claim }) => claim === "can't tell").length;
  return `${claimCounts(own)}${
    open === 0 ? "" : `, and for ${open} these shoes can't tell`
  }.${which}`;
}
