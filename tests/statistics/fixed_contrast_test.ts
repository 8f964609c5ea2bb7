import assert from "node:assert/strict";
import { fixedContrast } from "../../lib/statistics/fixed_contrast.ts";
import { randomStream } from "../../lib/statistics/random_stream.ts";
import {
  type MixedData,
  mixedModel,
  varianceComponents,
} from "../../lib/statistics/variance_components.ts";
import { varianceComponentIntervals } from "../../lib/statistics/variance_component_intervals.ts";
import { assertClose } from "../assert_close.ts";
import { inR, rVector, testInR } from "./in_r.ts";

/** Two rigs over a year, one of which drifts, with a step; two shoes in every session, others in one or two. */
function bench(seed: number, { shoes = 30, sessions = 18 } = {}): Required<MixedData> {
  const random = randomStream(seed);
  const value: number[] = [];
  const shoe: string[] = [];
  const session: string[] = [];
  const operator: string[] = [];
  const rig: string[] = [];
  const yearsA: number[] = [];
  const yearsB: number[] = [];
  const paper: number[] = [];
  const level = Array.from({ length: shoes }, () => 40 + 3 * random.normal());
  for (let s = 0; s < sessions; s++) {
    const luck = 0.3 * random.normal();
    const own = [0, 1, 2 + s % (shoes - 2), 2 + (3 * s + 7) % (shoes - 2)];
    const onB = s % 3 === 1;
    const year = s / sessions - 0.5;
    for (const which of own) {
      const visit = 0.4 * random.normal();
      for (let k = 0; k < 2 + (s + which) % 3; k++) {
        value.push(
          level[which] + luck + visit + (onB ? 0.8 - 3 * year : 0) + (s >= 11 ? 0.5 : 0) +
            0.6 * random.normal(),
        );
        shoe.push(`s${which}`);
        session.push(`d${s}`);
        operator.push(`o${s % 4}`);
        rig.push(onB ? "b" : "a");
        yearsA.push(onB ? 0 : year);
        yearsB.push(onB ? year : 0);
        paper.push(s >= 11 ? 1 : 0);
      }
    }
  }
  return {
    value,
    factors: { shoe, session, operator, rig },
    terms: ["shoe", "session", "shoe:session"],
    covariates: { yearsA, yearsB, paper },
  };
}

function frameInR({ value, factors, covariates }: Required<MixedData>): string {
  const text = (column: readonly string[]) => `c(${column.map((x) => `"${x}"`).join(",")})`;
  return `d <- data.frame(value = ${rVector(value as number[])}, ${
    Object.entries(factors).map(([name, column]) => `${name} = ${text(column)}`).join(", ")
  }, ${
    Object.entries(covariates).map(([name, column]) => `${name} = ${rVector(column)}`).join(", ")
  })\n`;
}

const effects = ["rig b", "yearsA", "yearsB", "paper"];

testInR(
  "varianceComponents() with rig × time and a step fixed has the components and the likelihood of R's lmer",
  () => {
    for (const seed of [1, 2, 3]) {
      const data = bench(seed);
      const own = varianceComponents(data, { fixed: ["rig"] });
      const [variances, [logLik], values, errors] = inR(`suppressMessages(library(lme4))
${frameInR(data)}
m <- suppressMessages(lmer(value ~ rig + yearsA + yearsB + paper + (1 | shoe) + (1 | session) + (1 | shoe:session), d,
  control = lmerControl(optCtrl = list(xtol_abs = 1e-12, ftol_abs = 1e-14))))
v <- as.data.frame(VarCorr(m)); out(v$vcov[match(c("shoe", "session", "shoe:session", "Residual"), v$grp)])
out(logLik(m)); out(fixef(m)); out(sqrt(diag(as.matrix(vcov(m)))))`);
      const names = ["shoe", "session", "shoe:session", "residual"];
      names.forEach((name, i) =>
        assertClose(own.components[name], variances[i], { within: 3e-5 * (1 + variances[i]) })
      );
      assertClose(own.logLikelihood, logLik, { within: 1e-7 });
      assertClose(own.mean, values[0], { within: 1e-4 });
      assertClose(own.meanStandardError, errors[0], { within: 1e-4 });
      effects.forEach((name, i) => assertClose(own.fixed[name], values[i + 1], { within: 1e-4 }));
    }
  },
);

testInR(
  "fixedContrast() has the values, standard errors, freedom, intervals and p of R's lmer with Satterthwaite",
  () => {
    for (const seed of [1, 2, 5]) {
      const data = bench(seed);
      const model = mixedModel(data, ["rig"]);
      const wanted = inR(`suppressMessages(library(lmerTest))
${frameInR(data)}
m <- suppressMessages(lmer(value ~ rig + yearsA + yearsB + paper + (1 | shoe) + (1 | session) + (1 | shoe:session), d,
  control = lmerControl(optCtrl = list(xtol_abs = 1e-12, ftol_abs = 1e-14))))
for (w in list(c(0,1,0,0,0), c(0,0,1,0,0), c(0,0,0,1,0), c(0,0,0,0,1), c(1,1,0,0.4,1))) {
  r <- contest(m, w, joint = FALSE); out(c(r$Estimate, r$"Std. Error", r$df, r$lower, r$upper, r$"Pr(>|t|)"))
}`);
      const contrasts = [
        ...effects.map((name) => ({ [name]: 1 })),
        { mean: 1, "rig b": 1, yearsB: 0.4, paper: 1 },
      ];
      contrasts.forEach((weights, i) => {
        const own = fixedContrast(model, weights as Record<string, number>);
        const [estimate, error, freedom, lower, upper, p] = wanted[i];
        assertClose(own.estimate, estimate, { within: 2e-4 });
        assertClose(own.standard_error, error, { relative: 5e-4 });
        assertClose(own.freedom, freedom, { relative: 5e-3 });
        assertClose(own.lower, lower, { within: 1e-3 });
        assertClose(own.upper, upper, { within: 1e-3 });
        assertClose(own.p, p, { within: 1e-3 });
      });
    }
  },
);

testInR(
  "a model fitted within shoes has the components and contrasts of R's lmer with a fixed level a shoe",
  () => {
    for (const seed of [1, 3, 6]) {
      const data = { ...bench(seed), terms: ["session", "shoe:session"] };
      const model = mixedModel(data, ["rig"], "shoe");
      const wanted = inR(`suppressMessages(library(lmerTest))
${frameInR(data)}
m <- suppressMessages(lmer(value ~ rig + yearsA + yearsB + paper + shoe + (1 | session) + (1 | shoe:session), d,
  control = lmerControl(optCtrl = list(xtol_abs = 1e-12, ftol_abs = 1e-14))))
v <- as.data.frame(VarCorr(m)); out(v$vcov[match(c("session", "shoe:session", "Residual"), v$grp)])
none <- rep(0, length(fixef(m)) - 5)
for (w in list(c(0,1,0,0,0), c(0,0,1,0,0), c(0,0,0,1,0), c(0,0,0,0,1))) {
  r <- contest(m, c(w, none), joint = FALSE); out(c(r$Estimate, r$"Std. Error", r$df, r$"Pr(>|t|)"))
}`);
      const [variances, ...contrasts] = wanted;
      assert.deepEqual(model.design.fixedNames, effects);
      model.fit!.variances.forEach((own, i) =>
        assertClose(own * model.scale ** 2, variances[i], { within: 3e-5 * (1 + variances[i]) })
      );
      effects.forEach((name, i) => {
        const own = fixedContrast(model, { [name]: 1 });
        const [estimate, error, freedom, p] = contrasts[i];
        assertClose(own.estimate, estimate, { within: 2e-4 });
        assertClose(own.standard_error, error, { relative: 5e-4 });
        assertClose(own.freedom, freedom, { relative: 5e-3 });
        assertClose(own.p, p, { within: 1e-3 });
      });
    }
  },
);

Deno.test("a covariate that the others already make up is left out and named", () => {
  const data = bench(4);
  const twice = data.covariates.paper.map((x, i) => 2 * x - data.covariates.yearsA[i] + 3);
  const model = mixedModel({ ...data, covariates: { ...data.covariates, twice } }, ["rig"]);
  assert.deepEqual(model.design.fixedNames, ["mean", "rig b", "yearsA", "yearsB", "paper"]);
  assert.deepEqual(model.design.dropped.map(({ term }) => term), ["twice"]);
});

Deno.test("fixedContrast() refuses a name that is no fixed effect", () => {
  const model = mixedModel(bench(4));
  assert.throws(() => fixedContrast(model, { rig: 1 }), /"rig" is no fixed effect/);
});

Deno.test("readings in other units give the same fit in those units, covariates and all", () => {
  const data = bench(6);
  const [cm, mm] = [1, 10].map((factor) =>
    fixedContrast(
      mixedModel({ ...data, value: data.value.map((x) => x! * factor + 500) }, ["rig"]),
      { yearsB: 1 },
    )
  );
  assertClose(mm.estimate, 10 * cm.estimate!, { within: 1e-6 });
  assertClose(mm.freedom, cm.freedom!, { within: 1e-3 });
});

Deno.test("limits of the residual variance with rig × time fixed hold the truth on 88 or more of 100 drawn benches", () => {
  let held = 0;
  const benches = 100;
  for (let b = 0; b < benches; b++) {
    const data = bench(100 + b, { shoes: 20, sessions: 12 });
    const { residual } = varianceComponentIntervals(data, {
      draws: 200,
      seed: b + 1,
      fixed: ["rig"],
    }).components;
    if (residual.lower! <= 0.36 && 0.36 <= residual.upper!) held++;
  }
  // Three Monte Carlo errors below 95 of 100.
  assert.ok(held >= 88, `${held} of ${benches}`);
});
