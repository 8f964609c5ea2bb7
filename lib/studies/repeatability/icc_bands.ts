/**
 * What a published mean is good for, by the lower limit of its ICC: each from here up to the next.
 *
 * Names and limits of the kit's own, near those that Koo & Li 2016 suggest (.50, .75, .90; from memory).
 */
export const ICC_BANDS = { groups: 0.5, tiers: 0.75, singles: 0.9 } as const;

/** The bands from 0 to 1, for an axis. */
export const iccStretches = [
  { from: 0, to: ICC_BANDS.groups },
  { from: ICC_BANDS.groups, to: ICC_BANDS.tiers },
  { from: ICC_BANDS.tiers, to: ICC_BANDS.singles },
  { from: ICC_BANDS.singles, to: 1 },
] as const;
