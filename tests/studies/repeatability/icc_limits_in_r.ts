import assert from "node:assert/strict";
import type { Estimate } from "../../../lib/statistics/estimate.ts";

const draws = 250;

/**
 * R: a parametric bootstrap of the fit `m` by lmer's own refits, of the ICC of a mean of `k` on the log of
 * (shoe + noise) / noise with `means` such means a shoe. Prints the value, the basic limits and the draws' scatter.
 *
 * @see Davison & Hinkley 1997, section 5.2 (basic interval)
 */
export function bootstrapInR(k: number, means: number): string {
  return `z <- function(fit) {
  v <- as.data.frame(VarCorr(fit)); v <- setNames(v$vcov, v$grp)
  noise <- sum(v[setdiff(names(v), c("shoe", "Residual"))]) + v[["Residual"]] / ${k}
  log(1 + ${means} * v[["shoe"]] / noise)
}
set.seed(1)
seen <- z(m)
drawn <- apply(as.matrix(simulate(m, ${draws})), 2, function(y) z(suppressMessages(suppressWarnings(refit(m, y)))))
q <- quantile(drawn, c(0.975, 0.025), type = 6)
out(c(seen, 2 * seen - q, sd(drawn)))
`;
}

/** The estimate is R's, and each limit lies within three Monte Carlo errors of R's quantile, on the log scale. */
export function assertSameLimits(
  { estimate, lower, upper }: Estimate,
  means: number,
  [seen, low, high, sd]: readonly number[],
): void {
  const z = (share: number) => Math.log(1 + means * share / (1 - share));
  assert.ok(Math.abs(z(estimate!) - seen) < 1e-3 * (1 + seen), `${z(estimate!)}, in R ${seen}`);
  // Of a normal's 2.5% quantile among so many draws.
  const error = sd * Math.sqrt(0.025 * 0.975 / draws) / 0.0584;
  for (const [own, other] of [[z(lower!), low], [z(upper!), high]]) {
    assert.ok(
      Math.abs(own - other) < 3 * error,
      `${own} against ${other} in R, ${Math.abs(own - other) / error} errors apart`,
    );
  }
}
