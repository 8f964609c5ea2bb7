import assert from "node:assert/strict";
import {
  halfWidthUncertainty,
  impactSpeed,
  meanReadingUncertainty,
  resolutionUncertainty,
  widthAllowance,
} from "../../lib/metrics/mod.ts";
import { assertClose } from "../assert_close.ts";
import { check, closed } from "./physics.ts";

Deno.test("resolutionUncertainty(), halfWidthUncertainty() and meanReadingUncertainty() give the GUM's figures", () => {
  const { computed } = check("resolution-uncertainty"); // JCGM 100:2008, 4.3.7 and F.2.2.1
  assertClose(resolutionUncertainty(1), computed.step_1, closed(1));
  assertClose(resolutionUncertainty(0.1), computed.step_0_1_cm, closed(1));
  assertClose(halfWidthUncertainty(0.5), computed.half_width_0_5, closed(1));
  assertClose(meanReadingUncertainty(0.6, 3), computed.mean_of_3_with_sd_0_6, closed(1));
});

Deno.test("uncertainty helpers refuse negative widths and fractions of a reading", () => {
  assert.throws(() => resolutionUncertainty(-1), /step is -1, expected a number of at least 0/);
  assert.throws(() => halfWidthUncertainty(NaN), RangeError);
  assert.throws(() => meanReadingUncertainty(1, 0), RangeError);
  assert.throws(() => meanReadingUncertainty(1, 2.5), /n is 2.5, expected a whole number/);
});

Deno.test("impactSpeed() and widthAllowance() carry each uncertainty by its slope", () => {
  // v grows as the root of the height, so a height 2% unsure leaves the speed 1% unsure.
  const { value, standard_uncertainty } = impactSpeed(80, { u_drop_height_cm: 1.6 });
  assertClose(standard_uncertainty, 0.01 * value, { relative: 1e-12 });
  const room = (u_inside_width_mm: number, u_foot_width_mm: number) =>
    widthAllowance(94, { foot_width_mm: 102, u_inside_width_mm, u_foot_width_mm })
      .standard_uncertainty;
  assertClose(room(0.5, 0), 0.5, { within: 1e-12 });
  assertClose(room(0, 1.2), 1.2, { within: 1e-12 });
  assertClose(room(0.5, 1.2), 1.3, { within: 1e-12 });
});
