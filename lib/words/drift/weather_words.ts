import type { WeatherEffect, WeatherEffects } from "../../studies/drift/weather_effects.ts";
import { sayReason } from "../reasons.ts";
import type { ReviewRow } from "../review/review_tables.ts";
import { unitWords, valueInUnit } from "../unit_words.ts";
import { decimalsOf } from "../digits.ts";
import { counted, listed, pFigure, signed } from "../phrases.ts";

const named = { temperature_c: "temperature", humidity_pct: "humidity" } as const;
const steps = { temperature_c: "°C", humidity_pct: "%" } as const;

/** What does the weather of the room do to the readings, over the range that was seen? */
export function weatherSentence({ effects, tested }: WeatherEffects): string {
  if (tested === 0) {
    // Of several causes the one of the metric that is nearest to an answer.
    const nearest = effects.toSorted((a, b) => b.sessions - a.sessions);
    const reason = nearest.find(({ p_reason }) => p_reason !== null)?.p_reason ?? null;
    return reason === null
      ? "Nothing can be said of temperature and humidity: no metric was read."
      : `What temperature and humidity do can't be told: ${sayReason(reason)}.`;
  }
  const found = effects.filter((effect) => effect.found);
  if (found.length === 0) {
    return `No metric is shown to go with the room's temperature or humidity (${
      counted(tested, "slope")
    } tested together).`;
  }
  return `${listed(found.map(foundWords))}. What else changes with the season moves along. ${
    found.length === 1 ? "It holds" : "They hold"
  } among ${counted(tested, "slope")} tested together.`;
}

function foundWords(effect: WeatherEffect): string {
  const { title, of, over_range, from, to } = effect;
  const by = over_range.estimate!;
  const finer = { ...effect, decimals: effect.decimals + 1 };
  return `${title} ${by > 0 ? "rises" : "falls"} by ${
    valueInUnit(Math.abs(by), finer, over_range)
  } (${limits(effect)}) from ${from} to ${to} ${steps[of]} of ${named[of]}`;
}

function limits(effect: WeatherEffect): string {
  const { estimate, lower, upper } = effect.over_range;
  const finer = { ...effect, decimals: effect.decimals + 1 };
  const [near, far] = estimate! > 0 ? [lower!, upper!] : [-upper!, -lower!];
  return `${valueInUnit(near, finer, effect.over_range)} to ${
    valueInUnit(far, finer, effect.over_range)
  }`;
}

/** Every slope over the weather, one row each, those found first. */
export function weatherRows({ effects }: WeatherEffects): ReviewRow[] {
  return effects.filter(({ p }) => p !== null)
    .toSorted((a, b) => a.p! - b.p!)
    .map((effect): ReviewRow => {
      const { over_range, decimals } = effect;
      const shown = (value: number | null) =>
        value === null ? null : signed(value, decimalsOf(over_range, decimals + 1));
      return {
        metric: effect.title,
        of: named[effect.of],
        "range seen": `${effect.from}–${effect.to} ${steps[effect.of]}`,
        "change over it": shown(over_range.estimate),
        from: shown(over_range.lower),
        to: shown(over_range.upper),
        unit: unitWords(effect.unit),
        sessions: effect.sessions,
        "p, all together": pFigure(effect.p_familywise!),
        claimed: effect.found ? "yes" : "no",
      };
    });
}
