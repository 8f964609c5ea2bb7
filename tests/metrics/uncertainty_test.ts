import assert from "node:assert/strict";
import {
  halfWidthUncertainty,
  meanReadingUncertainty,
  resolutionUncertainty,
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
