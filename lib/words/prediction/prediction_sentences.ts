import { midSentence } from "../comparison/answer_words.ts";
import type { PredictionPair } from "../../studies/prediction/court_prediction.ts";
import { type ClaimDoubt, doubts } from "../../studies/prediction/prediction_claim.ts";
import type { CourtModel, ModelFit } from "../../studies/prediction/prediction_models.ts";
import { sayReason } from "../reasons.ts";

/**
 * What one pair comes to, in a sentence that a viewer understands.
 *
 * @param source title of the metric that this one is computed from
 */
export function pairSentence(
  pair: Omit<PredictionPair, "sentence">,
  source: string | null = null,
): string {
  const { metric_title: metric, attribute_title: attribute, spearman, n, claim } = pair;
  if (spearman.estimate === null) {
    return `Whether ${metric} goes with ${attribute} can't be told: ${
      sayReason(spearman.estimate_reason!)
    }.`;
  }
  const found = `over ${n} shoes the rank correlation is ${rhoWithInterval(pair)}`;
  const same = source === null
    ? ""
    : ` It comes from the same trials as ${source} and is no further evidence.`;
  switch (claim) {
    case "predicts": {
      const less = spearman.estimate > 0 ? "the more" : "the less";
      const ceiling = pair.ceiling === null
        ? ""
        : `, where noise allows at most ${pair.ceiling.toFixed(2)}`;
      return `${metric} predicts ${attribute} (the higher the reading, ${less} of it): ${found}${ceiling}; it survives the ${pair.family} metrics tried (${
        pText(pair.p_familywise)
      }) and the loss of any one shoe.${same}`;
    }
    case "hint": {
      const open = doubts({
        rho: spearman.estimate,
        lower: spearman.lower,
        upper: spearman.upper,
        p: pair.p,
        p_familywise: pair.p_familywise,
        lowest: pair.influence.lowest,
        highest: pair.influence.highest,
      }).map((doubt) => doubtText(doubt, pair));
      return `There is a hint that ${metric} goes with ${attribute}: ${found} (${
        pText(pair.p)
      } on its own), but ${open.join(", and ")}.${same}`;
    }
    case "no sign of it":
      return `There is no sign that ${metric} goes with ${attribute}: ${found}, all of it within ±0.3.${same}`;
    case "can't tell": {
      const finds = pair.detectable === null
        ? ""
        : `; ${n} shoes would find a correlation of ${
          pair.detectable.toFixed(2)
        } four times in five`;
      const settle = pair.settle.shoes === null
        ? ""
        : ` If that is what it is, about ${shoesText(pair.settle.shoes)} shoes would settle it.`;
      return `These shoes can't tell whether ${metric} goes with ${attribute}: ${found}${finds}.${settle}${same}`;
    }
  }
}

function rhoWithInterval({ spearman }: Pick<PredictionPair, "spearman">): string {
  const { estimate, lower, upper, confidence } = spearman;
  const limits = lower === null || upper === null
    ? "no interval"
    : `${Math.round(confidence * 100)}% interval ${signed(lower)} to ${signed(upper)}`;
  return `${signed(estimate!)} (${limits})`;
}

function doubtText(doubt: ClaimDoubt, pair: Omit<PredictionPair, "sentence">): string {
  switch (doubt) {
    case "chance among many":
      return `among ${pair.family} metrics tried one so strong may come by chance (family-wise ${
        pText(pair.p_familywise)
      })`;
    case "interval holds zero":
      return "its interval holds zero";
    case "no interval":
      return "there are too few shoes for an interval";
    case "one shoe":
      return "a single shoe turns its sign";
  }
}

/** What the bench says of one impression. */
export function attributeSentence(title: string, pairs: readonly PredictionPair[]): string {
  const of = (claim: PredictionPair["claim"]) =>
    pairs.filter((pair) => pair.claim === claim && pair.spearman.estimate !== null)
      .toSorted((a, b) => Math.abs(b.spearman.estimate!) - Math.abs(a.spearman.estimate!));
  const named = (pair: PredictionPair) =>
    `${lowerFirst(pair.metric_title)} (${signed(pair.spearman.estimate!)})`;
  const [predicts, hints, none, open] = [
    of("predicts"),
    of("hint"),
    of("no sign of it"),
    of("can't tell"),
  ];
  const first = predicts.length === 0
    ? `Nothing on the bench is shown to predict ${lowerFirst(title)}`
    : `${title} is predicted by ${listed(predicts.map(named))}`;
  const hint = hints.length === 0 ? "" : `; a hint from ${listed(hints.map(named))}`;
  const rest = [
    ...(none.length === 0
      ? []
      : [`${many(none.length, "metric")} ${none.length === 1 ? "shows" : "show"} no sign of it`]),
    ...(open.length === 0 ? [] : [`for ${many(open.length, "metric")} these shoes can't tell`]),
  ];
  const away = pairs.filter((pair) => pair.spearman.estimate === null).length;
  return `${first}${hint}.${rest.length === 0 ? "" : ` ${capital(rest.join(", and "))}.`}${
    away === 0 ? "" : ` ${capital(many(away, "metric"))} can't be set against it.`
  }`;
}

/** Within a sentence; a comma stays one, since brackets follow. */
function lowerFirst(title: string): string {
  return /^\p{Lu}\p{Ll}/u.test(title) ? title[0].toLowerCase() + title.slice(1) : title;
}

/** What several metrics together come to. */
export function modelSentence(title: string, model: CourtModel | null): string {
  if (model === null) return `Metrics were not put together for ${title}.`;
  if (model.reason !== null) {
    return `Metrics can't be put together for ${title}: ${sayReason(model.reason)}.`;
  }
  const { ridge, nnls } = model;
  const { estimate, lower } = ridge.r2;
  const out = model.left_out.length === 0
    ? ""
    : ` Left out: ${listed(model.left_out.map((metric) => `${metric.title} (${metric.reason})`))}.`;
  const metrics = many(model.metrics.length, "metric");
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
    : ` Most of what is explained goes to ${ahead.title} (${percent(ahead.share)}, interval ${
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

function percent(share: number): string {
  return `${Math.round(100 * share)}%`;
}

/** What the whole grid comes to. */
export function predictionSentence(pairs: readonly PredictionPair[]): string {
  const own = pairs.filter((pair) => pair.derived_from === null);
  if (own.length === 0) return "There is no metric, or no impression, to set against the other.";
  const count = (claim: PredictionPair["claim"]) =>
    own.filter((pair) => pair.claim === claim).length;
  const predicts = own.filter((pair) => pair.claim === "predicts");
  const which = predicts.length === 0 ? "" : `: ${
    listed(
      predicts.map((pair) =>
        `${midSentence(pair.metric_title)} predicts ${midSentence(pair.attribute_title)}`
      ),
    )
  }`;
  return `Of ${many(own.length, "pair")} of a metric and an impression, ${
    predicts.length || "none"
  } ${predicts.length > 1 ? "hold" : "holds"} up as a prediction${which}. ${
    many(count("hint"), "is a hint", "are hints")
  }, ${many(count("no sign of it"), "shows no sign of it", "show no sign of it")}, and for ${
    count("can't tell")
  } these shoes can't tell.`;
}

/** A correlation with a sign that prints well. */
export function signed(rho: number): string {
  const text = rho.toFixed(2);
  return Number(text) === 0 ? "0.00" : text.replace("-", "−");
}

/** p as it is written in a sentence. */
export function pText(p: number | null): string {
  if (p === null) return "p unknown";
  return p < 0.001 ? "p < 0.001" : `p = ${p.toFixed(3)}`;
}

/** A number of shoes that nobody should read more closely than it is meant. */
export function shoesText(shoes: number): string {
  const step = shoes < 100 ? 1 : 10 ** (Math.floor(Math.log10(shoes)) - 1);
  return String(Math.ceil(shoes / step) * step);
}

function many(count: number, one: string, more = `${one}s`): string {
  return `${count} ${count === 1 ? one : more}`;
}

function listed(items: readonly string[]): string {
  return items.length < 2 ? items.join("") : `${items.slice(0, -1).join(", ")} and ${items.at(-1)}`;
}

function capital(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}
