import { mean, sampleStandardDeviation, sum } from "simple-statistics";
import type { Visit } from "../../records/selection.ts";
import { tUpper } from "../../statistics/distributions.ts";

/**
 * Do large readings scatter more than small ones, so that the log scale is the fair one?
 *
 * Regression of the log of each visit's SD on the log of its mean: yes when the slope is above a half
 * and the test against no slope has p < .01 (one-sided). Visits need three trials. With a reading of 0 or
 * below there is no log scale, so the answer is no.
 */
export function spreadGrows(visits: readonly Pick<Visit, "values">[]): boolean {
  if (visits.some(({ values }) => values.some((x) => !(x > 0)))) return false;
  const points = visits.filter(({ values }) => values.length >= 3)
    .map(({ values }) => ({
      x: Math.log(mean([...values])),
      sd: sampleStandardDeviation([...values]),
      weight: values.length - 1,
    }))
    .filter(({ sd }) => sd > 0)
    .map(({ x, sd, weight }) => ({ x, y: Math.log(sd), weight }));
  if (points.length < 8) return false;
  const weight = sum(points.map((point) => point.weight));
  const xMean = sum(points.map((point) => point.weight * point.x)) / weight;
  const yMean = sum(points.map((point) => point.weight * point.y)) / weight;
  const xSquares = sum(points.map(({ x, weight }) => weight * (x - xMean) ** 2));
  if (!(xSquares > 0)) return false;
  const slope = sum(points.map(({ x, y, weight }) => weight * (x - xMean) * (y - yMean))) /
    xSquares;
  const left = sum(
    points.map(({ x, y, weight }) => weight * (y - yMean - slope * (x - xMean)) ** 2),
  );
  const error = Math.sqrt(left / (points.length - 2) / xSquares);
  return slope > 0.5 && tUpper(slope / error, points.length - 2) < 0.01;
}
