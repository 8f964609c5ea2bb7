/** Said beside every bench figure. */
export const benchCaution =
  "A bench figure compares shoes on this bench; it is no safety rating and claims no conformity with a standard.";

/** Said beside every friction figure. */
export const slipCaution =
  `${benchCaution} Grip on court also depends on surface, dust, water and the player; no slip class may be read from it.`;

/** Said beside every figure that comes from sanding or grinding. */
export const dustCaution =
  `${benchCaution} Sanding rubber makes fine dust: wear eye and breath protection, draw the dust off, follow local codes.`;

/** Said beside every figure that comes from heating a shoe. */
export const heatCaution =
  `${benchCaution} Heating foam, glue and rubber can burn skin, give off fumes and start a fire: protect eyes and breath, keep an extinguisher at hand, follow local codes.`;

/** Said beside every figure that comes from smoke or fog. */
export const smokeCaution =
  `${benchCaution} Smoke and fog on the bench need eye, breath and fire protection and an aired room: follow local codes.`;

/** Said beside every figure about size or fit. */
export const sizeCaution =
  "A suggested size is no medical advice; foot pain or orthoses belong with a clinician. Makers differ, so a size is a place to start trying on.";
